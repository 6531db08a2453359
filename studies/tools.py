"""What the studies share: a job with something changed, the command line, and a figure of lines."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from flipcheck.show.figures import save
from flipcheck.show.ink import DEEP, INK, LIMIT, MIDDLE, MUTED, name_axes, plain_axes, say, title

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.axes import Axes

    from flipcheck import Job, Result
    from flipcheck.decide.results import MethodResult

    Found = dict[str, Any]
    Answer = Callable[[int, int], Found]
    Table = Callable[[Found], str]
    Figures = Callable[[Found], dict[str, Callable[[Axes], Axes]]]


class Case(NamedTuple):
    """A number by hand beside the computed one; they must agree within a share of it, or a micrometre."""

    what: str
    by_hand: float
    computed: float
    within: float


class Point(NamedTuple):
    """One answer, for another simulation to meet: "p95" or "rms" of the worst pair, mm, or the share that "goes on"."""

    job: Job
    method: str
    what: str
    value: float


#: Trials that stand behind the stored answers, and their seed.
TRIALS, SEED = 131_072, 1

#: Inks and dashes of the lines of a figure, so that they can be told apart in grey.
_STYLES = [(DEEP, "-"), (LIMIT, "-"), (MIDDLE, "-"), (DEEP, "--"), (LIMIT, "--"), (MUTED, ":")]


def varied(job: Job, **changes: Any) -> Job:
    """The job with other errors, or other keys of its head."""
    errors = {key: changes.pop(key) for key in list(changes) if key in type(job.errors).model_fields}
    return job.model_copy(update={"errors": job.errors.model_copy(update=errors), **changes})


def alone(job: Job, **errors: Any) -> Job:
    """The job with no other errors than these."""
    return job.model_copy(update={"errors": type(job.errors)(**errors)})


def farthest(method: MethodResult) -> float:
    """How far off 95 in 100 parts are at the pair where that is most, mm."""
    return max(pair.distance.quantiles["p95"] for pair in method.pairs if pair.distance)


def by_method(result: Result) -> dict[str, float]:
    """The same for every method of a result, by name."""
    return {method.name: farthest(method) for method in result.methods}


def worst_rms(result: Result) -> dict[str, float]:
    """Root mean square of the distance at the pair where that is most, mm, by method."""
    return {method.name: max(rms(pair.distance) for pair in method.pairs) for method in result.methods}


def by_place(result: Result) -> dict[str, Any]:
    """How far off parts are at every pair, by one method: distances by the name of the pair."""
    return {pair.name: pair.distance for pair in result.methods[0].pairs}


def compared(cases: Sequence[Case]) -> str:
    """How far computed numbers stand off those by hand."""
    off = [100.0 * (case.computed / case.by_hand - 1.0) for case in cases if case.by_hand]
    return f"computed against by hand: {min(off):+.1f} % to {max(off):+.1f} %"


def rms(distance: Any) -> float:
    """Root of the mean square of a distance, mm."""
    return math.hypot(distance.mean, distance.std)


def with_shift(square: float, shift: float) -> float:
    """By hand: how far off 95 in 100 parts are, mm, with a shift that is always the same.

    The shift and three quarters of what scatters alone (`square`), or all of that where it is more. Three quarters lies
    between 1.645/1.96, for scatter along the shift, and 1.645/2.448, for scatter all around it.
    """
    return max(square, 0.75 * square + shift)


def cells(values: Sequence[float], width: int = 8, digits: int = 3) -> str:
    """A row of numbers."""
    return "".join(f"{value:{width}.{digits}f}" for value in values)


def lines_figure(
    ax: Axes,
    head: str,
    below: str,
    x: Sequence[float],
    curves: dict[str, Sequence[float]],
    names: tuple[str, str],
    *,
    points: Sequence[str] = (),
) -> Axes:
    """A line for each curve, named at its right end; those in `points` are drawn as points alone, as by-hand values."""
    plain_axes(ax, "left", "bottom")
    ends = []
    for number, (name, y) in enumerate((name, y) for name, y in curves.items() if name not in points):
        ink, dash = _STYLES[number % len(_STYLES)]
        ax.plot(x, y, color=ink, linestyle=dash, linewidth=1.6, marker=".", markersize=4, zorder=3)
        ends.append((float(y[-1]), name, ink))
    for name in points:
        ax.plot(
            x, curves[name], "o", color="white", markeredgecolor=INK, markersize=4, zorder=4, label=name, clip_on=False
        )
    if points:
        ax.legend(loc="upper left", frameon=False, fontsize=8, labelcolor=INK)
    ax.set_ylim(0.0, 1.08 * max(max(y) for y in curves.values()))
    ax.set_xlim(0.0 if min(x) < 0.2 * max(x) else min(x), max(x))
    _name_ends(ax, ends)
    name_axes(ax, *names)
    title(ax, head, [below], left=36.0)
    return ax


def _name_ends(ax: Axes, ends: list[tuple[float, str, str]]) -> None:
    """Names beside the ends of lines, pushed apart where they would touch."""
    top = ax.get_ylim()[1]
    height = 72.0 * ax.figure.get_figheight() * 0.72
    least, level = 11.0, -math.inf
    for y, name, ink in sorted(ends):
        level = max(y / top * height, level + least)
        say(ax, (1, y / top), name, where="axes fraction", offset=(5, level - y / top * height), color=ink, va="center")


def run(file: str, about: str | None, answer: Answer, table: Table, figures: Figures) -> None:
    """Do what the command line asks of a study: print its table, store its answers, draw its figures."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--trials", type=int, default=TRIALS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="store the answers in expected.json")
    parser.add_argument("--plots", type=Path, metavar="DIR", help="draw the figures into this folder")
    given = parser.parse_args()
    found = answer(given.trials, given.seed)
    print(table(found), end="")
    if given.write:
        stored = {"trials": given.trials, "seed": given.seed, "answer": found}
        (Path(file).parent / "expected.json").write_text(json.dumps(stored, indent=1) + "\n", encoding="utf-8")
    if given.plots:
        given.plots.mkdir(parents=True, exist_ok=True)
        for name, draw in figures(found).items():
            print(save(draw, given.plots / f"{name}.svg", force=True, size=(6.8, 4.0)))
