"""The commands that write files: pictures, the report, the setup sheet."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest

from tests.test_cli import JOB, shell


class Ended(NamedTuple):
    """How a command ended, and what it said."""

    code: int
    out: str
    err: str


def ended(*arguments: str, cwd: Path) -> Ended:
    """Run a command in a folder of its own."""
    run = shell(*arguments, cwd=cwd)
    out, err = run.communicate(timeout=300)
    return Ended(run.returncode, out.decode(), err.decode())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a job in it."""
    (tmp_path / "part.toml").write_text(JOB, encoding="utf-8")
    return tmp_path


def files(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("option", "ending"), [([], ".svg"), (["--png"], ".png")])
def test_plots(folder: Path, option: list[str], ending: str):
    """Pictures go into the folder, the answer to stdout all the same; a second time they are left alone."""
    arguments = ["check", "part.toml", "--trials", "1000", "--plots", "drawn", *option]
    first = ended(*arguments, cwd=folder)
    drawn = files(folder / "drawn")
    plain = ended("check", "part.toml", "--trials", "1000", cwd=folder)
    again = ended(*arguments, cwd=folder)

    assert (plain.code, plain.out) == (first.code, first.out)
    assert first.err == f"drew {len(drawn)} pictures in drawn\n"
    assert {ending} == {Path(name).suffix for name in drawn}
    assert (2, "") == (again.code, again.out)
    assert "is there already and is left as it is" in again.err
    assert first == ended(*arguments, "--force", cwd=folder)


def test_report(folder: Path):
    """The report is written whole, ends with the code of the comparison, and is not written over unless told to."""
    compared = ended("compare", "part.toml", "--trials", "1000", "--quiet", cwd=folder)
    first = ended("report", "part.toml", "-o", "out.html", "--trials", "1000", cwd=folder)
    text = (folder / "out.html").read_text(encoding="utf-8")
    again = ended("report", "part.toml", "-o", "out.html", "--trials", "1000", cwd=folder)

    assert (compared.code, "", "wrote out.html\n") == (first.code, first.out, first.err)
    assert text.rstrip().endswith("</html>")
    assert "part.toml" in text
    assert (2, "") == (again.code, again.out)
    assert "out.html is there already and is left as it is" in again.err
    assert text == (folder / "out.html").read_text(encoding="utf-8")
    assert {"part.toml", "out.html"} == files(folder)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["report", "part.toml", "-o", "out.txt"], "out.txt is neither .html nor .pdf. Try: out.html or out.pdf"),
        (["sheet", "part.toml", "-o", "out.doc"], "out.doc is neither .html nor .pdf"),
        (["sheet", "part.toml", "--method", "no such"], "needed the name of a method of this job"),
        (["report", "missing.toml", "-o", "out.html"], "no file of this name"),
    ],
)
def test_refused(folder: Path, arguments: list[str], message: str):
    """What cannot be written or read is said, and nothing is written."""
    refused = ended(*arguments, cwd=folder)

    assert (2, "") == (refused.code, refused.out)
    assert message in " ".join(refused.err.split())
    assert {"part.toml"} == files(folder)


def test_sheet(folder: Path):
    """The sheet comes as text on stdout, or as a page."""
    text = ended("sheet", "part.toml", cwd=folder)
    page = ended("sheet", "part.toml", "-o", "sheet.pdf", cwd=folder)

    assert (0, "") == (text.code, text.err)
    assert text.out.startswith("SETUP SHEET")
    assert "[ ]  1" in text.out
    assert (0, "", "wrote sheet.pdf\n") == (page.code, page.out, page.err)
    assert (folder / "sheet.pdf").read_bytes().startswith(b"%PDF")
