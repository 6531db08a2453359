"""Are raw edges good enough to find the place again, or must they be machined? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figure.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flipcheck
from flipcheck import Normal, Uniform

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tools import Case, Point, alone, by_method, cells, compared, lines_figure, run, varied, worst_rms  # noqa: E402

if TYPE_CHECKING:
    from flipcheck import Job

STRAIGHT = (0.0, 0.05, 0.1, 0.15, 0.2)  # standard deviations of a place of an edge, mm
EDGES = {"perfect": 0.0, "machined": 0.1, "raw": 1.0}  # in times the edges of job.toml
SPREADS = {"straightness": 0.1, "size": 0.5 / 3**0.5, "squareness": 2.0 / 3**0.5, "parallelism": 1.0 / 3**0.5}
ONE = {"straightness": Normal(1.0), "size": Normal(1.0), "squareness": Normal(1e-3), "parallelism": Normal(1e-3)}
WAYS = {  # how it is turned, and the method
    "fence, same places": ("left-right", "fence, same places"),
    "rail": ("left-right", "rail"),
    "probe, same corner": ("left-right", "probe, same corner"),
    "fence, other places": ("left-right", "fence, other places"),
    "stop that stays": ("left-right", "stop that stays"),
    "probe, same side": ("left-right", "probe, same side"),
    "fence, turned front to back": ("front-back", "fence, same places"),
}
HOLES = ((60.0, 120.0), (100.0, 120.0), (140.0, 120.0))
STOP, BACK = 40.0, 160.0 - 40.0  # where the left edge is met; and where, after a front-back turn, mm


def answer(trials: int, seed: int) -> dict[str, Any]:
    """At the worst hole: the root mean square of one error of the edges, and how far off 95 in 100 parts are, mm."""

    def compare(job: Job) -> dict[str, flipcheck.Result]:
        return {
            turn: flipcheck.compare(varied(job, flip=turn), trials=trials, rng=seed)
            for turn in ("left-right", "front-back")
        }

    def pick(values: dict[str, dict[str, float]]) -> dict[str, float]:
        return {way: values[turn][method] for way, (turn, method) in WAYS.items()}

    def off(job: Job) -> dict[str, float]:
        return pick({turn: by_method(result) for turn, result in compare(job).items()})

    one = {error: pick({turn: worst_rms(r) for turn, r in compare(one_error(error)).items()}) for error in ONE}
    sweep, edges = [off(straight(std)) for std in STRAIGHT], {name: off(edged(share)) for name, share in EDGES.items()}
    return {
        "one": {way: {error: {"rms": one[error][way]} for error in ONE} for way in WAYS},
        "straightness": {way: {"p95": [row[way] for row in sweep]} for way in WAYS},
        "edges": {way: {name: {"p95": edges[name][way]} for name in EDGES} for way in WAYS},
    }


def start() -> Job:
    return flipcheck.read_job(HERE / "job.toml")


def one_error(error: str) -> Job:
    """The job with one error of the edges alone, of 1 mm or 1 mm/m."""
    return alone(start(), **{f"stock_{error}": ONE[error]})


def edged(share: float) -> Job:
    """The job with edges so many times as bad."""
    errors = start().errors
    slopes = {
        key: Uniform(share * getattr(errors, key).half)
        for key in ("stock_squareness", "stock_parallelism", "stock_size")
    }
    return varied(start(), stock_straightness=Normal(share * errors.stock_straightness.std), **slopes)


def straight(std: float) -> Job:
    """The job with edges that are perfect but for their straightness."""
    return varied(edged(0.0), stock_straightness=Normal(std))


def factor(way: str, error: str) -> float:
    """By hand: root mean square at the worst hole in times one error (straightness and size: mm, slopes: mm/m)."""
    return max(math.sqrt(squares(way, error, x, y)) for x, y in HOLES)


def squares(way: str, error: str, x: float, y: float) -> float:
    """By hand: the square of it at one hole."""
    front_back, other_edge = way.endswith("front to back"), way in ("stop that stays", "probe, same side")
    if error == "straightness":
        moved = turned_line(x, y) if way in ("fence, other places", "probe, same side") else 0.0
        if front_back:
            moved = 2.0 * height(x, 30.0, 170.0) + 2.0 * ((y - STOP) ** 2 + (y - BACK) ** 2) / 140.0**2
        return moved + (2.0 if other_edge or front_back else 0.0)
    if error == "size":
        return 1.0 if other_edge or front_back else 0.0
    if error == "squareness":
        return 1e-6 * (2.0 * STOP**2 if other_edge else (BACK - STOP) ** 2 if front_back else 0.0)
    return 1e-6 * ((x - 100.0) ** 2 + (y - BACK) ** 2) if front_back else 0.0


def turned_line(x: float, y: float) -> float:
    """By hand: contacts at 30 and 130, which after the turn meet 170 and 70: two lines, each through two places."""
    return height(x, 30.0, 130.0) + height(x, 170.0, 70.0) + 4.0 * (y - STOP) ** 2 / 100.0**2


def height(x: float, first: float, second: float) -> float:
    """By hand: the variance at x of a line through two places that are each one unit out."""
    return ((second - x) ** 2 + (x - first) ** 2) / (second - first) ** 2


def added(found: dict[str, Any], way: str, share: float) -> float:
    """By hand: 95 in 100 with perfect edges, and 1.75 times all errors of the edges, added in squares, mm."""
    edges = math.sqrt(sum((factor(way, error) * share * SPREADS[error]) ** 2 for error in ONE))
    return math.hypot(found["edges"][way]["perfect"]["p95"], 1.75 * edges)


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the formulas say of the first and of the last table."""
    rows = [
        Case(f"{way}, {error}", factor(way, error), found["one"][way][error]["rms"], 0.01)
        for way in WAYS
        for error in ONE
    ]
    rows += [
        Case(f"{way}, {name}", added(found, way, share), found["edges"][way][name]["p95"], 0.10)
        for way in WAYS
        for name, share in EDGES.items()
    ]
    return rows


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation."""
    raw = {way: found["edges"][way]["raw"]["p95"] for way in WAYS}
    chosen = ("fence, other places", "probe, same side", "fence, turned front to back")
    return [Point(varied(edged(1.0), flip=WAYS[way][0]), WAYS[way][1], "p95", raw[way]) for way in chosen]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    lines = ["1. One error of the edges alone: root mean square at the worst of three holes in times the error"]
    lines.append("(squareness and parallelism: mm for 1 mm/m), computed and by hand")
    lines.append(f"{'':29}" + "".join(f"{error:>14}" for error in ONE))
    for way, row in found["one"].items():
        lines.append(f"{way:29}" + "".join(f"{row[error]['rms']:8.3f} {factor(way, error):.3f}" for error in ONE))
    lines += ["", "2. Everything but the edges, and their straightness: 95 in 100 parts within, mm"]
    lines.append(f"{'straightness, mm':29}" + cells(STRAIGHT, digits=2))
    lines += [f"{way:29}" + cells(row["p95"]) for way, row in found["straightness"].items()]
    lines += ["", "3. Everything: 95 in 100 parts within, mm, computed and by hand"]
    lines.append(f"{'edges':29}" + "".join(f"{name:>14}" for name in EDGES))
    for way, row in found["edges"].items():
        lines.append(
            f"{way:29}"
            + "".join(f"{row[name]['p95']:8.3f} {added(found, way, share):.3f}" for name, share in EDGES.items())
        )
    lines.append(compared(by_hand(found)[-len(WAYS) * len(EDGES) :]))
    return "\n".join(lines) + "\n"


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """Name and drawing of the figure."""
    names = ("standard deviation of a place of an edge, mm", "95 in 100 parts within, mm")
    left_out = ("rail", "fence, turned front to back")
    curves = {way: row["p95"] for way, row in found["straightness"].items() if way not in left_out}
    below = "edges perfect but for their straightness, everything else as it is; the worst of three holes"

    def straightness(ax: Any) -> Any:
        return lines_figure(ax, "Where the same places are met, edges may be rough", below, STRAIGHT, curves, names)

    return {"raw-or-machined-edges": straightness}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
