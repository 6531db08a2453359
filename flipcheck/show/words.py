"""Judgements in words: the sentences of a verdict, how many parts miss, what the marks and columns mean."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.decide.wording import (
    RARE,
    chance_text,
    decimals,
    goal_text,
    has_play,
    percent,
    rare,
    seat,
    share_text,
)
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.show.lengths import length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.decide.first_article.results import Article
    from flipcheck.decide.limits.limits import Limits
    from flipcheck.decide.results import MethodResult, PairResult, Recommendation, Result
    from flipcheck.decide.sweep.results import Sweep
    from flipcheck.stack.intervals import Chance

LEGEND = (
    "Chance: share within the limit, of the blanks that can be set up, with the 95 % interval of the simulation."
    " Worst case: every error at its bound at once, a normal one at three standard deviations unless it is given by a"
    " limit; RSS: root of the sum of their squares."
)

#: Columns off a terminal, and the least on one.
WIDTH = 80

TURNED = {
    "left-right": "turned over left to right",
    "front-back": "turned over front to back",
    "diagonal": "turned over on its diagonal",
}
MEASURED = {"hole": "hole, radial", "slot": "slot, across", "outline": "outline, step", "web": "web, thickness"}
THE_TURN = {
    AfterFlip.CANCELS: "cancels",
    AfterFlip.ONCE: "counts once",
    AfterFlip.DOUBLES: "doubles",
    AfterFlip.INDEPENDENT: "new each face",
}

#: What the blank may undergo between the faces.
_CHANGES = ("moisture", "temperature")
_SCALES = (100, 1000, 10_000)


def whole(number: int) -> str:
    """A whole number in groups of three digits."""
    return str(number) if number < 10_000 else f"{number:,}"


def interval_text(chance: Chance, to: str = " to ") -> str:
    """The interval of a chance in per cent; empty where the estimate is given as a bound, or not at all."""
    if math.isnan(chance.estimate) or rare(chance):
        return ""
    places = decimals(chance)
    return f"{percent(chance.low, places)}{to}{percent(chance.high, places)}"


def too_near(chance: Chance, goal: float) -> bool:
    """Whether the trials leave open on which side of the goal a chance lies."""
    return chance.low < goal <= chance.high


def fit_decides(method: MethodResult) -> bool:
    """Whether most of the parts that miss do so because the blank does not go onto its pins, or into its nest."""
    return 1.0 - method.goes_on > 0.5 * (1.0 - method.chance.estimate)


def verdict(method: MethodResult, goal: float) -> str:
    """What will happen, in one sentence: how many parts miss and what decides it."""
    sentence = how_many(method.chance, goal)
    if method.goes_on == 0.0:
        return f"No part will line up: not one blank goes {seat(method.kind)}."
    if fit_decides(method):
        sentence += f", most of them because the blank does not go {seat(method.kind, 'its')}"
    elif method.chance.estimate < 1.0:
        sentence += f'; "{method.deciding_pair.name}" decides'
    return f"{sentence[0].upper()}{sentence[1:]}."


def how_many(chance: Chance, goal: float) -> str:
    """How many parts in a hundred, a thousand or ten thousand will miss, or line up where few do."""
    miss = 1.0 - chance.estimate
    if chance.low > 1.0 - RARE:
        return "fewer than 1 in 10,000 parts will miss"
    if chance.high < RARE:
        return "fewer than 1 in 10,000 parts will line up"
    seldom = 0.5 / _SCALES[-1]
    if miss < seldom:
        return f"at most {_at_most(1.0 - chance.low)} parts will miss"
    if chance.estimate < seldom:
        return f"at most {_at_most(chance.high)} parts will line up"
    half = 0.5 * (chance.high - chance.low)
    if chance.estimate < 0.1:
        return f"only {_count(chance.estimate, half, goal)} parts will line up"
    return f"{_count(miss, half, 1.0 - goal)} parts will miss"


def _count(share: float, half: float, goal: float) -> str:
    """A share as so many in so many: the smallest scale that tells it from the goal, if the trials support it."""
    scale = _SCALES[0]
    for finer in _SCALES[1:]:
        if round(share * scale) >= 2 and round(share * scale) != round(goal * scale):
            break
        if half * finer > 3.0:
            return f"about {max(1, round(share * scale))} in {whole(scale)}"
        scale = finer
    return f"{max(1, round(share * scale))} in {whole(scale)}"


def _at_most(share: float) -> str:
    """An upper bound of a share as so many in so many, rounded up."""
    scale = next((scale for scale in _SCALES if share * scale >= 1.0), _SCALES[-1])
    return f"{math.ceil(share * scale)} in {whole(scale)}"


def listed(things: Sequence[str]) -> str:
    """Things one after the other: "a", "a and b", "a, b and c"."""
    *most, last = things
    return f"{', '.join(most)} and {last}" if most else last


def exact_text(chance: Chance, exact: float | None) -> str:
    """An exact chance beside one found by trials; nothing where that is as good as certain."""
    if exact is None or rare(chance):
        return ""
    return f"exact {percent(exact, 3)}"


def without_trials(exact: float) -> str:
    """The exact chance of a method."""
    return f"Exactly, without any trials: {percent(exact, 4)} %."


def legend(pairs: Sequence[PairResult]) -> str:
    """What the columns of the table of pairs mean."""
    exact = any(exact_text(pair.chance, pair.exact) for pair in pairs)
    return f"{LEGEND} Exact: in per cent, without any trials." if exact else LEGEND


def trials(result: Result) -> str:
    """How many trials were run, whether that was enough for the digits printed, and the seed."""
    text = f"{whole(result.trials)} trials, seed {result.seed}."
    if result.settled is None:
        return text
    if result.settled:
        return f"{text} Enough for the numbers to stand still in the digits printed."
    return f"{text} The most that are run unasked: the last digits may still move (--trials)."


def left_out(errors: Sequence[str], between: Sequence[str] = _CHANGES) -> str:
    """What the job does not give: errors, and changes of the blank between the faces where those given are told."""
    still = [name for name in _CHANGES if name not in between]
    named = [*errors, f"{' and '.join(still)} between the faces"] if still else errors
    return f"Left out, counted as zero: {', '.join(named) or 'nothing'}."


def far_from_normal(pair: PairResult) -> str:
    """A warning that the scatter of a pair is no bell curve, with what one of the same mean and size would give."""
    assert pair.normal_chance is not None
    places = max(1, decimals(pair.chance))
    normal = f"{percent(pair.normal_chance, places)} %"
    return (
        f'"{pair.name}" scatters unlike a normal distribution: one of the same mean and size would give {normal}, not'
        f" {chance_text(pair.chance)}. Trust the count, and no rule that assumes a bell curve."
    )


def choice(result: Result, advice: Recommendation) -> str:
    """What to do, in a sentence."""
    if advice.meets_goal:
        return f'Take "{advice.method}".'
    if len(result.methods) == 1:
        return f'"{advice.method}" does not reach the goal.'
    return f'None of the {len(result.methods)} methods reaches the goal; "{advice.method}" comes nearest.'


def against_goal(method: MethodResult, goal: float) -> str:
    """Whether the goal is met, how sure the simulation is of that, and what stands most in its way."""
    chance = method.chance
    answer = "Goal met" if chance.estimate >= goal else "Goal not met"
    lines = [f"{answer}: {chance_text(chance)} of the parts line up, {goal_text(goal)} are wanted."]
    if too_near(chance, goal):
        lines[0] += " Too near to be sure: run more trials (--trials)."
    if interval := interval_text(chance):
        lines.append(f"95 % interval of the simulation: {interval} %.")
    source = method.deciding_pair.hurts_most
    if source and chance.estimate < 1.0 and not fit_decides(method):
        lines.append(f"What hurts most there: {source.source}, {share_text(source.measured_share)} of the scatter.")
    return "\n".join(lines)


def part(answer: Result | Limits | Sweep | Article) -> str:
    """Which part, and how it is turned."""
    return f"{answer.title or 'Part without a title'}, {TURNED.get(answer.flip, answer.flip)}"


def setting(result: Result, method: MethodResult) -> str:
    """Which part, by which method, and how many blanks go on or in."""
    text = f'{part(result)}, by "{method.name}" ({method.kind}).'
    if has_play(method.kind) or method.goes_on < 1.0:
        text += f"\nShare of blanks that go {seat(method.kind)}: {_going_on(method)}."
    return text


def kind(method: MethodResult) -> str:
    """The kind of a method, and how many blanks go on or in."""
    with_play = has_play(method.kind) or method.goes_on < 1.0
    return f"{method.kind}, {_going_on(method)} fit" if with_play else method.kind


def _going_on(method: MethodResult) -> str:
    return "all" if method.goes_on == 1.0 else f"{percent(method.goes_on, decimals(method.chance))} %"


def met(chance: Chance, goal: float) -> str:
    """Whether a chance reaches the goal; with a question mark where the trials leave it open."""
    return ("yes" if chance.estimate >= goal else "no") + ("?" if too_near(chance, goal) else "")


def decided_by(method: MethodResult) -> str:
    """What decides a method's chance, and what hurts most there."""
    if fit_decides(method):
        return f"going {seat(method.kind)}"
    pair = method.deciding_pair
    source = pair.hurts_most
    return f"{pair.name}\n{share_text(source.measured_share)} {source.source}" if source else pair.name


def marks(result: Result, advice: Recommendation) -> str:
    """What the marks in the table of methods mean; only of those that stand in it."""
    used = ["* recommended" if advice.meets_goal else "* nearest to the goal"]
    if advice.ties:
        used.append("= a tie with it: these trials cannot tell the two chances apart")
    if any(too_near(method.chance, result.goal) for method in result.methods):
        used.append("? too near the goal to be sure")
    seats = dict.fromkeys(seat(method.kind) for method in result.methods if has_play(method.kind))
    if seats:
        used.append(f"fit: the blanks that go {' or '.join(seats)}")
    return f"{'; '.join(used)}. The per cent beside a source is its share of the scatter there."


def where_it_lies(pair: PairResult, units: str) -> str:
    """Where the middle of the scatter is and how wide it is, before the stack takes it apart."""
    if pair.web is not None:
        where = f"Thickness, {units}: mean {length(pair.web.mean, units)}; sd {length(pair.web.std, units)}"
    elif pair.x is not None and pair.y is not None:
        means = f"mean x {length(pair.x.mean, units)}, y {length(pair.y.mean, units)}"
        where = f"Face B off face A, {units}: {means}; sd x {length(pair.x.std, units)}, y {length(pair.y.std, units)}"
    else:
        return ""
    return f"{where} (sd: standard deviation)."


def stack_legend(pair: PairResult) -> str:
    """What the last columns of a pair's stack are."""
    scatter = "the thickness" if pair.web is not None else "x and y together"
    way = ", across the slot" if pair.kind == "slot" else ""
    return f"Share: of the variance of {scatter}. Worst alone: the farthest it can move the pair by itself{way}."
