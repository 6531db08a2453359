"""The pages of questions: each job is read, and each command says what the page shows of it."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from flipcheck.cli.main import app

PAGES = Path(__file__).parent.parent / "docs" / "how-to"
LIST = PAGES / "questions.md"
#: These have tests of their own in test_documents.py, or no commands.
TESTED_ELSEWHERE = {
    "batch.md",
    "choose-a-fit.md",
    "cluster.md",
    "first-article.md",
    "stack-of-your-own.md",
    "sweep.md",
    "wood-and-heat.md",
}
LINKED = set(re.findall(r"\]\(([\w-]+\.md)[#)]", LIST.read_text(encoding="utf-8")))
ANSWERS = [PAGES / name for name in sorted(LINKED - TESTED_ELSEWHERE)]
CAUTION = "the machine's manual and your local rules"


@pytest.mark.parametrize("page", ANSWERS, ids=lambda page: page.stem)
def test_page_does_what_it_says(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Files are written as the page names them; below each command stands a part of what it says."""
    monkeypatch.chdir(tmp_path)
    text, said, shown = page.read_text(encoding="utf-8"), "", 0
    for block in re.finditer(r"^```(\w+)\n(.*?)^```", text, flags=re.M | re.S):
        match block[1]:
            case "toml" | "csv":
                name = re.findall(r"`([\w-]+\.(?:toml|csv))`", text[: block.start()])[-1]
                Path(name).write_text(block[2], encoding="utf-8")
            case "sh":
                for command in block[2].splitlines():
                    ran = CliRunner().invoke(app, shlex.split(command)[1:])
                    assert ran.exit_code in (0, 1), ran.output
                    said, shown = ran.stdout, shown + 1
            case "text":
                assert block[2] in said, said
    assert shown


@pytest.mark.parametrize("page", ANSWERS, ids=lambda page: page.stem)
def test_page_is_short_and_cautions(page: Path):
    """No page takes long to read, and each says who has the last word on safety."""
    text = " ".join(
        page.read_text(encoding="utf-8").replace("the manual of the machine", "the machine's manual").split()
    )

    assert CAUTION in text
    assert len(page.read_text(encoding="utf-8").splitlines()) < 100


def test_questions_lead_everywhere():
    """The list leads to every page of questions and to every study."""
    studies = {path.parent.name for path in (PAGES.parent.parent / "studies").glob("*/README.md")}
    listed = LIST.read_text(encoding="utf-8")

    assert len(ANSWERS) >= 15
    assert studies - {"pin-spacing-and-clearance"} <= set(re.findall(r"studies/([\w-]+)/README", listed))
