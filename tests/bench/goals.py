"""The goals, each once. How each figure is measured stands in `engine` and `whole`."""

from __future__ import annotations

from functools import partial

from tests.bench import engine, whole
from tests.bench.goal import Figure, Goal

_R1 = "R1, 10^6 trials"
_NUMPY = "`import numpy`"
_EQUAL = "plain trials in the same processor time"
_LOCK = (
    "drawing alone gains 1.86 by a second thread; between numpy's short calls the threads wait for each other at the "
    "interpreter's lock, most where trials are counted"
)
_START = (
    "typer, pydantic and rich, which take the arguments, check the job and set the text, cost some three times what "
    "numpy does; wall times need free cores, which there are none where P2 finds none"
)


def _least(what: str, must: float, stretch: float, why: str = "") -> Figure:
    return Figure(what, must, stretch, most=False, why=why)


GOALS = (
    Goal(
        "P1",
        "10^6 plain trials with all outputs, one thread, processor time",
        "drawing their random numbers with the same generator",
        (Figure("R1", 2.0, 1.6), Figure("the example", None, None)),
        engine.plain_against_draws,
    ),
    Goal(
        "P2",
        "R1 by plain trials with one thread, whole program, wall",
        "the same with two threads",
        (_least("10^6", 1.5, 1.65, _LOCK), _least("10^7", 1.75, 1.9, _LOCK)),
        whole.two_threads,
    ),
    Goal(
        "P3",
        "peak memory of R1 with 10^7 trials, whole program, and its growth from 10^5",
        "`import numpy`; the run of 10^5",
        (
            Figure("plain", 2.5, 2.0),
            Figure("growth", 1.1, 1.02),
            Figure("even", 2.5, 2.0),
            Figure("growth", 1.1, 1.02),
        ),
        whole.memory,
    ),
    Goal(
        "P4",
        f"the fastest general-purpose library for {_R1}, whole program, processor time",
        "flipcheck's plain trials, one thread",
        (_least("", 5.0, 8.0),),
        whole.against_library,
        needs="chaospy",
    ),
    Goal(
        "P5",
        f"numpy without blocks for {_R1}, whole program",
        "flipcheck's plain trials, one thread",
        (_least("processor time", 2.0, 3.0), _least("memory", 10.0, 20.0)),
        whole.against_all_at_once,
    ),
    Goal(
        "P6",
        f"R1, error of the chance of all pairs by {_EQUAL}",
        "evenly spread points",
        (_least("", 3.0, 5.0),),
        engine.r1_chance,
    ),
    Goal("P7", f"R1, error of a P95 by {_EQUAL}", "evenly spread points", (_least("", 2.0, 6.0),), engine.r1_p95),
    Goal(
        "P8",
        f"R2, error of the chance of all pairs by {_EQUAL}, that of 2 x 10^4",
        "evenly spread points",
        (_least("", 50.0, 200.0),),
        engine.r2_chance,
    ),
    Goal(
        "P9",
        "R1 as a plain sum: all exact answers",
        "one plain trial",
        (Figure("processor time", 1e5, 3e4), Figure("error of the chance", 1e-6, 1e-6)),
        engine.exact_answer,
    ),
    Goal(
        "P10",
        "places on two loose pins: least share accepted, processor time",
        "five uniform numbers and a normal one",
        (_least("accepted", 0.84, 0.84), Figure("time", 6.0, 4.0)),
        engine.poses,
    ),
    Goal(
        "P11",
        "start of the commands that need no numbers, processor time",
        _NUMPY,
        (Figure("`--help`", 1.0, 0.6), Figure("`--version`", 1.0, 0.6)),
        whole.start,
    ),
    Goal(
        "P12",
        "`flipcheck check` on the example from a cold start, 10^5 trials, processor time",
        _NUMPY,
        (Figure("bare numbers", 3.5, 2.7, why=_START), Figure("with units", 7.0, 7.0, why=_START)),
        partial(whole.cold, 10**5, by_wall=False),
    ),
    Goal(
        "P13",
        "the same, 10^6 trials, a thread a core, wall",
        _NUMPY,
        (Figure("bare numbers", 8.0, 6.0, why=_START), Figure("with units", 11.0, 11.0, why=_START)),
        partial(whole.cold, 10**6, by_wall=True),
    ),
    Goal(
        "P14", "what one picture adds to such a run, processor time", _NUMPY, (Figure("", 8.0, 6.5),), whole.one_picture
    ),
    Goal(
        "P15",
        "results that differ by the number of threads or in a longer run; and by the kind of processor, mm",
        "one thread; this processor",
        (Figure("how many", 0.0, 0.0), Figure("mm", 1e-9, 1e-9)),
        whole.same,
    ),
    Goal(
        "P16",
        "error of a quantile of the histograms, 10^6 plain trials",
        "its own standard error",
        (Figure("", 0.1, 0.05),),
        engine.quantiles,
    ),
    Goal(
        "T1",
        "slope of time over trials and over pairs, in logarithms",
        "a run of a quarter of the trials, of half the pairs",
        tuple(Figure(what, 1.1, 1.0) for what in ("trials, plain", "trials, even", "pairs, plain", "pairs, even")),
        engine.growth,
    ),
    Goal(
        "T2",
        "slope of peak memory over trials, in logarithms",
        "a run of a tenth of the trials",
        (Figure("plain", 0.02, 0.005), Figure("even", 0.02, 0.005)),
        whole.memory_slope,
    ),
)
