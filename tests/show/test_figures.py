"""The figures carry the numbers of the result, and all of them can be read."""

from __future__ import annotations

import math
from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.patches import Circle
from matplotlib.text import Annotation

import flipcheck
from flipcheck.decide.check import check
from flipcheck.decide.results import Distribution
from flipcheck.decide.survey import BlankMap, Cloud, survey
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.show.figures import cloud_figure, distance_figure, map_figure, methods_figure, stack_figure
from flipcheck.show.figures.methods import methods_size
from flipcheck.show.figures.stack import HATCHES
from flipcheck.stack.intervals import Chance
from tests.make import FENCE, PINS, PROBE, hole, make_job
from tests.show import results
from tests.show.pictures import ODD, drawn, outside, overlapping, said, shown, too_small, words

RNG = np.random.default_rng(5)
X, Y = 0.05 * RNG.standard_normal((2, 4000))
CLOUD = Cloud("far corner", "hole", X, Y, np.hypot(X, Y))
ACROSS = Cloud("latch slot", "slot", X, Y, np.abs(X), ((1.0, 0.0),))
STEP = Cloud("rim", "outline", X, Y, np.maximum(np.abs(X), np.abs(Y)), ((1.0, 0.0), (0.0, 1.0)))
THICK = Cloud("floor", "web", None, None, 2.032 + X)
NOBODY = Cloud("far corner", "hole", np.zeros(0), np.zeros(0), np.zeros(0))
MAP = BlankMap(
    np.linspace(0, 180, 13),
    np.linspace(0, 110, 9),
    np.add.outer(np.linspace(0, 0.06, 9) ** 2, np.linspace(0.04, 0.1, 13)),
)
NAN = math.nan


def outline(**changes):
    return results.hole(**{"name": "rim", "kind": "outline"} | changes)


FIGURES = {
    "stack": lambda ax: stack_figure(results.hole(), "mm", ax),
    "stack of a web": lambda ax: stack_figure(results.web(), "mm", ax),
    "stack, inches": lambda ax: stack_figure(results.hole(), "in", ax),
    "stack, 20 sources": lambda ax: stack_figure(results.hole(stack=many_sources()), "mm", ax),
    "stack, odd name": lambda ax: stack_figure(results.hole(name=ODD), "mm", ax),
    "cloud": lambda ax: cloud_figure(CLOUD, results.hole(), "mm", ax),
    "cloud, inches": lambda ax: cloud_figure(CLOUD, results.hole(), "in", ax),
    "cloud of a slot": lambda ax: cloud_figure(ACROSS, results.slot(), "mm", ax),
    "cloud of an outline": lambda ax: cloud_figure(STEP, outline(), "mm", ax),
    "cloud of a web": lambda ax: cloud_figure(THICK, results.web(), "mm", ax),
    "cloud, no blank": lambda ax: cloud_figure(NOBODY, results.hole(), "mm", ax),
    "cloud, long odd name": lambda ax: cloud_figure(CLOUD, results.hole(name=(ODD * 3)[:80]), "mm", ax),
    "distance": lambda ax: distance_figure(CLOUD, results.hole(), "mm", ax),
    "distance, inches": lambda ax: distance_figure(CLOUD, results.hole(), "in", ax),
    "distance of a web": lambda ax: distance_figure(THICK, results.web(), "mm", ax),
    "distance, no blank": lambda ax: distance_figure(NOBODY, results.hole(), "mm", ax),
    "methods": lambda ax: methods_figure(results.comparison(), ax),
    "one method": lambda ax: methods_figure(results.result(), ax),
    "map": lambda ax: map_figure(MAP, make_job(PINS), ax),
    "map with a fence": lambda ax: map_figure(MAP, make_job(FENCE), ax),
    "even map": lambda ax: map_figure(replace(MAP, p95=np.full((9, 13), 0.05)), make_job(PINS), ax),
    "map, no blank": lambda ax: map_figure(replace(MAP, p95=np.full((9, 13), NAN)), make_job(PINS), ax),
    "map, odd name": lambda ax: map_figure(MAP, make_job(PINS, pairs=[hole(60, 40, ODD)]), ax),
}


def many_sources():
    kinds = list(AfterFlip)
    return tuple(
        replace(results.SQUARENESS, source=f"source_number_{i}", after_flip=kinds[i % 4], share=0.05) for i in range(20)
    )


@pytest.mark.parametrize("name", FIGURES)
def test_every_figure_can_be_read(name):
    """Nothing is clipped, nothing lies on anything else, nothing is smaller than 7 points; settings are as before."""
    before = dict(mpl.rcParams)
    ax = drawn(FIGURES[name])

    assert [] == outside(ax)
    assert [] == overlapping(ax)
    assert [] == too_small(ax)
    assert before == dict(mpl.rcParams)


@pytest.mark.parametrize("name", [name for name in FIGURES if "odd" in name])
def test_names_are_written_as_they_are(name):
    """Dollars, underscores, backslashes and angle brackets mean themselves."""
    ax = drawn(FIGURES[name])

    assert ODD.replace(" ", "") in said(ax).replace(" ", "")
    assert not any(text.get_parse_math() for text in shown(ax) if "$" in text.get_text())


# the stack


def bars(ax):
    return [container.patches[0] for container in ax.containers]


def test_bars_are_as_long_as_the_numbers():
    """Worst alone, standard deviation in x and in y, for each source, in the units of the job."""
    ax = drawn(FIGURES["stack, inches"])
    widths = [bar.get_width() for bar in bars(ax)]

    assert pytest.approx([0.127 / 25.4, 0.0, 0.001, 0.003, 0.0005, 0.0005]) == widths[:6]
    assert "misalignment from one source alone, in" == ax.get_xlabel()


def test_a_web_has_one_standard_deviation():
    """Its sources act on the thickness."""
    ax = drawn(FIGURES["stack of a web"])

    assert pytest.approx([0.1016, 0.0508, 0.0508, 0.0169]) == [bar.get_width() for bar in bars(ax)]


def test_what_the_turn_does_is_told_by_hatch_and_word():
    """Each kind has a hatch of its own and its word beside the bar."""
    ax = drawn(FIGURES["stack"])
    hatches = [bar.get_hatch() for bar in bars(ax)[::3]]

    assert 4 == len(set(HATCHES.values()))
    assert ["///", "xxx", ""] == [hatch or "" for hatch in hatches]
    assert {"doubles", "new each face", "counts once", "75 %", "25 %", "<1 %"} <= set(words(ax))


def test_a_share_nobody_knows_is_a_dash():
    """No blank goes on: the stack is drawn without what nothing has shown."""
    play = replace(results.PLAY, std_x=NAN, std_y=NAN, share=NAN)
    ax = drawn(lambda ax: stack_figure(results.hole(stack=(play,)), "mm", ax))

    assert "-" in words(ax)
    assert 0.0 == bars(ax)[1].get_width()


def test_a_pair_without_errors_says_so():
    """An empty stack is a sentence."""
    ax = drawn(lambda ax: stack_figure(results.hole(stack=()), "mm", ax))

    assert 'Nothing varies at "far corner": no error of the job acts on it.' == said(ax)


# the cloud


def circles(ax):
    return sorted(patch.radius for patch in ax.patches if isinstance(patch, Circle))


@pytest.mark.parametrize(("units", "mm"), [("mm", 1.0), ("in", 25.4)])
def test_circles_are_to_scale(units, mm):
    """The limit and what holds 50 and 95 in 100 parts, about no misalignment, on axes of one scale."""
    ax = drawn(lambda ax: cloud_figure(CLOUD, results.hole(allowed=0.2), units, ax))

    assert pytest.approx([0.127 / mm, 0.2 / mm, 0.2667 / mm]) == circles(ax)
    assert {(0.0, 0.0)} == {tuple(patch.center) for patch in ax.patches if isinstance(patch, Circle)}
    assert 1.0 == ax.get_aspect()
    assert -ax.get_xlim()[0] == ax.get_xlim()[1] == ax.get_ylim()[1]


def test_circles_are_named_with_their_numbers():
    """As they stand in the result."""
    found = words(drawn(FIGURES["cloud"]))

    assert {"limit 0.254", "95 in 100 parts within 0.267", "50 in 100 parts within 0.127"} <= set(found)


def test_a_slot_shows_the_band_across():
    """Lines along the slot at the limit and at what holds 95 and 50 in 100, to either side."""
    ax = drawn(FIGURES["cloud of a slot"])
    lines = sorted(round(line.get_xy1()[0], 6) for line in ax.lines if hasattr(line, "get_xy1") and line.get_xy1())

    assert [-0.2667, -0.254, -0.127, 0.127, 0.254, 0.2667] == lines
    assert [] == circles(ax)


def test_an_outline_shows_the_limits_of_its_corner():
    """Both normals of the corner, to either side, and where the corner is."""
    ax = drawn(FIGURES["cloud of an outline"])
    lines = sorted(tuple(line.get_xy1()) for line in ax.lines if hasattr(line, "get_xy1"))

    assert pytest.approx(np.array([(-0.254, 0), (0, -0.254), (0, 0.254), (0.254, 0)])) == np.array(lines)
    assert "most exposed corner, (160, 90) mm on face A" in said(ax)


def test_a_limit_far_out_is_told():
    """A limit far larger than the cloud would make it a dot."""
    ax = drawn(lambda ax: cloud_figure(CLOUD, results.hole(allowed=9.0), "mm", ax))

    assert "limit 9.000, outside this picture" in words(ax)
    assert 9.0 not in circles(ax)
    assert ax.get_xlim()[1] < 1.0


def test_every_part_is_in_the_picture():
    """The cells hold all blanks of the cloud."""
    ax = drawn(FIGURES["cloud"])

    assert 4000 == sum(collection.get_array().sum() for collection in ax.collections)


@pytest.mark.parametrize("draw", [cloud_figure, distance_figure])
def test_parts_that_never_vary(draw):
    """No errors: every part is right, and there is a picture of it."""
    still = Cloud("far corner", "hole", np.zeros(9), np.zeros(9), np.zeros(9))
    ax = drawn(lambda ax: draw(still, results.hole(distance=Distribution(0, 0, {"p50": 0.0, "p95": 0.0})), "mm", ax))

    assert any(text.startswith("limit 0.254") for text in words(ax))
    assert [] == outside(ax)


@pytest.mark.parametrize("name", ["cloud, no blank", "distance, no blank", "map, no blank"])
def test_no_blank_goes_on(name):
    """A figure of nothing says why it is empty."""
    assert said(drawn(FIGURES[name])).startswith("No blank goes on")


def test_no_blank_goes_on_from_the_job():
    """A hole smaller than its pin: every figure of the pair is drawn."""
    job = make_job(PINS | {"hole": {"diameter": 5.9}}, errors={"positioning": {"std": 0.01}})
    pair, seen = check(job, trials=100).methods[0].pairs[0], survey(job, trials=100)

    for draw in (cloud_figure, distance_figure):
        assert "No blank goes on" in said(drawn(lambda ax, draw=draw: draw(seen.clouds[0], pair, "mm", ax)))
    assert "No blank" in said(drawn(lambda ax: map_figure(seen.map, job, ax)))
    assert "positioning" in words(drawn(lambda ax: stack_figure(pair, "mm", ax)))


# the distance


def test_quantiles_and_limit_stand_where_they_are():
    """A line at each, with its number."""
    ax = drawn(FIGURES["distance, inches"])
    places = sorted(line.get_xdata()[0] for line in ax.lines)

    assert pytest.approx([0.005, 0.01, 0.0105, 0.013]) == places
    assert {
        "50 in 100 below 0.0050",
        "95 in 100 below 0.0105",
        "99 in 100 below 0.0130",
        "limit 0.0100: 93.10 % keep it",
    } <= set(words(ax))


def test_a_web_shows_both_limits():
    """The least and the most, and the four quantiles."""
    ax = drawn(FIGURES["distance of a web"])

    assert pytest.approx([1.905, 1.9075, 1.944, 2.12, 2.1565, 2.159]) == sorted(
        line.get_xdata()[0] for line in ax.lines
    )
    assert {"least 1.905: 98.00 % keep both", "most 2.159: 98.00 % keep both"} <= set(words(ax))


def test_a_limit_ends_a_bar_and_what_misses_is_hatched():
    """The hatched area begins at the limit."""
    ax = drawn(lambda ax: distance_figure(CLOUD, results.hole(allowed=0.1), "mm", ax))
    sound, missing = ax.patches

    first = next(
        edge for edge, height in zip(missing.get_data().edges, missing.get_data().values, strict=False) if height
    )
    assert 0.1 == first
    assert 0.1 in sound.get_data().edges
    assert ("////", None) == (missing.get_hatch(), sound.get_hatch() or None)


# the methods


def marks(ax):
    return [line for line in ax.lines if line.get_marker() in ("o", "<")]


def test_methods_stand_at_their_misses():
    """Misses in 100 parts with their interval, the best on top; full where the goal is met."""
    ax = drawn(FIGURES["methods"])

    assert pytest.approx([3.88, 5.02]) == [line.get_xdata()[0] for line in marks(ax)]
    assert [0, 1] == [line.get_ydata()[0] for line in marks(ax)]
    assert ax.get_ylim()[0] > ax.get_ylim()[1]
    assert ["#16455f", "white"] == [line.get_markerfacecolor() for line in marks(ax)]
    intervals = [line.get_xdata() for line in ax.lines if line.get_linewidth() == 2.2]
    assert pytest.approx(np.array([[3.84, 3.92], [4.98, 5.06]])) == np.array(intervals)
    assert "goal 95 %: 5 in 100 may miss" in words(ax)
    assert {"96.12 %", "94.98 %"} <= set(words(ax))


def test_a_method_that_hardly_misses_stands_at_the_edge():
    """Chances near 1 keep apart from one another, and one that never missed has its place."""
    sure = [Chance(0.9999, 0.99985, 0.99995), Chance(0.999, 0.998, 0.9995), Chance(1.0, 0.99999, 1.0)]
    ax = drawn(lambda ax: methods_figure(results.result(*(results.method(name=f"{c}", chance=c) for c in sure)), ax))
    left, right = ax.get_xlim()
    at = [math.log(line.get_xdata()[0] / left) / math.log(right / left) for line in marks(ax)]

    assert ["o", "o", "<"] == [line.get_marker() for line in marks(ax)]
    assert 0.0 == at[2]
    assert 0.2 < at[1] - at[0] < 0.8


def test_twelve_methods_with_long_names():
    """Long names are wrapped, and nothing collides on a sheet of the height that is asked for."""
    methods = [results.method(name=f"{i} {'a rather long name of a way of registering ' * 2}"[:80]) for i in range(12)]
    result = results.comparison(*methods)
    ax = drawn(lambda ax: methods_figure(result, ax), methods_size(result))

    assert [] == outside(ax)
    assert [] == overlapping(ax)
    assert 12 == len(marks(ax))


def test_the_recommended_method_is_marked():
    """By a word beside it and by its weight."""
    ax = drawn(FIGURES["methods"])
    bold = [text.get_text() for text in shown(ax) if text.get_fontweight() == "bold"]

    assert ["probe the same corner", "96.12 %", "Which method lines up"] == bold
    assert "probe 3 min extra recommended" in words(ax)


# the map


def test_the_map_covers_the_blank_with_labelled_lines():
    """Axes from corner to corner at one scale, lines with their numbers, pairs and pins with their places."""
    ax = drawn(FIGURES["map"])
    numbers = {float(text) for text in words(ax) if text.startswith("0.") and text[2:].isdigit()}

    assert ((0.0, 180.0), (0.0, 110.0), 1.0) == (ax.get_xlim(), ax.get_ylim(), ax.get_aspect())
    assert {0.05, 0.06, 0.07, 0.08, 0.09} <= numbers
    assert "within 0.040 to 0.104 mm over the blank" in said(ax)
    assert {"seat (60, 40)", "pin hole 1, dia. 6.05 (90, 8)"} <= set(words(ax))
    assert {(60.0, 40.0), (90.0, 8.0), (90.0, 102.0)} == {
        tuple(patch.center) for patch in ax.patches if isinstance(patch, Circle)
    }


def test_numbers_of_the_map_keep_clear_of_what_holds_the_blank():
    """Contacts and touches stand outside the edges: the numbers along the axes step back."""
    pads = [drawn(FIGURES[name]).xaxis.get_major_ticks()[0].get_pad() for name in ("map", "map with a fence")]
    touched = drawn(lambda ax: map_figure(MAP, make_job(PROBE), ax))

    assert pads[0] < pads[1] < touched.xaxis.get_major_ticks()[0].get_pad()
    assert [] == outside(touched)


def test_an_even_map_is_one_number():
    """Nothing to draw lines of."""
    assert "within 0.050 mm all over the blank" in said(drawn(FIGURES["even map"]))


def test_the_map_is_of_the_method_it_was_drawn_for():
    """Another method of the job may be named."""
    job = make_job(PINS, FENCE)
    ax = drawn(lambda ax: map_figure(MAP, job, ax, job.methods[1]))

    assert 'by "fence"' in said(ax)
    assert "stop, left edge (0, 30)" in words(ax)


@pytest.mark.parametrize("name", ["carrier", "panel"])
def test_the_built_in_examples_can_be_read(name):
    """Every figure of both examples: nothing clipped, nothing on top of another."""
    job = flipcheck.built_in(name)
    result, seen = flipcheck.compare(job, trials=20_000), survey(job)
    fares = next(method for method in result.methods if method.name == job.methods[0].name)
    draws = [lambda ax: methods_figure(result, ax), lambda ax: map_figure(seen.map, job, ax)]
    for pair, cloud in zip(fares.pairs, seen.clouds, strict=True):
        draws += [
            lambda ax, pair=pair: stack_figure(pair, job.units, ax),
            lambda ax, pair=pair, cloud=cloud: cloud_figure(cloud, pair, job.units, ax),
            lambda ax, pair=pair, cloud=cloud: distance_figure(cloud, pair, job.units, ax),
        ]
    for draw in draws:
        ax = drawn(draw)
        assert [] == outside(ax)
        assert [] == overlapping(ax)


def test_figures_stand_beside_each_other():
    """An axes of the caller among others is drawn on where it is."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(14, 9))
    axes = figure.subplots(2, 2).ravel()
    for ax, name in zip(axes, ["stack", "cloud", "distance", "map"], strict=True):
        assert ax is FIGURES[name](ax)
    figure.canvas.draw()

    assert [1, 1, 1, 1] == [sum(isinstance(child, Annotation) for child in ax.get_children()) > 3 for ax in axes]
