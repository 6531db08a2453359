"""Whole programs that are timed: `python -m tests.bench.programs NAME TRIALS THREADS`.

Each prints its peak memory, MiB.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np


def peak() -> float:
    """The most memory that this process has held so far, MiB."""
    status = Path("/proc/self/status")
    if status.exists():
        (line,) = (line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024.0
    import resource

    size = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return size / (2**20 if sys.platform == "darwin" else 1024.0)


def only_numpy(trials: int, threads: int) -> None:
    """Nothing but what importing numpy takes."""


def plain(trials: int, threads: int) -> None:
    """R1 by ordinary Monte Carlo, with all that flipcheck says of it."""
    from flipcheck.stack.monte_carlo.simulate import simulate
    from tests.bench.problems import r1

    (estimate,) = simulate([r1()], trials, 1, threads=threads).estimates
    _outputs(estimate)


def even(trials: int, threads: int) -> None:
    """The same on evenly spread points, on one thread as always."""
    from flipcheck.stack.quasi_monte_carlo.simulate import simulate
    from tests.bench.problems import r1

    (estimate,) = simulate([r1()], trials, 1).estimates
    _outputs(estimate)


def _outputs(estimate: object) -> None:
    from tests.bench.problems import HOLES

    estimate.chance, estimate.goes_on  # noqa: B018
    for q in range(len(HOLES)):
        estimate.passed(q), estimate.value(q)
        for share in (0.5, 0.95, 0.99):
            estimate.quantile(q, share)


def all_at_once(trials: int, threads: int) -> None:
    """R1 as it is first written down: all trials at once, one array a step, numpy's own generator and quantiles."""
    from tests.bench.problems import R1_ALLOWED, radii_of

    rng = np.random.default_rng(1)
    _told(radii_of(rng.standard_normal((52, trials)), rng.random((12, trials))), R1_ALLOWED)


def chaospy(trials: int, threads: int) -> None:
    """R1 with the samples of chaospy, a general-purpose library; it leaves the model and the outputs to numpy."""
    import chaospy as cp

    from tests.bench.problems import R1_ALLOWED, radii_of

    numbers = cp.J(*[cp.Normal(0, 1) for _ in range(52)], *[cp.Uniform(0, 1) for _ in range(12)]).sample(trials)
    _told(radii_of(numbers[:52], numbers[52:]), R1_ALLOWED)


def _told(radii: np.ndarray, allowed: float) -> None:
    """The outputs of R1 from all its distances, shape (10, trials)."""
    good = radii <= allowed
    good.mean(axis=1), good.all(axis=0).mean(), radii.mean(axis=1), radii.std(axis=1)
    np.quantile(radii, [0.5, 0.95, 0.99], axis=1)


PROGRAMS: dict[str, Callable[[int, int], None]] = {
    run.__name__: run for run in (only_numpy, plain, even, all_at_once, chaospy)
}

if __name__ == "__main__":
    name, trials, threads = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    PROGRAMS[name](trials, threads)
    print(peak())
