"""What is said of a sweep: its values, where the goal is crossed, and why there is no result."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.show import words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.decide.sweep.results import Crossing, MethodPoint, Sweep, SweepPoint, Varied

#: How many reasons are told.
_FEW = 5


def value_text(value: float) -> str:
    """A value of what is varied."""
    return f"{value:.6g}"


def with_unit(text: str, varied: Varied) -> str:
    """A value, or several, with the unit."""
    return f"{text} {varied.unit}".rstrip()


def between_steps(value: float, varied: Varied) -> str:
    """A value between two steps, to about a hundredth of a step."""
    step = abs(varied.values[1] - varied.values[0])
    return f"{value:.{max(0, 2 - math.floor(math.log10(step)))}f}"


def range_text(varied: Varied) -> str:
    """What is varied, over which range, and what the job gives."""
    ends = with_unit(f"{value_text(varied.values[0])} to {value_text(varied.values[-1])}", varied)
    now = "not given" if varied.now is None else value_text(varied.now)
    return f"{varied.key}, {ends} (in the job: {now})"


def question(sweep: Sweep) -> str:
    """Which part, and what is asked."""
    over = " and ".join(range_text(varied) for varied in sweep.varied)
    return f"{words.part(sweep)}. How does it change with {over}?"


def verdict(sweep: Sweep, name: str) -> str:
    """Where one method meets the goal, in a sentence."""
    rows = [sweep.row(name, number) for number in range(_besides(sweep))]
    met = [method.chance.estimate >= sweep.goal for row in rows for method in row if method is not None]
    if not met:
        return f'"{name}" has no result.'
    if all(met) or not any(met):
        where = " with a result" if any(None in row for row in rows) else ""
        return f'"{name}" {"meets" if all(met) else "misses"} the goal at every value{where}.'
    if len(sweep.varied) > 1:
        return f'"{name}" meets the goal at {sum(met)} of {len(met)} points.'
    crossings = [crossing for crossing in sweep.crossings if crossing.method == name]
    if len(crossings) == 1 and None not in rows[0]:
        return f'"{name}" meets the goal {_one(crossings[0], sweep.varied[0])}.'
    where = " and ".join(f"at {crossing_text(crossing, sweep.varied[0])}" for crossing in crossings)
    found = f"crosses it {where}" if where else "crosses it where there is no result"
    return f'"{name}" meets the goal at {sum(met)} of {len(met)} values; it {found}.'


def crossing_text(crossing: Crossing, varied: Varied) -> str:
    """Where the goal is crossed, and the values between which it is."""
    low, high = (value_text(value) for value in sorted(crossing.between))
    return f"{with_unit(between_steps(crossing.value, varied), varied)} (between {low} and {high})"


def _one(crossing: Crossing, varied: Varied) -> str:
    up = varied.values[-1] > varied.values[0]
    text = crossing_text(crossing, varied)
    if crossing.rises:
        return f"from {text} {'up' if up else 'down'}"
    return f"{'up' if up else 'down'} to {text}"


def _besides(sweep: Sweep) -> int:
    return len(sweep.varied[1].values) if len(sweep.varied) > 1 else 1


def p95_title(sweep: Sweep) -> str:
    """What the numbers beside the chances are."""
    pair, units = sweep.pair, sweep.units
    if any(_is_web(method, pair) for point in sweep.done for method in point.methods):
        return f'95 in 100 below, thickness of "{pair}", {units}'
    return f'95 in 100 within, misalignment of "{pair}", {units}'


def _is_web(method: MethodPoint, pair: str | None) -> bool:
    return method.pair(pair).kind == "web"


def impossible(sweep: Sweep) -> list[str]:
    """Why there is no result at some points, the first few reasons."""
    reasons: dict[str, tuple[list[str], list[SweepPoint]]] = {}
    for point in sweep.done:
        for one in point.impossible:
            names, points = reasons.setdefault(one.reason, ([], []))
            names += [one.method] if one.method not in names else []
            points += [point] if point not in points[-1:] else []
    told = [_hole(sweep, reason, *found) for reason, found in reasons.items()]
    more = [f"No result for {len(told) - _FEW} more reasons (--csv, --json)."] if len(told) > _FEW else []
    return told[:_FEW] + more


def _hole(sweep: Sweep, reason: str, names: Sequence[str], points: Sequence[SweepPoint]) -> str:
    values = zip(points[0].values, sweep.varied, strict=True)
    at = " and ".join(with_unit(value_text(value), varied) for value, varied in values)
    if len(points) > 1:
        at += f", and at {len(points) - 1} more point{'s' if len(points) > 2 else ''}"
    return f"No result at {at}{_for(names, sweep.methods)}: {reason}."


def _for(names: Sequence[str], methods: Sequence[str]) -> str:
    if len(names) == len(methods):
        return ""
    return " for " + ", ".join(f'"{name}"' for name in names)


def trials(sweep: Sweep) -> str:
    """How many trials each point had, and how many points are done."""
    text = f"Each point met the same {words.whole(sweep.trials)} trial parts, seed {sweep.seed}."
    done, points = len(sweep.done), len(sweep.points)
    return text if done == points else f"Interrupted: {done} of {points} points are done. {text}"
