from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipcheck.errors import JobError, Problem
from flipcheck.job.reader import LARGEST_FILE, parse_job, read_job
from flipcheck.job.records import Job
from tests.job.sample import SAMPLE


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_files_from_any_editor(tmp_path: Path, ending: str, mark: bytes) -> None:
    """A byte order mark and either line ending make no difference."""
    file = tmp_path / "job.toml"
    file.write_bytes(mark + SAMPLE.replace("\n", ending).encode())
    assert parse_job(SAMPLE) == read_job(file)
    assert parse_job(SAMPLE) == parse_job("\ufeff" + SAMPLE)


@pytest.mark.parametrize(
    ("content", "code", "line"),
    [
        (b"a = 1\nb = \xff", "not-utf8", 2),
        (SAMPLE.encode("utf-16"), "not-utf8", 1),
        (b"goal = 0,95", "toml-syntax", 1),
        (b'flip = "left-right\n', "toml-syntax", 1),
        (b"a = 1\nb =", "toml-syntax", 2),
        (b"a = 1\na = 2", "toml-syntax", 2),
        (b"a = left", "toml-syntax", 1),
        (b"a = " + b"9" * 5000, "toml-syntax", None),
        (b"a = " + b"[" * 100_000, "too-deep", None),
        (b"#" * (LARGEST_FILE + 1), "file-too-large", None),
    ],
)
def test_files_that_are_no_job(tmp_path: Path, content: bytes, code: str, line: int | None) -> None:
    """A file that is not TOML is one problem, with its line where that is known and the name of the file."""
    file = tmp_path / "job.toml"
    file.write_bytes(content)
    with pytest.raises(JobError, match=r"job\.toml: 1 thing to mend\n  .*the job file: needed") as caught:
        read_job(file)
    assert [(code, line)] == [(problem.code, problem.line) for problem in caught.value.problems]


def test_files_that_are_not_there(tmp_path: Path) -> None:
    """A missing file is answered with the one of nearly the same name, a folder with what it is."""
    (tmp_path / "lamp.toml").write_text(SAMPLE)
    with pytest.raises(
        JobError, match=r"needed a job file; came no file of this name\. Try: .*lamp\.toml \[file-missing\]"
    ):
        read_job(tmp_path / "lmap.toml")
    with pytest.raises(JobError, match=r"needed a job file that may be read; came is a directory \[file-unreadable\]"):
        read_job(tmp_path)
    with pytest.raises(JobError, match=r"came .*null byte.*\[file-unreadable\]"):
        read_job("a\0b")
    with pytest.raises(JobError, match=r"\[file-missing\]"):
        read_job(tmp_path / "no" / "such" / "folder.toml")


def job_or_problems(text: str) -> Job | tuple[Problem, ...]:
    """The job in a text, or what must be mended in it, each with its words; anything else is a traceback."""
    try:
        return parse_job(text)
    except JobError as error:
        return tuple(problem for problem in error.problems if problem.needed and problem.where)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_mutated_job_never_ends_in_a_traceback(data: st.DataObject) -> None:
    """Whatever is cut out of a job, doubled or put in, it is a job or a list of things to mend."""
    pieces = ["[", "]", "{", "}", "=", '"', "\n", ".", "nan", "-1", "1e300", "true", '"0"', "[[", "\x00", "\U0001f600"]
    text = SAMPLE
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 30)))
        new = data.draw(st.sampled_from([*pieces, text[start:end] * 2]) | st.text(max_size=5))
        text = text[:start] + new + text[end:]
    assert job_or_problems(text)


@settings(max_examples=100, deadline=None)
@given(
    st.sampled_from(
        ["title", "goal", "flip", "size", "positioning", "at", "kind", "pins", "pin", "touch_in", "spacing"]
    ),
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
        max_leaves=6,
    ),
)
def test_a_wrong_value_anywhere_never_ends_in_a_traceback(key: str, value: object) -> None:
    """Any TOML value in the place of any other is a job or a list of things to mend."""
    lines = SAMPLE.split("\n")
    number = next(number for number, line in enumerate(lines) if line.startswith(f"{key} ="))
    lines[number] = f"{key} = {as_toml(value)}"
    assert job_or_problems("\n".join(lines))


def as_toml(value: object) -> str:
    if isinstance(value, bool) or value is None:
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{as_toml(key)} = {as_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(inner) for inner in value) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(letter):08x}" for letter in value) + '"'
    return str(value)
