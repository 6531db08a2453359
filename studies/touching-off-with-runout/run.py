"""Touching off with a bit that runs out: as it stops, turned to a mark, or a probe in its place? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figure.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flipcheck

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tools import Case, Point, alone, cells, compared, lines_figure, rms, run, varied  # noqa: E402

if TYPE_CHECKING:
    from flipcheck import Job, Result

RUNOUT = (0.0, 0.02, 0.05, 0.1, 0.15, 0.2, 0.25)  # total indicator reading, mm
METHODS = ("bit, as it stops", "bit, turned to a mark", "probe")
PAIRS = ("hole", "slot along the flip line", "slot across the flip line")
ROOT_MEAN_SQUARE = {  # by hand, of the runout alone, in times the total indicator reading
    "bit, as it stops": (math.sqrt(0.5), 0.5, 0.5),
    "bit, turned to a mark": (math.sqrt(0.5), math.sqrt(0.5), 0.0),
}
NEARLY_ALL = math.sin(0.95 * math.pi / 2.0)  # by hand: 95 in 100 of 2 e |sin| of an even phase, in times 2 e


def answer(trials: int, seed: int) -> dict[str, Any]:
    """Lengths in mm; of the runout alone in times the total indicator reading."""

    def look(job: Job) -> dict[str, dict[str, Any]]:
        return by_name(flipcheck.compare(job, trials=trials, rng=seed))

    pure, rows = look(runout_alone()), [look(job_at(runout)) for runout in RUNOUT]
    return {
        "alone": {
            name: {
                "rms": [rms(pure[name][pair]) for pair in PAIRS],
                "p95": [pure[name][pair].quantiles["p95"] for pair in PAIRS],
            }
            for name in ROOT_MEAN_SQUARE
        },
        "all": {
            name: {pair: {"p95": [row[name][pair].quantiles["p95"] for row in rows]} for pair in PAIRS}
            for name in METHODS
        },
    }


def by_name(result: Result) -> dict[str, dict[str, Any]]:
    """Distances by method and pair."""
    return {method.name: {pair.name: pair.distance for pair in method.pairs} for method in result.methods}


def job_at(runout: float) -> Job:
    """The job with a bit that runs out by so much."""
    return varied(flipcheck.read_job(HERE / "job.toml"), bit_runout=runout)


def runout_alone() -> Job:
    """No error but a runout of 1 mm."""
    return alone(job_at(0.0), bit_runout=1.0)


def rule(square: float, runout: float) -> float:
    """By hand: what there is without runout and the total indicator reading, added in squares, mm."""
    return math.hypot(square, runout)


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the formulas say of the runout alone, and of the hole with everything."""
    rows = [
        Case(f"{name}, {pair}", hand, value, 0.01)
        for name, hands in ROOT_MEAN_SQUARE.items()
        for pair, hand, value in zip(PAIRS, hands, found["alone"][name]["rms"], strict=True)
        if hand
    ]
    rows += [Case(f"{name}, 95 in 100", NEARLY_ALL, found["alone"][name]["p95"][0], 0.01) for name in ROOT_MEAN_SQUARE]
    for name in ROOT_MEAN_SQUARE:
        hole = found["all"][name]["hole"]["p95"]
        rows += [
            Case(f"{name}, {out}", rule(hole[0], out), value, 0.12) for out, value in zip(RUNOUT, hole, strict=True)
        ]
    return rows


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation: of the pair that is worst."""
    worst = {name: max(found["all"][name][pair]["p95"][4] for pair in PAIRS) for name in METHODS}
    return [Point(job_at(RUNOUT[4]), name, "p95", worst[name]) for name in METHODS]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    lines = ["1. Runout alone: root mean square in times the total indicator reading, computed and by hand"]
    lines.append(f"{'':23}" + "".join(f"{pair:>27}" for pair in PAIRS))
    for name, hands in ROOT_MEAN_SQUARE.items():
        both = zip(found["alone"][name]["rms"], hands, strict=True)
        lines.append(f"{name:23}" + "".join(f"{value:21.3f} {hand:.3f}" for value, hand in both))
    within = " and ".join(f"{found['alone'][name]['p95'][0]:.3f}" for name in ROOT_MEAN_SQUARE)
    lines.append(f"95 in 100 holes within {within}, by hand {NEARLY_ALL:.3f}")
    lines += ["", "2. With everything: 95 in 100 parts within, mm"]
    lines.append(f"{'total indicator reading, mm':33}" + cells(RUNOUT, digits=2))
    for pair in PAIRS:
        lines.append(pair)
        lines += [f"  {name:31}" + cells(found["all"][name][pair]["p95"]) for name in METHODS]
        if pair == "hole":
            square = found["all"]["probe"]["hole"]["p95"][0]
            lines.append(f"  {'by hand':31}" + cells([rule(square, runout) for runout in RUNOUT]))
    lines.append(f"hole by the bit, {compared(by_hand(found)[-2 * len(RUNOUT) :])}")
    return "\n".join(lines) + "\n"


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """Name and drawing of each figure."""
    names = ("total indicator reading of the bit, mm", "95 in 100 parts within, mm")
    everything = found["all"]
    hole = {name: everything[name]["hole"]["p95"] for name in METHODS}
    hole["by hand"] = [rule(everything["probe"]["hole"]["p95"][0], runout) for runout in RUNOUT]
    short = {"slot along the flip line": "slot along it", "slot across the flip line": "slot across it"}
    marked, as_it_stops = everything["bit, turned to a mark"], everything["bit, as it stops"]
    slots = {f"marked, {name}": marked[pair]["p95"] for pair, name in short.items()}
    slots |= {f"as it stops, {name}": as_it_stops[pair]["p95"] for pair, name in short.items()}

    def a_hole(ax: Any) -> Any:
        below = "a hole, bored half from each face, the same corner touched off twice"
        return lines_figure(
            ax, "A mark on the bit does not help a hole", below, RUNOUT, hole, names, points=["by hand"]
        )

    def two_slots(ax: Any) -> Any:
        below = "a mark on the bit moves all of the runout across the flip line"
        return lines_figure(ax, "A mark helps only what is judged along the flip line", below, RUNOUT, slots, names)

    return {"hole": a_hole, "slots": two_slots}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
