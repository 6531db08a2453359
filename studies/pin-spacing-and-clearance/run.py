"""How far apart two pins, how much clearance, and which way the flip line? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figures.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flipcheck

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tools import Case, Point, alone, by_place, cells, compared, lines_figure, rms, run, varied, with_shift  # noqa: E402

if TYPE_CHECKING:
    from flipcheck import Job

APART = (80.0, 120.0, 160.0, 240.0, 320.0)  # from pin to pin, mm
CLEARANCE = (0.05, 0.1, 0.2, 0.4)  # hole minus pin, mm
SQUARE = (0.0, 0.2, 0.5, 1.0)  # machine out of square by, mm/m
FIT = (0.02, 0.04, 0.08, 0.12, 0.16)  # clearances of table 3, mm
MIDDLE = (120.0, 180.0)  # of the pins, and of the board
OFF = {"middle": (0.0, 0.0), "beside": (0.0, 100.0), "beyond": (160.0, 0.0), "corner": (160.0, 100.0)}
POSITIONING, CLAMPING = 0.02, 0.02  # standard deviations in job.toml, mm
BINDING = {"round, bored apart": ("round", "separately"), "second a slot": ("slot", "separately"),
           "round, same stroke": ("round", "same stroke")}  # fmt: skip
SKEW_ARM = {"long way": 100.0, "short way": 160.0}  # of the corner hole from the flip line, mm


def answer(trials: int, seed: int) -> dict[str, Any]:
    """Lengths in mm; the play in times the clearance."""

    def look(job: Job) -> flipcheck.Result:
        return flipcheck.check(job, trials=trials, rng=seed)

    def corner(job: Job) -> Any:
        return by_place(look(job))["corner"]

    loose = [by_place(look(alone(job_at(apart, 1.0, *OFF)))) for apart in APART]
    parts = [[corner(job_at(apart, fit)) for fit in CLEARANCE] for apart in APART]
    return {
        "play": {
            place: {
                "rms": [rms(one[place]) for one in loose],
                "p95": [one[place].quantiles["p95"] for one in loose],
            }
            for place in OFF
        },
        "corner": {
            "rms": [[rms(one) for one in row] for row in parts],
            "p95": [[one.quantiles["p95"] for one in row] for row in parts],
        },
        "goes on": {way: {"chance": [look(fit_at(fit, way)).methods[0].goes_on for fit in FIT]} for way in BINDING},
        "line": {way: {"p95": [corner(turned(way, out)).quantiles["p95"] for out in SQUARE]} for way in SKEW_ARM},
    }


def job_at(apart: float, clearance: float, *places: str, **keys: Any) -> Job:
    """The job with two pins so far apart, and so much clearance; with the holes named, or that at the corner alone."""
    job = flipcheck.read_job(HERE / "job.toml")
    x, y = MIDDLE
    pins, hole = job.methods[0], job.methods[0].hole
    hole = hole.model_copy(update={"diameter": pins.pin.diameter + clearance})
    half = 0.5 * apart
    changed = {"pins": ((x, y - half), (x, y + half)), "hole": hole, **keys}
    holes = tuple(pair for pair in job.pairs if pair.name in (places or ("corner",)))
    return varied(job, methods=(pins.model_copy(update=changed),), pairs=holes)


def fit_at(clearance: float, way: str) -> Job:
    """The job with a tighter fit, bored and shaped as said."""
    second, bed = BINDING[way]
    return job_at(320.0, clearance, second_hole=second, bed_holes=bed)


def turned(way: str, out: float) -> Job:
    """The job turned about a line the long way or the short way of the board, pins 20 mm from its edges."""
    x, y = MIDDLE
    keys, flip = ({}, "left-right") if way == "long way" else ({"pins": ((20.0, y), (2.0 * x - 20.0, y))}, "front-back")
    return varied(job_at(320.0, 0.1, **keys), flip=flip, machine_squareness=flipcheck.Normal(0.0, 1e-3 * out))


def play(apart: float, away: float) -> float:
    """By hand: root mean square of the play, `away` from the middle between the pins, in times the clearance."""
    return math.sqrt((1.0 + 1.6 * (away / apart) ** 2) / 12.0)


def everything(apart: float, clearance: float, away: float) -> float:
    """By hand: root mean square of all that scatters, mm.

    The play; two strokes through blank and bed, which count twice across the flip line and not along it; the hole
    itself, twice; and one shift by clamping.
    """
    strokes = 4.0 * POSITIONING**2 * (0.5 + 2.0 * (away / apart) ** 2)
    return math.sqrt((clearance * play(apart, away)) ** 2 + strokes + 4.0 * POSITIONING**2 + 2.0 * CLAMPING**2)


def bored_apart(clearance: float) -> float:
    """By hand: the share that goes on, where the distances of the holes and of the pins scatter by four strokes."""
    return math.erf(clearance / (2.0 * POSITIONING * math.sqrt(2.0)))


def skewed(square: float, way: str, out: float) -> float:
    """By hand: what there is on a square machine, and a shift of 2 g times the arm, mm."""
    return with_shift(square, 2e-3 * out * SKEW_ARM[way])


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the formulas say of every number of the tables."""
    away = {place: math.hypot(*off) for place, off in OFF.items()}
    rows = [
        Case(f"{place}, {apart:g}", play(apart, away[place]), value, 0.02)
        for place, row in found["play"].items()
        for apart, value in zip(APART, row["rms"], strict=True)
    ]
    rows += [
        Case(f"corner, {apart:g}, {fit}", everything(apart, fit, away["corner"]), value, 0.02)
        for apart, row in zip(APART, found["corner"]["rms"], strict=True)
        for fit, value in zip(CLEARANCE, row, strict=True)
    ]
    apart = found["goes on"]["round, bored apart"]["chance"]
    rows += [Case(f"goes on, {fit}", bored_apart(fit), value, 0.02) for fit, value in zip(FIT, apart, strict=True)]
    for way in SKEW_ARM:
        line = found["line"][way]["p95"]
        rows += [
            Case(f"{way}, {o}", skewed(line[0], way, o), value, 0.12) for o, value in zip(SQUARE, line, strict=True)
        ]
    return rows


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation."""
    return [
        Point(job_at(80.0, 0.2), "pins", "p95", found["corner"]["p95"][0][2]),
        Point(
            fit_at(0.04, "round, bored apart"), "pins", "goes on", found["goes on"]["round, bored apart"]["chance"][1]
        ),
        Point(turned("short way", 0.5), "pins", "p95", found["line"]["short way"]["p95"][2]),
    ]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    counts = len(OFF) * len(APART) + len(APART) * len(CLEARANCE)
    checked = f"root mean squares behind 1 and 2, {compared(by_hand(found)[:counts])}"
    return "\n".join([*_play_and_spacing(found), "", *_fit_and_line(found), "", checked]) + "\n"


def _play_and_spacing(found: dict[str, Any]) -> list[str]:
    lines = ["1. Play of the pins alone: root mean square in times the clearance, computed and by hand"]
    lines.append("from pin to pin, mm  " + "".join(f"{apart:14g}" for apart in APART))
    for place, row in found["play"].items():
        away = math.hypot(*OFF[place])
        both = zip(row["rms"], [play(apart, away) for apart in APART], strict=True)
        lines.append(f"{place:7} {away:4.0f} mm away" + "".join(f"{one:8.3f} {other:.3f}" for one, other in both))
    lines.append("95 in 100 within, in times the clearance")
    lines += [
        f"{place:7} {math.hypot(*OFF[place]):4.0f} mm away"
        + "".join(f"{one:8.3f}      " for one in row["p95"]).rstrip()
        for place, row in found["play"].items()
    ]
    lines += ["", "2. With everything, at the corner hole: 95 in 100 parts within, mm"]
    lines.append("from pin to pin, mm" + cells(APART, digits=0))
    p95, root = found["corner"]["p95"], found["corner"]["rms"]
    lines += [f"clearance {fit:<9g}" + cells([row[number] for row in p95]) for number, fit in enumerate(CLEARANCE)]
    ratios = [one / other for row, roots in zip(p95, root, strict=True) for one, other in zip(row, roots, strict=True)]
    return [*lines, f"that is {min(ratios):.2f} to {max(ratios):.2f} times the root mean square"]


def _fit_and_line(found: dict[str, Any]) -> list[str]:
    lines = ["3. Go onto the pins, in 100 blanks", "clearance, mm          " + cells(FIT, digits=2)]
    shares = {way: row["chance"] for way, row in found["goes on"].items()}
    shares["  bored apart, by hand"] = [bored_apart(fit) for fit in FIT]
    lines += [f"{way:23}" + cells([100.0 * share for share in row], digits=1) for way, row in shares.items()]
    lines += ["", "4. The flip line, 0.1 clearance: 95 in 100 parts within at the corner hole, mm"]
    lines.append("machine out of square by, mm/m  " + cells(SQUARE, digits=1))
    for way, row in found["line"].items():
        lines.append(f"{f'{way}, {SKEW_ARM[way]:.0f} mm from the line':32}" + cells(row["p95"]))
        lines.append(f"{'  by hand':32}" + cells([skewed(row["p95"][0], way, out) for out in SQUARE]))
    return lines


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """Name and drawing of each figure."""
    curves = {
        f"clearance {fit:g}": [row[number] for row in found["corner"]["p95"]] for number, fit in enumerate(CLEARANCE)
    }
    ways = {f"{way}, {SKEW_ARM[way]:.0f} mm off": row["p95"] for way, row in found["line"].items()}

    def spacing(ax: Any) -> Any:
        head, below = (
            "Clearance costs everywhere, spacing only beyond the pins",
            "a hole 189 mm from the middle between the pins",
        )
        return lines_figure(ax, head, below, APART, curves, ("from pin to pin, mm", "95 in 100 parts within, mm"))

    def line(ax: Any) -> Any:
        head, below = (
            "The flip line the long way",
            "the corner hole of a board of 240 x 360 mm, pins with 0.1 mm clearance",
        )
        return lines_figure(
            ax, head, below, SQUARE, ways, ("machine out of square by, mm/m", "95 in 100 parts within, mm")
        )

    return {"pin-spacing": spacing, "flip-line": line}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
