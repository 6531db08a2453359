"""The job as understood: spreads, lives, lines and comments."""

from __future__ import annotations

from importlib import resources

import pytest

from flipcheck.decide.inputs import Inputs, UncertainInput, inputs
from flipcheck.job.reader import parse_job
from flipcheck.stack.sources import Life
from tests.job.sample import SAMPLE, changed

CARRIER = (resources.files("flipcheck") / "examples" / "carrier.toml").read_text(encoding="utf-8")


def read(text: str) -> Inputs:
    """The inputs of a job, with their lines."""
    return inputs(parse_job(text), text)


def one(of: Inputs, key: str) -> UncertainInput:
    """The uncertain input of that key."""
    (found,) = [each for each in of.uncertain if each.origin.key == key]
    return found


def test_an_error_with_its_line():
    """A limit of 0.5 mm/m is uniform, on the line where it stands."""
    squareness = one(read(SAMPLE), "errors.machine_squareness")
    assert ("uniform", 0.0, 0.0005) == (squareness.shape, squareness.mean, squareness.bound)
    assert 0.0005 / 3**0.5 == pytest.approx(squareness.std)
    assert SAMPLE.split("\n").index('machine_squareness = { limit = "0.5 mm/m" }') + 1 == squareness.origin.line


@pytest.mark.parametrize(
    ("written", "note"),
    [
        ("positioning = { std = 0.01 } # read off a dial", "read off a dial"),
        ("positioning = { std = 0.01 }   #   ", ""),
        ("positioning = { std = 0.01, shape = 'normal' } # of # two", "of # two"),
    ],
)
def test_the_comment_beside_it(written: str, note: str):
    """What the file says beside an input is kept, whatever stands in it."""
    assert note == one(read(changed(("positioning = { std = 0.01 }", written))), "errors.positioning").origin.note


def test_a_sign_of_number_in_a_string_is_no_comment():
    """Only what stands outside of strings is a comment."""
    given = read(changed(('title = "Lamp foot"', 'title = "Foot #3" # for the hall')))
    assert "for the hall" == given.head[0].note


@pytest.mark.parametrize(
    ("source", "lives"),
    [
        ("errors.positioning", (Life.MACHINE, Life.CUT)),
        ("errors.machine_squareness", (Life.MACHINE,)),
        ("errors.stock_size", (Life.BLANK,)),
        ("errors.seating", (Life.SETUP,)),
        ("errors.stock_parallelism", ()),
        ("methods, 1: pin", (Life.MACHINE,)),
        ("methods, 1: hole", (Life.BLANK,)),
        ("methods, 3: hole_position", (Life.BLANK,)),
    ],
)
def test_lives(source: str, lives: tuple[Life, ...]):
    """How long draws last is what the models say: an error may act in two ways, or on nothing."""
    assert lives == one(read(CARRIER), source).lives


def test_a_reading_is_exact():
    """A total indicator reading has no spread."""
    runout = one(read(SAMPLE), "errors.bit_runout")
    assert ("exact", 0.02, 0.0) == (runout.shape, runout.mean, runout.std)


def test_without_a_text_there_are_no_lines():
    """A job built in Python has inputs all the same."""
    given = inputs(parse_job(SAMPLE))
    assert [None] * 5 == [origin.line for origin in given.pairs]
    assert ["methods, 1", "methods, 2", "methods, 3"] == [origin.key for origin in given.methods]
