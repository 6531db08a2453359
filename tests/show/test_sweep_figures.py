"""The pictures of a sweep carry its numbers, and all of them can be read."""

from __future__ import annotations

import math
from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.contour import ContourSet

from flipcheck.show.figures import sweep_chance_figure, sweep_map_figure, sweep_p95_figure, write_sweep
from flipcheck.show.figures.files import sweep_pictures
from flipcheck.show.figures.sweep import _DASHES, _INKS, _MARKS, _spread
from flipcheck.show.ink import LIMIT
from tests.show import sweeps_made
from tests.show.pictures import ODD, drawn, outside, overlapping, said, too_small, words
from tests.show.sweeps_made import DOWELS, FENCE, method, plane, squareness

ALL = {
    "one quantity": squareness(),
    "two quantities": plane(),
    "inches": sweeps_made.inches(),
    "interrupted": sweeps_made.interrupted(),
    "nobody goes on": sweeps_made.nobody_goes_on(),
    "all impossible": sweeps_made.all_impossible(),
    "eight methods": sweeps_made.many_methods(),
    "odd name": squareness(
        methods=(ODD,),
        points=tuple(replace(p, methods=(replace(p.methods[0], name=ODD),)) for p in squareness().done),
    ),
}


def pictures():
    """All pictures of all sweeps, by name."""
    return {
        f"{name}: {stem}": (size, draw) for name, sweep in ALL.items() for stem, size, draw in sweep_pictures(sweep)
    }


@pytest.mark.parametrize("name", pictures())
def test_every_picture_can_be_read(name: str):
    """Nothing is clipped, nothing lies on anything else, nothing is smaller than 7 points; settings are as before."""
    before = dict(mpl.rcParams)
    size, draw = pictures()[name]
    ax = drawn(draw, size)

    assert [] == outside(ax)
    assert [] == overlapping(ax)
    assert [] == too_small(ax)
    assert before == dict(mpl.rcParams)


def curves(ax):
    """Lines of more than two points, or with marks, in their order."""
    return [line for line in ax.lines if len(line.get_xdata()) == 5]


def test_chances_are_the_numbers():
    """A curve a method in parts in 100, the goal, and the value of the job."""
    ax = drawn(lambda ax: sweep_chance_figure(squareness(), ax))
    dowels, fence = curves(ax)

    assert pytest.approx([99.9, 99.8, 98.5, 95.1, 90.3], abs=0.01) == list(dowels.get_ydata())
    assert pytest.approx([92.0, 91.5, 90.0, 87.0, 82.0], abs=0.01) == list(fence.get_ydata())
    assert [0.0, 0.1, 0.2, 0.3, 0.4] == list(fence.get_xdata())
    assert [95.0] * 2 == next(list(line.get_ydata()) for line in ax.lines if line.get_color() == LIMIT)
    assert {DOWELS, FENCE, "goal 95 %", "in the job"} <= set(words(ax))
    assert "errors.machine_squareness.std, mm/m" == ax.get_xlabel()
    assert "will line up, parts in 100" == ax.get_ylabel()


def test_distances_are_the_numbers():
    """In the units of the job, with the limit of the pair that misses most."""
    ax = drawn(lambda ax: sweep_p95_figure(sweeps_made.inches(), ax))
    dowels, _, limit = curves(ax)

    assert pytest.approx([x / 25.4 for x in (0.05, 0.051, 0.054, 0.059, 0.066)]) == list(dowels.get_ydata())
    assert pytest.approx([0.075 / 25.4] * 5) == list(limit.get_ydata())
    assert "95 in 100 within, in" == ax.get_ylabel()
    assert 'limit of "bearing seat"' in words(ax)


def test_a_limit_that_is_varied_is_a_line_that_moves():
    """Where the limit itself is what is varied it is not drawn level."""
    sweep = squareness()
    points = []
    for number, point in enumerate(sweep.done):
        pair = replace(point.methods[0].pairs[0], allowed=0.05 + 0.01 * number)
        one = replace(point.methods[0], pairs=(pair, *point.methods[0].pairs[1:]))
        points.append(replace(point, methods=(one,)))
    moved = squareness(methods=(DOWELS,), points=tuple(points))
    limit = curves(drawn(lambda ax: sweep_p95_figure(moved, ax)))[-1]

    assert pytest.approx([0.05, 0.06, 0.07, 0.08, 0.09]) == list(limit.get_ydata())


def test_a_web_is_measured_by_its_thickness():
    """A sweep with nothing but webs says below, and has no limit."""
    web = squareness().done[0].methods[0].pairs[2:]
    points = tuple(replace(p, methods=(replace(p.methods[0], pairs=web),)) for p in squareness().done)
    ax = drawn(lambda ax: sweep_p95_figure(squareness(methods=(DOWELS,), points=points), ax))

    assert "95 in 100 below, mm" == ax.get_ylabel()
    assert "limit" not in said(ax)


def test_holes_are_gaps():
    """A curve is broken where there is no result; the rest of it stays."""
    whole = squareness()
    points = (*whole.points[:2], replace(whole.done[2], methods=()), *whole.points[3:])
    dowels = curves(drawn(lambda ax: sweep_chance_figure(replace(whole, points=points), ax)))[0]

    assert [False, False, True, False, False] == [math.isnan(y) for y in dowels.get_ydata()]


def test_a_sweep_downwards_runs_to_the_right_all_the_same():
    """Axes rise to the right, whatever the order of the sweep; names stand beside the curves."""
    varied = replace(squareness().varied[0], values=squareness().varied[0].values[::-1])
    ax = drawn(lambda ax: sweep_chance_figure(squareness(varied=(varied,)), ax))

    assert (0.0, 0.4) == ax.get_xlim()
    assert [] == outside(ax)


def test_curves_can_be_told_apart_in_grey():
    """Inks differ in lightness by enough; methods of one ink differ in dashes, and all that are near in marks."""
    light = sorted(np.dot(to_rgb(ink), (0.2126, 0.7152, 0.0722)) for ink in _INKS)
    styles = {(i % len(_INKS), i // len(_INKS) % len(_DASHES), _MARKS[i % len(_MARKS)]) for i in range(12)}

    assert 0.05 < min(np.diff(light))
    assert 12 == len({(ink, dash) for ink, dash, _ in styles})
    assert 7 == len(set(_MARKS))


def test_names_keep_clear_of_each_other():
    """Names that would lie on each other are spread, in their order, within the height."""
    middles = _spread([50.0, 49.0, 48.0, 1.0], [10.0, 20.0, 10.0, 10.0], 100.0)

    assert [50.0, 35.0, 20.0, 1.0] == middles


def test_the_plane_has_the_goal_in_it():
    """Lines of equal chance with their numbers, and one thick line where the chance is the goal."""
    ax = drawn(lambda ax: sweep_map_figure(plane(), DOWELS, ax))
    (goal,) = [c for c in ax.collections if isinstance(c, ContourSet) and list(c.levels) == [95.0] and not c.filled]
    line = np.concatenate([path.vertices for path in goal.get_paths()])

    # 0.999 - 0.4 x² - 0.001 y is 0.95 at y = 18 between 0.2 (96.5 %) and 0.3 (94.5 %)
    assert pytest.approx((0.275, 18.0), abs=0.002) == tuple(line[np.argmax(line[:, 1])])
    assert "goal 95 %" in said(ax)
    assert "nothing is drawn beside points without a result" in said(ax)
    assert ("errors.machine_squareness.std, mm/m", f"methods[{DOWELS}].pins[0][1], mm") == (
        ax.get_xlabel(),
        ax.get_ylabel().replace("\n", " "),
    )


def test_a_plane_without_the_goal_in_it():
    """It is said on which side of the goal all of it lies; an even plane is told as one number."""
    low = drawn(lambda ax: sweep_map_figure(plane(goal=0.9999), DOWELS, ax))
    even = tuple(replace(p, methods=(method(DOWELS, 0.97, 0.05),)) for p in plane().done)
    flat = drawn(lambda ax: sweep_map_figure(plane(points=even), DOWELS, ax))

    assert "the goal, 99.99 %, is missed at every point" in said(low)
    assert "97 at every point; the goal is 95 %" in said(flat)


def test_a_plane_both_ways_down():
    """Values that fall are drawn on axes that rise, each chance at its own place."""
    sweep = plane()
    first, second = (replace(v, values=v.values[::-1]) for v in sweep.varied)
    turned = replace(sweep, varied=(first, second), points=sweep.points[::-1])
    one, other = (drawn(lambda ax, s=s: sweep_map_figure(s, DOWELS, ax)) for s in (sweep, turned))

    for left, right in zip(one.collections, other.collections, strict=True):
        if isinstance(left, ContourSet):
            assert isinstance(right, ContourSet)
            assert all(
                np.array_equal(a.vertices, b.vertices) for a, b in zip(left.get_paths(), right.get_paths(), strict=True)
            )


def test_files_of_a_sweep(tmp_path):
    """One quantity makes two pictures, two make one for each method; the same bytes each time."""
    one = write_sweep(squareness(), tmp_path / "new")
    again = write_sweep(squareness(), tmp_path / "again")
    two = write_sweep(plane(), tmp_path / "new", "png")

    assert ["sweep-chance.svg", "sweep-p95.svg"] == [path.name for path in one]
    assert ["sweep-01-dowels-on-the-flip-line.png"] == [path.name for path in two]
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in again]
