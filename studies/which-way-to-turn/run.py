"""A machine out of square: turn about a line along Y, along X, or about the diagonal? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figure.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flipcheck
from flipcheck import Normal

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tools import Case, Point, alone, by_method, cells, compared, lines_figure, run, varied, with_shift, worst_rms  # noqa: E402

if TYPE_CHECKING:
    from flipcheck import Job

TURNS = ("left-right", "front-back", "diagonal")
PINS = {  # the round hole first, then the slot
    "pins along Y": ((120.0, 20.0), (120.0, 220.0)),
    "pins along X": ((20.0, 120.0), (220.0, 120.0)),
    "pins on the diagonal": ((40.0, 40.0), (200.0, 200.0)),
}
METHODS = (*PINS, "fence", "probe")
HOLES = ((220.0, 220.0), (20.0, 220.0), (220.0, 20.0))
ONE = {  # one error of 1 mm/m alone
    "machine_squareness": ("machine out of square, g", Normal(0.0, 1e-3)),
    "machine_scale_x": ("travel in X longer than in Y, s", Normal(0.0, 1e-3)),
    "stock_squareness": ("edges of the blank out of square, a", Normal(1e-3)),
}
OUT = (0.0, 0.1, 0.2, 0.3, 0.5, 1.0)  # machine out of square by, mm/m
WAYS = {  # of table 2: a turn, a method, and by hand how many mm of arm squareness has
    "along Y, pins along Y": ("left-right", "pins along Y", 200.0),
    "along X, pins along X": ("front-back", "pins along X", 200.0),
    "diagonal, pins on it": ("diagonal", "pins on the diagonal", 0.0),
    "along Y, probe": ("left-right", "probe", 380.0),
    "diagonal, probe": ("diagonal", "probe", math.hypot(190.0, 190.0)),
}


def answer(trials: int, seed: int) -> dict[str, Any]:
    """Of one error of 1 mm/m the root mean square at the worst hole; then how far off 95 in 100 parts are there, mm."""
    single = {
        error: [worst_rms(flipcheck.compare(one_error(error, turn), trials=trials, rng=seed)) for turn in TURNS]
        for error in ONE
    }
    used = {turn: [method for way, method, _ in WAYS.values() if way == turn] for turn in TURNS}

    def rows(out: float) -> dict[str, dict[str, float]]:
        jobs = {turn: job_at(turn, out) for turn in TURNS}
        return {
            turn: by_method(flipcheck.compare(job, used[turn], trials=trials, rng=seed)) for turn, job in jobs.items()
        }

    everything = [rows(out) for out in OUT]
    return {
        "one": {
            error: {method: {"rms": [turn[method] for turn in turns]} for method in METHODS}
            for error, turns in single.items()
        },
        "all": {way: {"p95": [row[turn][method] for row in everything]} for way, (turn, method, _) in WAYS.items()},
    }


def job_at(turn: str, out: float, play: float | None = None) -> Job:
    """The job with another turn, on a machine out of square by so many mm/m, with pins on three lines."""
    job = flipcheck.read_job(HERE / "job.toml")
    pins, fence, probe = job.methods
    hole = (
        pins.hole
        if play is None
        else pins.hole.model_copy(update={"diameter": pins.pin.diameter + play, "spread": Normal(0.0)})
    )
    lines = [pins.model_copy(update={"name": name, "pins": line, "hole": hole}) for name, line in PINS.items()]
    fence = fence.model_copy(update={"after_flip": "same side" if turn == "diagonal" else "same edge"})
    return varied(job, flip=turn, methods=(*lines, fence, probe), machine_squareness=Normal(0.0, 1e-3 * out))


def one_error(error: str, turn: str) -> Job:
    """The job with one error alone; the pins have next to no play."""
    return alone(job_at(turn, 0.0, play=1e-4), **{error: ONE[error][1]})


def arm(error: str, method: str, turn: str) -> float:
    """By hand: what 1 mm/m of one error comes to at the worst hole, mm."""
    shift = {"machine_squareness": by_skew, "machine_scale_x": by_stretch, "stock_squareness": by_lean}[error]
    return 1e-3 * max(math.hypot(*shift(method, turn, x, y)) for x, y in HOLES)


def by_skew(method: str, turn: str, x: float, y: float) -> tuple[float, float]:
    """Misalignment of a hole in times g, mm, but for the sign: 2 g x arm, or about the diagonal a rotation by g."""
    if method in PINS:
        x0, y0 = PINS[method][0]
        about_an_axis = {
            "pins along Y": (0.0, 2.0 * (x - x0)),
            "pins along X": (2.0 * (y - y0), 0.0),
            "pins on the diagonal": (y - y0, x - x0),
        }
        return (0.0, 0.0) if turn == "diagonal" else about_an_axis[method]
    if turn == "diagonal":
        return y - 30.0, x - 30.0
    found_at = 0.5 * (30.0 + 210.0) if (method, turn) == ("fence", "front-back") else 30.0  # the stop stays at 30
    return 2.0 * (y - found_at), 0.0


def by_stretch(method: str, turn: str, x: float, y: float) -> tuple[float, float]:
    """The same in times s: about the diagonal face A is stretched along its x, face B along its y."""
    if turn != "diagonal":
        return 0.0, 0.0
    if method == "pins on the diagonal":
        return x - y, x - y
    x0, y0 = PINS[method][0] if method in PINS else (0.0, 0.0)
    return x - x0, y - y0


def by_lean(method: str, turn: str, x: float, y: float) -> tuple[float, float]:
    """The same in times a: the left edge comes to lie on the fence, or meets the stop at two places, 30 and 210."""
    if method in PINS:
        return 0.0, 0.0
    if turn == "diagonal":
        return y - 30.0, x - 30.0
    return (210.0 - 30.0, 0.0) if (method, turn) == ("fence", "front-back") else (0.0, 0.0)


def skewed(row: list[float], way: str, out: float) -> float:
    """By hand: what there is on a square machine, and a shift by the arm, mm."""
    return with_shift(row[0], 1e-3 * out * WAYS[way][2])


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the formulas say of every number of the tables."""
    rows = [
        Case(f"{error}, {method}, {turn}", arm(error, method, turn), value, 0.01)
        for error, methods in found["one"].items()
        for method, row in methods.items()
        for turn, value in zip(TURNS, row["rms"], strict=True)
    ]
    rows += [
        Case(f"{way}, {out} mm/m", skewed(row["p95"], way, out), value, 0.10)
        for way, row in found["all"].items()
        for out, value in zip(OUT, row["p95"], strict=True)
    ]
    return rows


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation."""
    chosen = [("along X, pins along X", 5), ("diagonal, pins on it", 5), ("diagonal, probe", 4)]
    return [
        Point(job_at(WAYS[way][0], OUT[number]), WAYS[way][1], "p95", found["all"][way]["p95"][number])
        for way, number in chosen
    ]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    lines = ["1. One error of 1 mm/m alone: mm at the worst of three holes, computed and by hand"]
    lines.append(f"{'turned about a line along':28}" + "".join(f"{turn:>16}" for turn in ("Y", "X", "the diagonal")))
    for error, methods in found["one"].items():
        lines.append(ONE[error][0])
        for method, row in methods.items():
            both = zip(row["rms"], TURNS, strict=True)
            lines.append(
                f"  {method:26}" + "".join(f"{rms:10.3f} {arm(error, method, turn):.3f}" for rms, turn in both)
            )
    lines += ["", "2. With everything: 95 in 100 parts within at the worst hole, mm"]
    lines.append(f"{'machine out of square, mm/m':28}" + cells(OUT, digits=1))
    for way, row in found["all"].items():
        lines.append(f"{way:28}" + cells(row["p95"]))
        lines.append(f"{'  by hand':28}" + cells([skewed(row["p95"], way, out) for out in OUT]))
    lines.append(compared(by_hand(found)[-len(WAYS) * len(OUT) :]))
    return "\n".join(lines) + "\n"


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """Name and drawing of the figure."""
    names = ("machine out of square by, mm/m", "95 in 100 parts within, mm")
    curves = {way: row["p95"] for way, row in found["all"].items() if way != "along X, pins along X"}
    below = "the worst of three holes in a lid of 240 x 240 mm; travel in X 0.1 mm/m longer than in Y"

    def ways(ax: Any) -> Any:
        return lines_figure(ax, "About the diagonal, pins take the skew out", below, OUT, curves, names)

    return {"which-way-to-turn": ways}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
