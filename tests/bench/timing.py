"""Times and memory of calls and of whole programs, taken in turn so that a busy machine disturbs all of them alike."""

from __future__ import annotations

import contextlib
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent

#: What every program here runs with: the matrices are tiny, and a second thread for them would only wait.
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Cost:
    """What a program took: wall time and processor time, s, and its largest memory, MiB (0 where it does not say)."""

    wall: float
    cpu: float
    peak: float


def cpu(call: Callable[[], object]) -> float:
    """Processor time of a call, s: what others do on the machine at the same time counts little."""
    start = time.process_time()
    call()
    return time.process_time() - start


def best(calls: Mapping[str, Callable[[], float]], rounds: int) -> dict[str, float]:
    """The least of each figure over so many rounds, in each of which every call is made once, in turn."""
    least = dict.fromkeys(calls, float("inf"))
    for _ in range(rounds):
        for name, call in calls.items():
            least[name] = min(least[name], call())
    return least


def best_cost(programs: Mapping[str, Callable[[], Cost]], rounds: int) -> dict[str, Cost]:
    """The same of whole programs: the least of each part of their cost."""
    runs: dict[str, list[Cost]] = {name: [] for name in programs}
    for _ in range(rounds):
        for name, program in programs.items():
            runs[name].append(program())
    return {
        name: Cost(min(c.wall for c in costs), min(c.cpu for c in costs), min(c.peak for c in costs))
        for name, costs in runs.items()
    }


def program(*words: str, codes: tuple[int, ...] = (0,), environment: Mapping[str, str] = ONE_THREAD) -> Cost:
    """Run Python with some arguments as a program of its own; what it prints last, if a number, is its peak memory.

    The peak is the program's own word (`programs.peak`): what the system tells of an ended one also counts its parent.
    """
    before, start = _children(), time.perf_counter()
    told = said(*words, codes=codes, environment=environment)
    wall = time.perf_counter() - start
    last = told.split()[-1:] or [""]
    peak = float(last[0]) if last[0].replace(".", "", 1).isdigit() else 0.0
    return Cost(wall, _children() - before, peak)


def said(*words: str, environment: Mapping[str, str], codes: tuple[int, ...] = (0,)) -> str:
    """What Python prints, run with some arguments; it may end with any of the codes."""
    # compiled files are kept, as they are for a user: the first of several rounds makes them
    mine = {name: value for name, value in os.environ.items() if name not in ONE_THREAD}
    around = {**mine, "PYTHONDONTWRITEBYTECODE": "", **environment}
    run = subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False, cwd=ROOT, env=around)
    if run.returncode not in codes:
        raise RuntimeError(f"{' '.join(words)} ended with {run.returncode}: {run.stderr}")
    return run.stdout


@contextlib.contextmanager
def others() -> Iterator[Callable[[], float]]:
    """How many cores others used, on average, while this ran; asked at the end. NaN where the system does not tell."""
    start, busy, own = time.perf_counter(), _busy(), _children()
    yield lambda: max(_busy() - busy - _children() + own, 0.0) / (time.perf_counter() - start)


def _busy() -> float:
    """Processor time that anybody has used since the machine started, s."""
    told = Path("/proc/stat")
    if not told.exists():
        return float("nan")
    user, nice, system, _, _, *interrupts = (int(word) for word in told.read_text().splitlines()[0].split()[1:9])
    return (user + nice + system + sum(interrupts)) / os.sysconf("SC_CLK_TCK")


def _children() -> float:
    """Processor time of all programs that have ended, s."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
