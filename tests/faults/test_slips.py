"""What is said of each slip in a job file and in a file of readings."""

from __future__ import annotations

import re

import pytest

from flipcheck.job.reader import parse_job
from flipcheck.job.readings.file import parse_readings
from tests.faults.slips import GOLDEN, JOB, READ, READINGS, heading, slips, told, told_of_readings


def golden(name: str) -> dict[str, str]:
    """The messages of a golden file by their headings."""
    parts = re.split(r"(?m)^(## .*)$", (GOLDEN / name).read_text(encoding="utf-8"))
    return dict(zip(parts[1::2], (text.strip("\n") for text in parts[2::2]), strict=True))


MESSAGES, OF_READINGS = golden("job.txt"), golden("readings.txt")


def test_what_the_slips_are_made_in_is_right():
    """Without a slip there is nothing to mend, so each message is of its slip; and no slip stands twice."""
    job = parse_job(JOB)
    assert 4 == len(list(parse_readings(READINGS, job)))
    assert [heading(*slip) for slip in slips()] == list(MESSAGES)
    assert [heading(*slip) for slip in READ] == list(OF_READINGS)
    assert len(MESSAGES) >= 300


@pytest.mark.parametrize("number", range(len(slips())))
def test_a_slip_in_the_job(number: int):
    """The message is the one that was read and found clear."""
    assert MESSAGES[heading(*slips()[number])] == told(number)


@pytest.mark.parametrize("number", range(len(READ)))
def test_a_slip_in_the_readings(number: int):
    """The message is the one that was read and found clear."""
    assert OF_READINGS[heading(*READ[number])] == told_of_readings(number)


def test_no_slip_is_passed_over():
    """Whatever was written, something is to be mended; a line is told, but for what stands nowhere."""
    nowhere = ('flip = "left-right"', "[blank]")
    for slip, text in (MESSAGES | OF_READINGS).items():
        assert re.search(r"things? to mend\n", text), slip
        assert "needed " in text, slip
        assert "line " in text or slip[3:].startswith(nowhere) or "no-readings" in text or "too-deep" in text, slip
