"""Files that are no job at all, or absurdly large: refused soon, in words."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from flipcheck.errors import JobError, Problem
from flipcheck.job.guards import MOST_CORNERS, MOST_METHODS, MOST_PAIRS
from flipcheck.job.reader import parse_job
from flipcheck.show.to_mend import to_mend
from tests.job.sample import SAMPLE
from tests.test_cli import posix

PAIR = "[[pairs]]\nname = '{}'\nkind = 'hole'\nat = [9, 9]\nallowed = 1\n"
METHOD = SAMPLE[SAMPLE.index("[[methods]]") : SAMPLE.index("[[methods]]", SAMPLE.index("[[methods]]") + 9)]
CORNERS = ", ".join(f"[{x}, 10]" for x in range(10, 190)) + ", " + ", ".join(f"[{x}, 90]" for x in range(189, 9, -1))
OUTLINE = f"[[pairs]]\nname = '{{}}'\nkind = 'outline'\nallowed = 1\npoints = [{CORNERS}]\n"


def refused(text: str) -> tuple[Problem, ...]:
    """What is to be mended, which must be told within seconds and in a screenful or two."""
    begun = time.monotonic()
    with pytest.raises(JobError) as error:
        parse_job(text)
    told = to_mend(error.value)
    assert time.monotonic() < begun + 20.0
    assert len(told) < 20_000
    return error.value.problems


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a" + ".a" * 400_000 + " = 1", "too-deep"),
        ("a . " * 200_000 + "a = 1", "too-deep"),
        ('"a".' * 200_000 + "a = 1", "too-deep"),
        ("[" + "a." * 400_000 + "a]", "too-deep"),
        ("x = 1\n[[" + "'a'." * 200_000 + "a]]", "too-deep"),
        ("a = " + "[" * 100_000, "too-deep"),
        ("a = " + "{a = " * 100_000, "too-deep"),
        ("a = " + "{a." * 100_000, "toml-syntax"),
        ("{" * 900_000, "toml-syntax"),
        ('"' * 900_000, "toml-syntax"),
        ("'" * 900_000, "toml-syntax"),
        ('"' + '\\"' * 450_000, "toml-syntax"),
        ("a" * 900_000, "toml-syntax"),
        ("a" + " " * 900_000, "toml-syntax"),
        ("a " * 450_000, "toml-syntax"),
        ('a = """' + "\\" * 900_000, "toml-syntax"),
        ("a = " + "9" * 900_000, "toml-syntax"),
        ("a = [" + "1, " * 300_000, "toml-syntax"),
        ("\0" * 900_000, "toml-syntax"),
        ("", "missing-key"),
        ("\n" * 900_000, "missing-key"),
        ("# " + "a.b " * 200_000, "missing-key"),
        ("#" * 1_000_001, "file-too-large"),
    ],
    ids=range(23),
)
def test_texts_that_are_no_job(text: str, code: str):
    """Whatever fills a file up to its limit ends soon, with the code that says what is wrong."""
    assert code == refused(text)[0].code


@pytest.mark.parametrize(
    ("text", "needed", "came"),
    [
        (SAMPLE + "".join(map(PAIR.format, range(15_000))), f"at most {MOST_PAIRS} pairs", "15005"),
        (SAMPLE + "[[pairs]]\n" * 80_000, f"at most {MOST_PAIRS} pairs", "80005"),
        (SAMPLE + METHOD * 4000, f"at most {MOST_METHODS} methods", "4003"),
        (
            SAMPLE + "".join(map(OUTLINE.format, range(50))),
            f"outlines of at most {MOST_CORNERS} points together",
            "18004",
        ),
    ],
)
def test_too_many_of_a_thing(text: str, needed: str, came: str):
    """A job that would take hours, or more memory than there is, is refused before anything is worked out."""
    assert [("too-many", needed, came)] == [(one.code, one.needed, one.came) for one in refused(text)]


def test_so_many_are_taken():
    """As many as the limits say are read."""
    job = parse_job(SAMPLE + "".join(map(PAIR.format, range(MOST_PAIRS - 5))))
    assert MOST_PAIRS == len(job.pairs)


def test_very_many_things_to_mend():
    """Of tens of thousands of wrong keys the first are told, with their lines."""
    found = refused(SAMPLE + "\n".join(f"k{number} = 1" for number in range(80_000)))
    assert 200 == len(found)
    assert (70, 'methods "corner": k0') == (found[0].line, found[0].where)
    head = refused("\n".join(f"k{number} = 1" for number in range(80_000)) + "\n" + SAMPLE)
    assert {"unknown-key"} == {one.code for one in head}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("goal = 0.9", "goal = 0x" + "9" * 400_000),
        ('"Lamp foot"', '"' + "x" * 900_000 + '"'),
        ("bit_runout = 0.02", 'bit_runout = "1 ' + "m/" * 300_000 + 'm"'),
        ("bit_runout = 0.02", 'bit_runout = "' + "9" * 400_000 + ' mm"'),
        ("bit_runout = 0.02", 'bit_runout = "ISO 15488' + " " * 300_000 + '!"'),
        ("bit_runout = 0.02", "bit_runout = [" + "1, " * 200_000 + "]"),
        ("{ std = 0.01 }", '"+-' + " " * 400_000 + '"'),
        ("{ diameter = 6, limit = 0.005 }", '"6 ' + "m" * 400_000 + '6"'),
        ("{ diameter = 6, limit = 0.005 }", '"ISO 8734 ' + "6" * 400_000 + '"'),
        ("bolt = 4", 'bolt = "M' + "4" * 400_000 + '"'),
        ("hole_a = 4.5", 'hole_a = "' + "medium" * 60_000 + '"'),
    ],
    ids=range(11),
)
def test_very_long_values(old: str, new: str):
    """A value as long as a file may be is refused before a pattern or the reader of units sees it."""
    assert 1 == len(refused(SAMPLE.replace(old, new)))


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "utf-16-le", "cp500"])
def test_other_encodings(run, tmp_path: Path, encoding: str):
    """A file in another encoding is refused with a hint, or at least as no TOML."""
    file = tmp_path / "part.toml"
    file.write_bytes(SAMPLE.encode(encoding))
    code, out, err = run("check", str(file))
    assert (2, "") == (code, out)
    assert "not-utf8" in err or "toml-syntax" in err


@posix
@pytest.mark.parametrize("reads", [("check",), ("sheet",), ("correct", "readings")])
def test_a_pipe_in_place_of_a_file(run, job: str, tmp_path: Path, reads: tuple[str, ...]):
    """A pipe at whose other end nobody writes is refused; nothing waits for it."""
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    code, out, err = run(reads[0], *([job] if len(reads) > 1 else []), str(pipe))
    assert (2, "") == (code, out)
    assert "came   a pipe\n    try    save what comes out of it as a file first" in err


@posix
@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null", "/dev/full"])
def test_a_device_in_place_of_a_file(run, device: str):
    """A device without an end, or without anything in it, is no job file."""
    code, out, err = run("check", device)
    assert (2, "") == (code, out)
    assert "came   a device" in err


@pytest.mark.parametrize(
    ("option", "value"), [("--trials", "1000000000000"), ("--trials", "1e6"), ("--seed", "1e3"), ("--parts", "1000000")]
)
def test_absurd_numbers_of_the_command(run, job: str, option: str, value: str):
    """Numbers beyond all reason are refused by the option's own limit."""
    code, out, err = run("check", job, option, value)
    assert (2, "") == (code, out)
    assert f"Invalid value for '{option}'" in err


def test_a_seed_of_any_size(run, job: str):
    """A seed may be as long as it likes: it is only a number to start from."""
    code, out, _ = run("check", job, "--trials", "100", "--seed", str(10**60))
    assert code in (0, 1)
    assert "Chance" in out


def test_not_enough_memory(run, job: str, monkeypatch: pytest.MonkeyPatch):
    """Where memory runs out that is said, with what to try."""

    def full(*_, **__):
        raise MemoryError

    monkeypatch.setattr("flipcheck.decide.check.check", full)
    code, out, err = run("check", job)
    assert (2, "") == (code, out)
    assert err.startswith("flipcheck: there is not enough memory for this job. Try: fewer pairs")
