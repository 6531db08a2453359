"""Laws of what is the same job told otherwise: mirrored, with its axes swapped, in another size, in other units."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from .answers import BITS, assert_chances_agree, assert_same, figures, simulated
from .strategies import BOTH_AXES, EVERY_TURN, WAYS, WITHOUT_PLAY, jobs, law, read
from .turned import MIRRORS, fit_for, in_inches, lengths, turned


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("mirror", MIRRORS)
@law(2)
@given(data=st.data())
def test_a_mirror_turns_the_answer(mirror: str, way: str, data: st.DataObject):
    """A job seen in a mirror, or with x and y swapped, has the same answer seen in that mirror."""
    job = fit_for(mirror, data.draw(jobs(way, flips=EVERY_TURN if mirror == "swap" else BOTH_AXES)))
    if mirror == "swap" and job["methods"][0].get("angle") == "two touches":
        job["methods"][0]["angle"] = "by eye"  # both touches are always on the front or the back
        job = fit_for(mirror, job)
    one, other = read(job), read(turned(mirror, job))
    assert_same(figures(one), figures(other), mirror=MIRRORS[mirror])
    if way not in WITHOUT_PLAY:  # with play the figures do not say all
        assert_chances_agree(simulated(one), simulated(other))


@pytest.mark.parametrize("way", WAYS)
@law(2)
@given(data=st.data())
def test_results_grow_with_the_job(way: str, data: st.DataObject):
    """With every length so many times as large, so is every result, and the chances stay."""
    job = data.draw(jobs(way))
    # touched places of an edge are one place within 1 mm: those 0.6 and 1.4 mm apart must stay on their side of it
    factor = data.draw(st.sampled_from([0.8, 0.9, 1.1, 1.3, 1.6]))
    one, other = read(job), read(lengths(job, lambda mm: mm * factor))
    assert_same(figures(one), figures(other), factor=factor)
    if way not in WITHOUT_PLAY:
        assert_chances_agree(simulated(one), simulated(other))


@pytest.mark.parametrize("way", WAYS)
@law(2)
@given(data=st.data())
def test_inches_are_millimetres(way: str, data: st.DataObject):
    """A job written in inches is the same job: same sizes in mm, same draws, same results to rounding.

    The draws of plain trials, that is. Evenly spread points are given to the normal errors by a factor of their
    covariance, and rounding may decide how many columns it has.
    """
    job = data.draw(jobs(way))
    one, other = read(job), read(in_inches(job))
    assert_same(figures(one), figures(other))
    first, second = simulated(one, plain=True), simulated(other, plain=True)
    assert pytest.approx([c.estimate for c in first.chances], abs=1e-6) == [c.estimate for c in second.chances]
    assert pytest.approx(first.p95, rel=1e-6, abs=BITS, nan_ok=True) == second.p95
