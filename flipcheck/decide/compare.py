"""Which method is best? All of them on the same draws, so that only their differences differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.check import methods_named, result, run_methods
from flipcheck.decide.heights import by_web, with_heights, zeroed
from flipcheck.decide.results import MethodResult, Recommendation, Result
from flipcheck.decide.wording import chance_text, goal_text, percent, seat, share_text
from flipcheck.decide.zero_z import zero_advice

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.decide.check import Trials
    from flipcheck.job.records import Job
    from flipcheck.stack.monte_carlo.simulate import Run
    from flipcheck.stack.monte_carlo.streams import RngLike
    from flipcheck.stack.quasi_monte_carlo.simulate import QuasiRun


def compare(
    job: Job,
    methods: Sequence[str] | None = None,
    *,
    trials: Trials = "auto",
    rng: RngLike = 1,
    plain: bool = False,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Result:
    """Work out a job by all its methods, or by those named, rank them and recommend one.

    Parameters and errors are those of `check`. The methods of the result stand in order of their chance, best first.
    """
    run, judged = run_methods(job, methods_named(job, methods), trials, rng, plain, threads, progress)
    order = sorted(range(len(judged)), key=lambda i: (-judged[i].chance.estimate, judged[i].minutes or 0.0, i))
    ties = {judged[i].name: {judged[j].name for j in order if j != i and tied(run, i, j)} for i in order}
    ways = zeroed(job, seed=run.seed)
    ranked = with_heights(job, [judged[i] for i in order], ways)
    advice = recommend(ranked, job.goal, ties)
    return result(job, run, ranked, trials, advice, by_web(job, ways), zero_advice(job, ways, advice.method))


def tied(run: Run | QuasiRun, first: int, second: int) -> bool:
    """Whether the trials leave open which of two methods of a run is good more often."""
    low, high = run.difference(first, second)
    return low <= 0.0 <= high


def recommend(ranked: Sequence[MethodResult], goal: float, ties: dict[str, set[str]]) -> Recommendation:
    """Choose a method.

    Of those that reach the goal the one that costs least extra work per part (a method without `minutes` costs none,
    where others give theirs); where no method gives its minutes, the one with the highest chance. When none reaches the
    goal, the best of them.
    """
    meeting = [method for method in ranked if method.chance.estimate >= goal]
    timed = any(method.minutes is not None for method in ranked)
    if not meeting:
        best, why = ranked[0], _why_short(ranked[0], goal)
    elif timed:
        best = min(meeting, key=lambda method: method.minutes or 0.0)
        why = _why_quickest(best, meeting, ranked, goal)
    else:
        best = meeting[0]
        why = f"the highest chance, {chance_text(best.chance)}, against a goal of {goal_text(goal)}"
        if len(ranked) > 1:
            why += f"; {len(meeting)} of {len(ranked)} methods reach it"
    same = tuple(method.name for method in ranked if method.name in ties.get(best.name, ()))
    if same:
        why += f". These trials cannot tell its chance from that of {_listed(same)}: a tie"
    if best.chance.low < goal <= best.chance.high:
        why += ". Its chance is so near the goal that these trials do not settle whether it is met"
    return Recommendation(best.name, bool(meeting), why + ".", same)


def _why_quickest(
    best: MethodResult, meeting: Sequence[MethodResult], ranked: Sequence[MethodResult], goal: float
) -> str:
    reached = f"{chance_text(best.chance)} against a goal of {goal_text(goal)}"
    if len(meeting) == 1:
        return (
            f"the only method that reaches the goal: {reached}"
            if len(ranked) > 1
            else f"it reaches the goal: {reached}"
        )
    work = f"{best.minutes:g} minutes" if best.minutes is not None else "none given"
    return (
        f"of the {len(meeting)} methods that reach the goal it takes the least extra work per part ({work}): {reached}"
    )


def _why_short(best: MethodResult, goal: float) -> str:
    """What keeps the best method from the goal: blanks that do not go on, or a source at the deciding pair."""
    short = f"no method reaches the goal of {goal_text(goal)}; this one comes nearest, {chance_text(best.chance)}"
    missed_on = 1.0 - best.goes_on
    if missed_on > 0.5 * (1.0 - best.chance.estimate):
        return f"{short}. What hurts most: {percent(missed_on, 1)} % of the blanks do not go {seat(best.kind, 'their')}"
    pair = best.deciding_pair
    worst = pair.hurts_most
    if worst is None:
        return short
    return (
        f'{short}. What hurts most: {worst.source}, {share_text(worst.measured_share)} of the scatter at "{pair.name}"'
    )


def _listed(names: Sequence[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
