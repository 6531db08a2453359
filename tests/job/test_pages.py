from __future__ import annotations

import ast
import re
import runpy
from pathlib import Path

import pytest

import flipcheck
from flipcheck.errors import JobError
from flipcheck.job.reader import parse_job
from flipcheck.job.readings.file import parse_readings
from flipcheck.job.readings.row import COLUMNS
from tests.job.sample import problems

PACKAGE = Path(flipcheck.__file__).parent
PAGES = Path(__file__).parents[2] / "docs" / "reference"
#: Calls whose first argument is the code of a problem.
MAKERS = {"Problem", "Finding", "RefusedError", "_refused", "find", "_find"}
#: What makes the messages of the site.
MESSAGES = runpy.run_path(str(PAGES.parent / "site" / "messages.py"))
completed = MESSAGES["completed"]


def codes_in_source() -> set[str]:
    """The first argument of every call that makes a problem, anywhere in the package."""
    found = set()
    for file in PACKAGE.rglob("*.py"):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and call.args and isinstance(call.args[0], ast.Constant):
                name = getattr(call.func, "attr", getattr(call.func, "id", ""))
                if name in MAKERS and re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+|negative", str(call.args[0].value)):
                    found.add(str(call.args[0].value))
    return found


def sections() -> dict[str, str]:
    """The sections of the page of errors by their code."""
    parts = re.split(r"(?m)^## (.+)$", (PAGES / "errors.md").read_text(encoding="utf-8"))
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def examples(page: str, language: str = "toml") -> list[str]:
    return re.findall(rf"(?ms)^```{language}\n(.*?)^```$", page)


def test_every_code_has_a_section_and_every_section_a_code() -> None:
    """The page of errors speaks of the errors that can come, all of them and no others."""
    assert codes_in_source() == set(sections())


@pytest.mark.parametrize("code", [code for code, text in sections().items() if examples(text)])
def test_the_example_of_an_error_brings_it(code: str) -> None:
    """The lines under a heading, put into a job that is right, bring that error and no other."""
    (example,) = examples(sections()[code])
    assert {code} == {problem.code for problem in problems(completed(example))}


@pytest.mark.parametrize("code", [code for code, text in sections().items() if examples(text, "csv")])
def test_the_rows_under_an_error_bring_it(code: str) -> None:
    """The readings under a heading, of a job that is right, bring that error and no other."""
    (example,) = examples(sections()[code], "csv")
    with pytest.raises(JobError) as error:
        parse_readings(example, parse_job(completed("")))
    assert {code} == {problem.code for problem in error.value.problems}


def test_the_site_shows_what_is_said_of_each_example() -> None:
    """Below each example stands the message that it brings, made by reading it."""
    for code, text in sections().items():
        shown = examples(MESSAGES["with_messages"](text), "text")
        assert len(examples(text)) + len(examples(text, "csv")) == len(
            [told for told in shown if f"[{code}]\n" in told]
        )


def test_most_errors_have_an_example() -> None:
    """Only what is wrong with a file as a whole, or with a command, is told without lines to show."""
    without = {code for code, text in sections().items() if not examples(text) and not examples(text, "csv")}
    files = {"file-missing", "file-unreadable", "file-too-large", "too-many", "not-utf8", "too-deep"}
    files |= {"no-readings", "too-many-readings"}
    commands = {"no-such-example", "unknown-method", "sweep-key", "sweep-range", "sweep-twice"}
    assert files | commands == without


@pytest.mark.parametrize("example", examples((PAGES / "job-file.md").read_text(encoding="utf-8")))
def test_the_examples_of_the_job_file_are_right(example: str) -> None:
    """Every block shown on the page of the job file is read without a problem."""
    assert parse_job(completed(example)).pairs


@pytest.mark.parametrize("example", examples((PAGES / "readings.md").read_text(encoding="utf-8"), "csv"))
def test_the_examples_of_the_readings_are_right(example: str) -> None:
    """Every file of readings shown on its page is read without a problem."""
    assert list(parse_readings(example, parse_job(completed(""))))


def test_the_page_of_the_readings_names_every_column() -> None:
    """Each column that is read stands on the page."""
    page = (PAGES / "readings.md").read_text(encoding="utf-8")
    assert [] == [column for column in COLUMNS if f"`{column}`" not in page]
