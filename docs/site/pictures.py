"""What the tutorial leads to: its job, its commands, and pages of its report as pictures."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

#: The folder beside the tutorial in which everything is made.
FOLDER = "made"
#: Commands whose paper is shown; they are not on the page, which writes HTML and text.
PAPER = ("report plate.toml -o plate.pdf", "sheet plate.toml --method dowels -o sheet.pdf")
_DPI = 144


class Ran(NamedTuple):
    """How a command of the tutorial ended."""

    command: str
    code: int
    out: str
    err: str


def make(page: Path, folder: Path | None = None) -> list[Ran]:
    """Write the job of the page, run its commands in their order, and print its report; all anew.

    Raises
    ------
    RuntimeError: if a command ends otherwise than with its answer (0 or 1).
    """
    folder = folder or page.parent / FOLDER
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    text = page.read_text(encoding="utf-8")
    (folder / "plate.toml").write_text(_blocks(text, "toml")[0], encoding="utf-8")
    ran = [_run(command, folder) for command in "".join(_blocks(text, "sh")).splitlines()]
    for command in PAPER:
        _run(f"flipcheck {command}", folder)
    for paper in folder.glob("*.pdf"):
        _draw_first_page(paper)
    return ran


def _blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.M | re.S)


def _run(command: str, folder: Path) -> Ran:
    run = subprocess.run(
        [sys.executable, "-m", *shlex.split(command)], capture_output=True, text=True, check=False, cwd=folder
    )
    if run.returncode not in (0, 1):
        raise RuntimeError(f"{command}: {run.stderr}")
    return Ran(command, run.returncode, run.stdout, run.stderr)


def _draw_first_page(paper: Path) -> None:
    import pypdfium2

    with pypdfium2.PdfDocument(paper) as document:
        document[0].render(scale=_DPI / 72).to_pil().save(paper.with_suffix(".png"), optimize=True)
