"""Limits by use: formulas held against the geometry that they stand for, and uses that cannot be."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest

from flipcheck.decide.check import check
from flipcheck.job.records import HolePair, OutlinePair, SlotPair
from flipcheck.job.uses import limit_of, stands_for
from flipcheck.show.report.input_words import input_tables
from tests.job.sample import changed, only_problem
from tests.make import PROBE, make_job

RING: dict[str, Any] = {"name": "via", "at": (60.0, 40.0), "use": "ring", "hole_a": 0.8, "pad": 1.4}
GROOVE = "angle = 30\nallowed = 0.2"
RIM = "points = [[10, 10], [190, 10], [190, 90], [10, 90]]\nallowed = 0.3"
BORE = "at = [60, 55]\nallowed = 0.15"


@pytest.mark.parametrize("degrees", [0.0, 60.0, 90.0, 180.0])
def test_ring_breaks_out_over_the_angle(degrees: float):
    """With its middle off by the limit, that part of the rim of the hole lies outside the pad."""
    pair = HolePair(**RING, breakout=math.radians(degrees))
    around = np.linspace(0, 2 * np.pi, 1_000_001)
    off = limit_of(pair)
    outside = np.hypot(off + 0.4 * np.cos(around), 0.4 * np.sin(around)) > 0.7 + 1e-9

    assert pytest.approx(degrees, abs=0.01) == 360 * outside.mean()


@pytest.mark.parametrize(("degrees", "limit"), [(0, 0.3), (90, 0.3575), (180, 0.5745)])
def test_ring_in_numbers(degrees: float, limit: float):
    """A hole of 0.8 mm in a pad of 1.4 mm, worked out by hand: 0.7 - 0.4; sqrt(0.41) - 0.2828; sqrt(0.33)."""
    assert pytest.approx(limit, abs=1e-4) == limit_of(HolePair(**RING, breakout=math.radians(degrees)))


def test_sunk_head_stays_in_the_middle_of_its_cone():
    """The shank, centred by the cone, meets the wall of a hole that is off by half of the difference."""
    pair = HolePair(name="screw", at=(60.0, 40.0), use="countersink", bolt=4.0, hole_a=4.5)

    assert pytest.approx(0.25) == limit_of(pair)


def test_tongue_and_seams():
    """A tongue passes both halves of a slot while these overlap by its width; seams have figures of the trade."""
    tongue = SlotPair(name="key", at=(60.0, 40.0), angle=0.0, use="tongue", slot_width=8.2, tongue=8.0)
    points = ((10.0, 10.0), (90.0, 10.0), (90.0, 60.0))
    seams = [OutlinePair(name="edge", points=points, use=use) for use in ("seam as milled", "seam sanded")]

    assert pytest.approx(0.2) == limit_of(tongue)
    assert [0.1, 0.3] == [limit_of(seam) for seam in seams]
    assert all("common practice, no source" in stands_for(seam) for seam in seams)


def test_a_use_is_judged_like_the_limit_it_stands_for():
    """The same job with the limit written out gives the same answer; a screw is no bolt that has to pass."""
    errors = {"positioning": {"std": 0.1}}
    for use, allowed in (
        ({key: RING[key] for key in ("use", "hole_a", "pad")}, 0.3),
        ({"use": "countersink", "bolt": 4.0, "hole_a": 4.5}, 0.25),
    ):
        pair = {"name": "hole", "kind": "hole", "at": [60.0, 40.0]}
        by_use, plain = (
            check(make_job(PROBE, pairs=[pair | limit], errors=errors), trials=5000).methods[0]
            for limit in (use, {"allowed": allowed})
        )

        assert pytest.approx(allowed) == by_use.pairs[0].allowed
        assert by_use.chance.estimate == pytest.approx(plain.chance.estimate)


def test_use_bolt_is_the_bolt():
    """Naming the use changes nothing for a bolt."""
    bolt = {"name": "bolt", "kind": "hole", "at": [60.0, 40.0], "bolt": 4.0, "hole_a": 4.3, "hole_b": 4.2}
    errors = {"positioning": {"std": 0.1}, "bit_diameter": {"std": 0.02}}
    with_use, without = (
        check(make_job(PROBE, pairs=[bolt | use], errors=errors), trials=5000).methods[0]
        for use in ({"use": "bolt"}, {})
    )

    assert with_use == without


def test_inputs_of_the_report_tell_what_a_use_stands_for():
    """Limit, formula and source stand beside the pair."""
    job = make_job(PROBE, pairs=[{**RING, "kind": "hole", "breakout": math.pi / 2}])
    told = " ".join(cell for table in input_tables(job, None) for row in table.rows for cell in row)

    assert "breakout 90°" in told
    assert "so allowed 0.357: the hole stays in its pad, or breaks out over no more than the angle (geometry)" in told


@pytest.mark.parametrize(
    ("old", "new", "code", "message"),
    [
        (
            BORE,
            'at = [60, 55]\nuse = "ring"\npad = 2',
            "use-needs",
            'pad and hole_a beside use = "ring"; came no hole_a',
        ),
        (BORE, 'at = [60, 55]\nuse = "ring"\npad = 2\nhole_a = 2', "use-leaves-nothing", "pad = 2 mm, hole_a = 2 mm"),
        (BORE, BORE + '\nuse = "ring"\npad = 2\nhole_a = 1', "two-limits", "one limit: allowed, or use"),
        (BORE, BORE + "\npad = 2", "option-unused", 'pad: needed use = "ring" beside it'),
        (
            BORE,
            'at = [60, 55]\nuse = "ring"\npad = 2\nhole_a = 1\nbreakout = 200',
            "out-of-range",
            "an angle from 0 to 180",
        ),
        (BORE, 'at = [60, 55]\nuse = "bolt"', "no-limit", "a limit: allowed, or bolt"),
        (BORE, 'at = [60, 55]\nuse = "tongue"', "not-a-choice", '"bolt", "countersink" or "ring"'),
        (GROOVE, "angle = 30", "no-limit", "a limit: allowed, or use"),
        (GROOVE, 'angle = 30\nuse = "tongue"\ntongue = 8', "use-needs", "no slot_width"),
        (GROOVE, GROOVE + "\ntongue = 8", "option-unused", 'tongue: needed use = "tongue"'),
        (RIM, "points = [[10, 10], [190, 10], [190, 90], [10, 90]]", "no-limit", "a limit: allowed, or use"),
        (RIM, RIM + '\nuse = "seam sanded"', "two-limits", "one limit"),
    ],
)
def test_uses_that_cannot_be(old: str, new: str, code: str, message: str):
    """What a use lacks, or has no use for."""
    problem = only_problem(changed((old, new)))

    assert code == problem.code
    assert re.search(message, str(problem)), str(problem)
