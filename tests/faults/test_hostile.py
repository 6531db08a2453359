"""Names that are code to something else: they are read as they were written, and reach no file outside the folder."""

from __future__ import annotations

import io
import json
import os
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from flipcheck.job.quantities import LONGEST_TEXT, RefusedError, length
from flipcheck.job.reader import parse_job
from tests.job.sample import SAMPLE

NAMES = (
    "../../../tmp/x",
    "<script>alert(1)</script>",
    "</svg><img src=x onerror=alert(1)>",
    '#import "x.typ": * #panic(1)',
    "{{7*7}}{% raw %}",
    "$(touch pwned) `touch pwned`",
    "=cmd|' /C calc'!A0",
    "$\\frac{$ and $_$",
    "[bold red]x[/] %s {0} .svg",
)
deep = pytest.mark.skipif(not os.environ.get("FLIPCHECK_DEEP"), reason="draws many pictures: set FLIPCHECK_DEEP")

HOLE = '[[pairs]]\nname = {}\nkind = "hole"\nat = [{}, 50]\nallowed = 0.2\n'
PINS = (
    '[[methods]]\nname = {}\nkind = "pins"\npins = [[100, 10], [100, 90]]\n'
    "pin = {{ diameter = 6 }}\nhole = {{ diameter = 6.05 }}\n"
)


def quoted(name: str) -> str:
    """A name as TOML."""
    return json.dumps(name)


HOSTILE = (
    f"title = {quoted(NAMES[2])}\n"
    + SAMPLE[SAMPLE.index("units") : SAMPLE.index("[[pairs]]")]
    + "".join(HOLE.format(quoted(name), 10 + 8 * number) for number, name in enumerate(NAMES))
    + PINS.format(quoted(NAMES[0] + NAMES[2]))
    + PINS.format(quoted(NAMES[6] + NAMES[4]))
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with a job of hostile names beside it."""
    (tmp_path / "hostile.toml").write_text(HOSTILE, encoding="utf-8")
    inner = tmp_path / "a" / "b" / "c" / "here"
    inner.mkdir(parents=True)
    monkeypatch.chdir(inner)
    return inner


def made(folder: Path) -> set[str]:
    """Everything below the folder's furthest parent but the job, so that nothing goes astray unseen."""
    top = folder.parents[3]
    return {str(path.relative_to(top)) for path in top.rglob("*") if path.is_file()} - {"hostile.toml"}


class Elements(HTMLParser):
    """The elements of a page and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.handlers: list[str] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.names.add(tag)
        self.handlers += [name for name, _ in attrs if name.startswith("on")]

    def handle_data(self, data):
        self.text += data.replace("\u00a0", " ")


JOB = "../../../../hostile.toml"


@pytest.mark.parametrize("command", [("check",), ("compare",), ("limits",), ("sheet",)])
def test_on_the_terminal(run, folder: Path, command: tuple[str, ...]):
    """Names are printed as they are, and nothing is made of them."""
    trials = [] if command == ("sheet",) else ["--trials", "100"]
    code, out, err = run(*command, JOB, *trials)
    assert code in (0, 1), err
    assert "\x1b" not in out
    assert NAMES[0] in out
    assert set() == made(folder)


@deep
def test_pictures(run, folder: Path):
    """Every picture lies in its folder under a plain name; text in it is text."""
    code, _, err = run("check", JOB, "--trials", "100", "--plots", "drawn")
    assert code in (0, 1), err
    files = made(folder)
    assert len(files) >= 2 * len(NAMES)
    assert all(re.fullmatch(r"a/b/c/here/drawn/[a-z0-9-]+\.svg", file) for file in files)
    for file in (folder / "drawn").iterdir():
        page = Elements(file.read_text(encoding="utf-8"))
        assert not {"script", "img", "foreignobject"} & page.names
        assert [] == page.handlers
    assert any(NAMES[2] in Elements(file.read_text(encoding="utf-8")).text for file in (folder / "drawn").iterdir())


@pytest.mark.parametrize("command", [("report", "--trials", "100"), ("sheet",)])
def test_pages(run, folder: Path, command: tuple[str, ...]):
    """No name becomes an element or is worked out by the template; each can be read."""
    code, _, err = run(command[0], JOB, *command[1:], "-o", "page.html")
    assert code in (0, 1), err
    assert {"a/b/c/here/page.html"} == made(folder)
    page = Elements((folder / "page.html").read_text(encoding="utf-8"))
    assert not {"script", "img", "iframe", "object"} & page.names
    assert [] == page.handlers
    for name in NAMES if command[0] == "report" else NAMES[:1]:
        assert name in page.text, name


@deep
@pytest.mark.parametrize("command", [("report", "--trials", "100"), ("sheet",)])
def test_pdf(run, folder: Path, command: tuple[str, ...]):
    """Typst takes names as data: none is run, none reads a file."""
    pypdf = pytest.importorskip("pypdf")
    code, _, err = run(command[0], JOB, *command[1:], "-o", "page.pdf")
    assert code in (0, 1), err
    assert {"a/b/c/here/page.pdf"} == made(folder)
    text = "".join(
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO((folder / "page.pdf").read_bytes())).pages
    )
    assert "../../../tmp/x" in "".join(text.split()).replace("\u200b", "")


@pytest.mark.parametrize(
    "name", ["a\x00b", "a\x1b[31mb", "a\u202eb", "a\u2028b", "a\nb", "\ufeffa", "a\x7fb", "a\u200bb"]
)
def test_names_that_would_move_the_cursor(name: str):
    """Signs that no one sees, or that turn the reading, are refused in names and shown by their codes."""
    from flipcheck.errors import JobError

    with pytest.raises(JobError) as error:
        parse_job(SAMPLE.replace('"Lamp foot"', json.dumps(name)))
    assert "bad-name" == error.value.problems[0].code
    assert str(error.value).replace("\n", "").isprintable()


@pytest.mark.parametrize(
    "text",
    [
        "1 __import__('os')",
        "1 mm**9999999",
        "9**9**9 mm",
        "1 (mm)",
        "1 mm*mm",
        "1 [length]",
        "1 mm^2",
        "(1) mm",
        "1 mm\n",
        "1 " + "m" * 21,
        "1" * LONGEST_TEXT + " mm",
        "1 " + "k" * 15 + "m",
        "1 " + "/".join("mmmmmmmmmm"),
        "1 //////////",
        "1 %%%%%%%%%%",
        "1 ''''''''''",
    ],
)
def test_no_unit_is_worked_out(text: str):
    """Only short words of letters come to the reader of units: no brackets, powers, products, or long chains."""
    if text == "1 mm\n":
        assert 1.0 == length(text)
        return
    with pytest.raises(RefusedError):
        length(text)
