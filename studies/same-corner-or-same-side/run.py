"""Same corner, same side or the middle? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well, with
`--plots DIR` to draw the figures.
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

from tools import Case, Point, alone, by_method, cells, compared, lines_figure, rms, run, varied  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Iterable

    from flipcheck import Job

STOCK = (0.05, 0.1, 0.2, 0.3, 0.5, 1.0)  # limits of the size of the stock, mm
RADIUS = (0.0, 0.05, 0.1)  # limits of the error of the stylus radius, mm
TOUCH = (0.01, 0.03, 0.06, 0.1)  # standard deviations of a touch, mm
UNMOVED = ("probe, same corner", "probe, middle", "fence, same edge")


def answer(trials: int, seed: int) -> dict[str, Any]:
    """How far off 95 in 100 parts are at the worst of three holes, mm; of touches alone the root mean square."""

    def look(job: Job) -> dict[str, float]:
        return by_method(flipcheck.compare(job, trials=trials, rng=seed))

    sizes = [[look(sized(stock, radius)) for stock in STOCK] for radius in RADIUS]
    rough = [look(touched(std)) for std in TOUCH]
    pure = flipcheck.compare(touches_alone(), trials=trials, rng=seed)
    probes = ("probe, same corner", "probe, middle")
    return {
        "same side": [{"p95": [cell["probe, same side"] for cell in row]} for row in sizes],
        "stop that stays": {"p95": [cell["fence, same side"] for cell in sizes[0]]},
        "unmoved": {name: {"p95": ends(cell[name] for row in sizes for cell in row)} for name in UNMOVED},
        "touch": {name: {"p95": [cell[name] for cell in rough]} for name in probes},
        "touch alone": {m.name: {"rms": rms(m.pairs[0].distance)} for m in pure.methods if m.name in probes},
    }


def start() -> Job:
    return flipcheck.read_job(HERE / "job.toml")


def sized(stock: float, radius: float) -> Job:
    """The job with other limits of the size of the stock and of the radius of the stylus."""
    return varied(start(), stock_size=Uniform(stock), probe_radius=Uniform(radius))


def touched(std: float) -> Job:
    """The job with a touch of another standard deviation."""
    return varied(start(), probe_repeatability=Normal(std))


def touches_alone() -> Job:
    """No error but that of a touch, 1 mm."""
    return alone(start(), probe_repeatability=Normal(1.0))


def ends(values: Iterable[float]) -> list[float]:
    """The least and the most of some values."""
    ordered = sorted(values)
    return [ordered[0], ordered[-1]]


def rule(found: dict[str, Any], stock: float, radius: float) -> float:
    """By hand: how far off 95 in 100 parts are by the same side, the two limits and the rest added in squares, mm."""
    return math.hypot(stock, 2.0 * radius, found["unmoved"]["probe, same corner"]["p95"][1])


def by_hand(found: dict[str, Any]) -> list[Case]:
    """What the formulas say of table 1, and of touches alone: two a face and axis less one, root of two."""
    sides = [
        Case(f"same side, {stock}, {radius}", rule(found, stock, radius), value, 0.12)
        for radius, row in zip(RADIUS, found["same side"], strict=True)
        for stock, value in zip(STOCK, row["p95"], strict=True)
    ]
    alone_by_hand = {"probe, same corner": 2.0, "probe, middle": math.sqrt(2.0)}
    touches = [Case(name, alone_by_hand[name], one["rms"], 0.01) for name, one in found["touch alone"].items()]
    return sides + touches


def points(found: dict[str, Any]) -> list[Point]:
    """A few answers for another simulation."""
    return [
        Point(sized(0.3, 0.05), "probe, same side", "p95", found["same side"][1]["p95"][3]),
        Point(sized(0.5, 0.0), "fence, same side", "p95", found["stop that stays"]["p95"][4]),
        Point(touched(0.1), "probe, middle", "p95", found["touch"]["probe, middle"]["p95"][3]),
    ]


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    lines = [
        "1. 95 in 100 parts are within, mm, at the worst of three holes",
        f"{'limit of the stock, mm':34}" + cells(STOCK, digits=2),
    ]
    for radius, row in zip(RADIUS, found["same side"], strict=True):
        lines.append(f"{f'probe, same side; radius ±{radius:g}':34}" + cells(row["p95"]))
        lines.append(f"{'  by hand':34}" + cells([rule(found, stock, radius) for stock in STOCK]))
    lines.append(f"{'fence, stop that stays':34}" + cells(found["stop that stays"]["p95"]))
    for name, one in found["unmoved"].items():
        least, most = one["p95"]
        lines.append(f"{name:34}" + cells([least]) + f" to {most:.3f}, in all columns and for every radius")
    lines.append(f"same side, {compared(by_hand(found)[:-2])}")
    lines += ["", "2. Rougher touches: 95 in 100 parts within, mm"]
    lines.append(f"{'standard deviation of a touch, mm':34}" + cells(TOUCH, digits=2))
    lines += [f"{name:34}" + cells(one["p95"]) for name, one in found["touch"].items()]
    alone_now = [one["rms"] for one in found["touch alone"].values()]
    lines.append(
        f"touches alone, root mean square in times one: middle {min(alone_now):.2f}, same corner {max(alone_now):.2f}"
    )
    return "\n".join(lines) + "\n"


def figures(found: dict[str, Any]) -> dict[str, Any]:
    """Name and drawing of each figure."""

    def size(ax: Any) -> Any:
        head, below = (
            "The other edge brings the size of the stock along",
            "95 in 100 parts within, at the worst of three holes",
        )
        curves = {
            f"same side, radius ±{radius:g}": row["p95"] for radius, row in zip(RADIUS, found["same side"], strict=True)
        }
        curves |= {"same corner": [found["unmoved"]["probe, same corner"]["p95"][1]] * len(STOCK)}
        return lines_figure(
            ax, head, below, STOCK, curves, ("limit of the size of the stock, mm", "95 in 100 parts within, mm")
        )

    def touch(ax: Any) -> Any:
        head, below = (
            "The middle of two edges halves the variance of a touch",
            "95 in 100 parts within, at the worst of three holes",
        )
        curves = {name.removeprefix("probe, "): one["p95"] for name, one in found["touch"].items()}
        return lines_figure(
            ax, head, below, TOUCH, curves, ("standard deviation of a touch, mm", "95 in 100 parts within, mm")
        )

    return {"size-of-the-stock": size, "rough-touches": touch}


if __name__ == "__main__":
    run(__file__, __doc__, answer, table, figures)
