"""Pins, fence or probe, on a machine that is more and more out of square? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figure.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import flipcheck

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tools import Case, Point, by_method, cells, compared, lines_figure, run, varied, with_shift  # noqa: E402

OUT = (0.0, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0)  # how far the machine is out of square, mm/m
ARMS = {  # mm from where an error of squareness is counted to the farthest hole, read off job.toml
    "pins, 0.1 clearance": 180 - 100,
    "pins, 0.4 clearance": 180 - 100,
    "fence, stop at the corner": 280 - 30,
    "fence, stop at mid-height": 280 - 150,
    "probe at the corner": 280 - 30,
    "probe at mid-height": 280 - 150,
}


def answer(trials: int, seed: int) -> dict[str, Any]:
    """How far off 95 in 100 parts are at the worst hole, mm, by every method, for every squareness."""
    results = [flipcheck.compare(job_at(out), trials=trials, rng=seed) for out in OUT]
    rows = [by_method(result) for result in results]
    return {"p95": {name: [row[name] for row in rows] for name in ARMS}}


def job_at(out: float) -> flipcheck.Job:
    """The job on a machine that is out of square by so many mm/m."""
    return varied(flipcheck.read_job(HERE / "job.toml"), machine_squareness=flipcheck.Normal(0.0, 1e-3 * out))


def rule(found: dict[str, Any], name: str, out: float) -> float:
    """By hand: what the method does on a square machine, and a shift of 2 g times the arm."""
    return with_shift(found["p95"][name][0], 2e-3 * out * ARMS[name])


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the rule says of every number of the table."""
    return [
        Case(f"{name}, {out} mm/m", rule(found, name, out), value, 0.10)
        for name, row in found["p95"].items()
        for out, value in zip(OUT, row, strict=True)
    ]


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation."""
    chosen = [("pins, 0.4 clearance", 3), ("fence, stop at the corner", 5), ("probe at mid-height", 7)]
    return [Point(job_at(OUT[number]), name, "p95", found["p95"][name][number]) for name, number in chosen]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    lines = ["1. 95 in 100 parts are within, mm, at the worst of four holes", "machine out of square by, mm/m"]
    lines.append(f"{'':27}" + cells(OUT, 7, 2))
    lines += [f"{name:27}" + cells(row, 7) for name, row in found["p95"].items()]
    lines += ["", "2. By hand: 2 g x arm + 3/4 of the first column, or the first column where that is more"]
    lines += [f"{name:27}" + cells([rule(found, name, out) for out in OUT], 7) for name in ARMS]
    lines.append(compared(by_hand(found)))
    overtaken = crossing(found["p95"]["pins, 0.4 clearance"], found["p95"]["probe at mid-height"])
    lines.append(f"the pins of 0.4 clearance overtake the probe at mid-height at {overtaken:.2f} mm/m")
    return "\n".join(lines) + "\n"


def crossing(falling_behind: list[float], ahead: list[float]) -> float:
    """The squareness at which the second method, better at first, is overtaken by the first; NaN if never."""
    gaps = [one - other for one, other in zip(falling_behind, ahead, strict=True)]
    for number in range(1, len(OUT)):
        if gaps[number - 1] > 0.0 >= gaps[number]:
            part = gaps[number - 1] / (gaps[number - 1] - gaps[number])
            return OUT[number - 1] + part * (OUT[number] - OUT[number - 1])
    return float("nan")


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """The figure: name and drawing."""
    head, below = (
        "Squareness decides by its arm",
        "95 in 100 parts within, at the worst of four holes; six ways of finding the place again",
    )
    names = ("machine out of square by, mm/m", "95 in 100 parts within, mm")
    return {"pins-fence-or-probe": lambda ax: lines_figure(ax, head, below, OUT, found["p95"], names)}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
