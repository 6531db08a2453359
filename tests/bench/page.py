"""The page of docs/reference that tells how fast flipcheck is, as measured."""

from __future__ import annotations

import datetime as dt
import os
import platform
import re
from dataclasses import dataclass
from importlib.util import find_spec

import numpy as np

from tests.bench.goal import Effort, Figure, Goal
from tests.bench.timing import ROOT

PAGE = ROOT / "docs" / "reference" / "performance.md"

_HEAD = """# How fast it is

Measured on {date}, on a shared machine with {cores} cores ({machine}), Python {python}, numpy {numpy}. Each
figure is a **ratio** to a baseline that was measured beside it, in turn, in the same run; of several rounds the fastest
of each counts. Seconds would tell of the machine; ratios carry over, to within some 5 % on a quiet one and 10 to 20 %
where others are at work: how many programs there were at each measurement ("load") stands below. *Must* is what the
project holds itself to, *stretch* what it aims at, and whether that was reached stands in the last column.

R1 and R2 are two problems of invented but usual size, whose answers are known from elsewhere
(`tests/bench/problems.py`). R1: two setups of a rigid part with 12 normal and 6 uniform errors, 2 runouts and 2 places
in the play of a pin, seen at ten holes with two cuts of their own each. R2: a blank on two loose pins with an uncertain
pitch, and the same holes. *Plain* is `--plain`, ordinary Monte Carlo; *evenly spread* (*even*) is what flipcheck does
unless told otherwise ([fewer trials](../explanation/fewer-trials.md)). The example is the job of `flipcheck check`
without a file.

| goal | what | against | must | stretch | measured | met |
|---|---|---|---|---|---|---|
"""
_FOOT = """
## What the figures say

{notes}

## Measure again

```
pip install -e '.[test,bench]'
python -m tests.bench                # all of it, and this page anew: ten minutes on a quiet machine
python -m tests.bench P1 P12         # some of it, and its rows of this page
python -m pytest tests/bench --benchmark-enable
```

The goals stand in `tests/bench/goals.py`. In the ordinary tests each is measured once, small, to see that it can be;
nothing is asserted there of a time.
"""


@dataclass(frozen=True)
class Row:
    """A goal with what was measured; no values where its baseline could not be had."""

    goal: Goal
    values: tuple[float, ...]
    remark: str

    @classmethod
    def measured(cls, goal: Goal, effort: Effort) -> Row:
        """The goal, measured now; the remark also tells how busy the machine was before."""
        if goal.needs and find_spec(goal.needs) is None:
            return cls(goal, (), f"not measured: {goal.needs} is not installed")
        load = os.getloadavg()[0]
        values, remark = goal.measure(effort)
        return cls(goal, values, f"{remark}; load {load:.0f}")

    @property
    def line(self) -> str:
        """Its line of the table."""
        figures = self.goal.figures
        must, stretch = (
            "; ".join(_limit(f, limit) for f, limit in zip(figures, limits, strict=True))
            for limits in ([f.must for f in figures], [f.stretch for f in figures])
        )
        values = zip(figures, self.values, strict=bool(self.values))
        told = "; ".join(f"{f.what} **{_short(v)}**".strip() for f, v in values) or "-"
        met = "; ".join(map(_met, figures, self.values)) or "-"
        cells = [self.goal.number, self.goal.what, self.goal.baseline, must, stretch, told, met]
        return f"| {' | '.join(cells)} |"

    @property
    def note(self) -> str:
        """What else is to be said of it: its remark, and why a figure is not met."""
        missed = [f.why for f, v in zip(self.goal.figures, self.values, strict=False) if f.why and not _must(f, v)]
        return ". ".join(text[0].upper() + text[1:] for text in dict.fromkeys((self.remark, *missed)) if text)


def page(rows: list[Row]) -> str:
    """The whole page, for rows measured just now."""
    head = _HEAD.format(
        date=dt.datetime.now(tz=dt.UTC).date().isoformat(),
        cores=os.cpu_count(),
        machine=platform.machine(),
        python=platform.python_version(),
        numpy=np.__version__,
    )
    notes = "\n".join(f"- {row.goal.number}: {row.note}." for row in rows)
    return head + "\n".join(row.line for row in rows) + "\n" + _FOOT.format(notes=notes)


def renewed(text: str, rows: list[Row]) -> str:
    """The page with some rows measured again."""
    for row in rows:
        for start, line in ((f"| {row.goal.number} |", row.line), (f"- {row.goal.number}:", f" {row.note}.")):
            whole = line if line.startswith(start) else start + line
            text = re.sub(rf"(?m)^{re.escape(start)}.*$", lambda _, whole=whole: whole, text)
    return text


def _must(figure: Figure, value: float) -> bool:
    return figure.reaches(value, figure.must)


def _limit(figure: Figure, limit: float | None) -> str:
    return "-" if limit is None else f"{'<=' if figure.most else '>='} {_short(limit)}"


def _met(figure: Figure, value: float) -> str:
    if figure.must is None:
        return "-"
    if not _must(figure, value):
        return "no"
    return "stretch" if figure.reaches(value, figure.stretch) else "yes"


def _short(value: float) -> str:
    """Three digits, and no more noughts than are needed."""
    if value and not 1e-3 <= abs(value) < 1e4:
        number, power = f"{value:.1e}".split("e")
        return f"{number.removesuffix('.0')}e{int(power)}"
    return f"{value:.3g}"
