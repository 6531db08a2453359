"""What the tutorial leads to: its job, its commands, and pages of its report as pictures."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

#: The folder beside the tutorial in which everything is made.
FOLDER = "made"
#: Commands whose paper is shown; they are not on the page, which writes HTML and text.
PAPER = ("flipcheck report plate.toml -o plate.pdf", "flipcheck sheet plate.toml --method dowels -o sheet.pdf")
_DPI = 144


def make(page: Path) -> None:
    """Write the job of the page, run its commands in their order, and print its report; all anew.

    Beside what they write, `ran.json` keeps what each command of the page said, and its exit code.

    Raises
    ------
    RuntimeError: if a command ends otherwise than with its answer (0 or 1).
    """
    folder = page.parent / FOLDER
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    text = page.read_text(encoding="utf-8")
    (folder / "plate.toml").write_text(_blocks(text, "toml")[0], encoding="utf-8")
    ran = {command: _run(command, folder) for command in "".join(_blocks(text, "sh")).splitlines()}
    (folder / "ran.json").write_text(json.dumps(ran), encoding="utf-8")
    for command in PAPER:
        _run(command, folder)
    for paper in folder.glob("*.pdf"):
        _draw_first_page(paper)


def _blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.M | re.S)


def _run(command: str, folder: Path) -> tuple[int, str]:
    words = [sys.executable, "-m", *shlex.split(command)]
    run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=folder)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"{command}: {run.stderr}")
    return run.returncode, run.stdout


def _draw_first_page(paper: Path) -> None:
    import pypdfium2

    with pypdfium2.PdfDocument(paper) as document:
        document[0].render(scale=_DPI / 72).to_pil().save(paper.with_suffix(".png"), optimize=True)
