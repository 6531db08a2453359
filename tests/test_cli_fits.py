"""The command fits."""

from __future__ import annotations

import json

import pytest

from flipcheck.cli.main import main


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """The code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as ended:
        main(["fits", *arguments])
    return int(ended.value.code or 0), *capsys.readouterr()


def test_text(capsys: pytest.CaptureFixture[str]):
    """The fit goes to stdout, and nothing to stderr."""
    code, out, err = run(capsys, "25 H7/g6")
    assert (0, "", True) == (code, err, out.startswith("25 H7/g6: a clearance fit, 0.007 to 0.041 mm.\n"))


def test_json(capsys: pytest.CaptureFixture[str]):
    """As data, in the units of the size."""
    code, out, _ = run(capsys, "1 in H7/g6", "--json")
    assert (0, "in", 1.0) == (code, json.loads(out)["units"], json.loads(out)["nominal"])


@pytest.mark.parametrize(
    ("asked", "code", "hint"),
    [
        ("", "unreadable-fit", ""),
        ("25", "unreadable-fit", ""),
        ("H7/g6", "unreadable-fit", ""),
        ("25 H7 g6", "unreadable-fit", ""),
        ("25,4 H7", "unreadable-fit", "write the decimal with a point"),
        ("25 H7/g6" * 9, "unreadable-fit", ""),
        ("25\x1b[31m H7", "unreadable-fit", ""),
        ("25 g6/H7", "hole-or-shaft", '"25 H7/g6"'),
        ("25 H7/H6", "hole-or-shaft", ""),
        ("25 E8", "not-in-table", ""),
        ("25 H15", "not-in-table", ""),
        ("501 H7", "not-in-table", ""),
        ("0 H7", "not-in-table", ""),
        ("1e999 H7", "not-in-table", ""),
        ("3/4 H7", "no-unit", ""),
        ("3 ells H7", "unknown-unit", ""),
        ("3 kg H7", "wrong-dimension", ""),
    ],
)
def test_what_cannot_be_read(capsys: pytest.CaptureFixture[str], asked: str, code: str, hint: str):
    """Bad input ends with 2, in the words of a job's errors, and writes nothing on stdout."""
    ended, out, err = run(capsys, asked)
    assert (2, "") == (ended, out)
    assert err.startswith(f"the command line: 1 thing to mend\n\n  the fit [{code}]\n    needed ")
    assert ("try    " + hint in err) if hint else ("    try" not in err)
    assert err.rstrip("\n").replace("\n", "").isprintable()


def test_nothing_asked(capsys: pytest.CaptureFixture[str]):
    """Without a fit, usage is shown."""
    code, out, err = run(capsys)
    assert (2, "", True) == (code, out, "Missing argument 'FIT'" in err)
