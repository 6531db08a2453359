"""Goals of whole programs: their time, their memory, their start, and the sameness of what they say."""

from __future__ import annotations

import re
import tempfile
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from pathlib import Path

import numpy as np

from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.simulate import simulate as simulate_evenly
from tests.bench.goal import Effort
from tests.bench.problems import r1
from tests.bench.timing import ONE_THREAD, ROOT, Cost, best_cost, others, program, said

Measured = tuple[tuple[float, ...], str]

#: Two programs at once get through so much more than one where there are two free cores.
_FREE = 1.9
_ENGINES = ("plain", "even")
EXAMPLE = ROOT / "flipcheck" / "examples" / "carrier.toml"
#: Sees to it that a picture can be drawn of the built-in example, and draws it where there is a file to draw into.
ONE_PICTURE = """
import sys
from flipcheck import built_in, check
job = built_in()
result = check(job, trials=100_000)
if len(sys.argv) > 1:
    from flipcheck.show.figures import save, stack_figure
    save(lambda ax: stack_figure(result.methods[0].pairs[0], result.units, ax), sys.argv[1], force=True)
"""


def run(name: str, trials: int, threads: int = 1) -> Cost:
    """One of the programs of `programs`."""
    return program("-m", "tests.bench.programs", name, str(trials), str(threads))


def cli(*words: str) -> Cost:
    """A command of flipcheck, from a cold start; a goal that is not met is no failure."""
    return program("-m", "flipcheck", *words, codes=(0, 1), environment={})


def only_numpy() -> Cost:
    """What importing numpy takes."""
    return program("-c", "import numpy", environment={})


def two_threads(effort: Effort) -> Measured:
    """P2: wall time of a whole program with one thread against two; beside it what the machine has for two programs."""
    ratios, free = [], []
    for trials, rounds in ((effort.trials, effort.rounds), (10 * effort.trials, max(effort.rounds // 4, 1))):
        programs = {str(threads): partial(run, "plain", trials, threads) for threads in (1, 2)}
        took = best_cost({**programs, "at once": partial(_at_once, programs["1"])}, rounds)
        ratios.append(took["1"].wall / took["2"].wall)
        free.append(2.0 * took["1"].wall / took["at once"].wall)
    told = f"two one-thread programs at once get through {free[0]:.2f} and {free[1]:.2f} times as much as one"
    enough = "" if min(free) > _FREE else ": there were no two free cores, so this says nothing yet"
    return tuple(ratios), told + enough


def _at_once(program: Callable[[], Cost]) -> Cost:
    """Two of a program at the same time."""
    start = time.perf_counter()
    with ThreadPoolExecutor(2) as pool:
        costs = [future.result() for future in [pool.submit(program) for _ in range(2)]]
    return Cost(time.perf_counter() - start, costs[0].cpu, costs[0].peak)


@cache
def _peaks(effort: Effort) -> dict[str, float]:
    programs = {"numpy": partial(run, "only_numpy", 1)}
    for name in _ENGINES:
        for times in (0.1, 1.0, 10.0):
            programs[f"{name} {times:g}"] = partial(run, name, int(times * effort.trials), 2)
    return {name: cost.peak for name, cost in best_cost(programs, 1).items()}


def memory(effort: Effort) -> Measured:
    """P3: peak memory against that of numpy alone, and its growth with a hundred times the trials."""
    peaks = _peaks(effort)
    figures = [(peaks[f"{name} 10"] / peaks["numpy"], peaks[f"{name} 10"] / peaks[f"{name} 0.1"]) for name in _ENGINES]
    return tuple(
        figure for pair in figures for figure in pair
    ), f"plain with two threads; {max(peaks.values()):.0f} MiB at most"


def memory_slope(effort: Effort) -> Measured:
    """T2: the slope of the peak memory over the trials, both in logarithms."""
    peaks, times = _peaks(effort), (0.1, 1.0, 10.0)
    logs = [np.log([peaks[f"{name} {t:g}"] for t in times]) for name in _ENGINES]
    return tuple(float(np.polyfit(np.log(times), row, 1)[0]) for row in logs), "0 is flat"


def against_library(effort: Effort) -> Measured:
    """P4: processor time of whole programs against a general-purpose library."""
    took = best_cost({name: partial(run, name, effort.trials) for name in ("chaospy", "plain")}, _few(effort))
    import chaospy

    return (took["chaospy"].cpu / took["plain"].cpu,), f"chaospy {chaospy.__version__}"


def against_all_at_once(effort: Effort) -> Measured:
    """P5: processor time and memory of whole programs against numpy without blocks."""
    took = best_cost({name: partial(run, name, effort.trials) for name in ("all_at_once", "plain")}, _few(effort))
    at_once, blocks = took["all_at_once"], took["plain"]
    return (at_once.cpu / blocks.cpu, at_once.peak / blocks.peak), f"{at_once.peak:.0f} MiB at once"


def _few(effort: Effort) -> int:
    return max(effort.rounds // 3, 1)


def start(effort: Effort) -> Measured:
    """P11: what needs no numbers starts without numpy."""
    return _against_numpy({"--help": partial(cli, "--help"), "--version": partial(cli, "--version")}, effort.rounds)


def _against_numpy(programs: Mapping[str, Callable[[], Cost]], rounds: int, *, by_wall: bool = False) -> Measured:
    """The time of programs against that of importing numpy: of the processor or by the wall; the remark tells both."""
    with others() as share:
        took = best_cost({"numpy": only_numpy, **programs}, rounds)
    numpy = took.pop("numpy")
    cpu, wall = ([getattr(c, kind) / getattr(numpy, kind) for c in took.values()] for kind in ("cpu", "wall"))
    told = [f"{kind} {'; '.join(f'{r:.2f}' for r in ratios)}" for kind, ratios in (("processor", cpu), ("wall", wall))]
    return tuple(wall if by_wall else cpu), f"{', '.join(told)}, while others used {share():.1f} cores"


def cold(trials: int, effort: Effort, *, by_wall: bool) -> Measured:
    """P12 and P13: `flipcheck check` from a cold start, of the example with bare numbers and as it is."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "bare.toml"
        job.write_text(bare(EXAMPLE.read_text(encoding="utf-8")), encoding="utf-8")
        length = ("--trials", str(min(trials, effort.trials)))
        programs = {
            name: partial(cli, "check", str(file), *length) for name, file in (("bare", job), ("units", EXAMPLE))
        }
        return _against_numpy(programs, effort.rounds, by_wall=by_wall)


def bare(text: str) -> str:
    """A job file with every slope as a plain number of rad."""
    return re.sub(r'"([\d.]+) mm/m"', lambda found: repr(float(found[1]) / 1000.0), text)


def one_picture(effort: Effort) -> Measured:
    """P14: what one picture adds to a run."""
    with tempfile.TemporaryDirectory() as folder:
        programs = {
            "numpy": only_numpy,
            "text": partial(program, "-c", ONE_PICTURE, environment={}),
            "picture": partial(program, "-c", ONE_PICTURE, str(Path(folder) / "stack.svg"), environment={}),
        }
        with others() as share:
            took = best_cost(programs, effort.rounds)
    numpy, text, picture = took.values()
    wall = (picture.wall - text.wall) / numpy.wall
    told = f"the tolerance stack of a pair, as SVG; wall {wall:.2f}, while others used {share():.1f} cores"
    return ((picture.cpu - text.cpu) / numpy.cpu,), told


@cache
def same(effort: Effort) -> Measured:
    """P15: results that differ between 1 and 2, 3, 4 threads, or from a longer run; and over kinds of processor, mm."""
    trials = min(effort.trials, 20 * BLOCK) // 2 + 1000
    told = [_told(threads, trials) for threads in (1, 2, 3, 4)]
    differ = sum(other != told[0] for other in told[1:])
    shorter = abs(_good_in_longer(trials) - simulate([r1()], trials, 1).tallies[0].good)
    off = 0.0
    for other in ({"OPENBLAS_CORETYPE": "Haswell"}, _without_wide_registers()):
        off = max(off, *np.abs(np.array(_elsewhere(trials, other)) - _elsewhere(trials, {})))
    return (float(differ + shorter), off), "plain and evenly spread; AVX-512 and AVX2 off, other BLAS kernels"


def _told(threads: int, trials: int) -> list[float]:
    found = []
    for run_of in (simulate, simulate_evenly):
        (estimate,) = run_of([r1()], trials, 1, threads=threads).estimates
        found += [estimate.chance.estimate, estimate.quantile(0, 0.95), *estimate.value(0), *estimate.output(3)]
    return found


def _good_in_longer(trials: int) -> int:
    """Good ones among the first trials of a run without an end: the model's blocks, judged here."""
    model, plan, good = r1(), Plan(r1()), 0
    for block in range(-(-trials // BLOCK)):
        outputs, _, _ = sample(plan, Draws(1, block))
        passes = np.all([np.hypot(outputs[m.x], outputs[m.y]) <= m.limit for m in model.measures], axis=0)
        good += int(np.count_nonzero(passes[: trials - block * BLOCK]))
    return good


def _elsewhere(trials: int, environment: dict[str, str]) -> list[float]:
    """The same results by a process of another kind."""
    code = f"from tests.bench.whole import _told; print(*map(repr, _told(1, {trials})))"
    return [float(number) for number in said("-c", code, environment={**ONE_THREAD, **environment}).split()]


def _without_wide_registers() -> dict[str, str]:
    """An environment in which numpy uses no more than the least it was built for."""
    from numpy._core._multiarray_umath import __cpu_baseline__, __cpu_dispatch__, __cpu_features__

    dispatched = [name for name in __cpu_dispatch__ if __cpu_features__.get(name) and name not in __cpu_baseline__]
    return {"NPY_DISABLE_CPU_FEATURES": " ".join(dispatched)} if dispatched else {}
