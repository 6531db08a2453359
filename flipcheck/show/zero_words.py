"""Where to touch off Z in words: which way, against which chances, and which error each way lets drop out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.wording import decimals, goal_text, percent, rare
from flipcheck.show.lengths import length
from flipcheck.show.words import listed

if TYPE_CHECKING:
    from flipcheck.decide.heights import Effect
    from flipcheck.decide.zero_z import ZeroAdvice
    from flipcheck.job.records import ZeroZ
    from flipcheck.stack.intervals import Chance

#: Where Z is touched off by each way.
WHERE: dict[ZeroZ, str] = {
    "bed": "on the bed in both setups",
    "top": "on top of the blank in both setups",
    "top then bed": "on top of the blank for face A and on the bed for face B",
}
_COUNTS = {
    "bed_flatness": ("the bed does not enter", "the bed counts once", "the bed counts in both setups"),
    "z_touch": ("touching off drops out", "touching off counts once", "touching off counts twice"),
}


def where_to_zero(advice: ZeroAdvice, units: str) -> tuple[str, str]:
    """Which way to take and how sure that is; and why."""
    which = _which(advice)
    if not advice.meets_goal:
        which += f" Even so the webs alone miss the goal of {goal_text(advice.goal)}."
    if advice.zero_z not in advice.best:
        which += f' The job has zero_z = "{advice.zero_z}" for "{advice.method}".'
    return which, _why(advice, units)


def share(chance: Chance) -> str:
    """The chance of a web: two decimals at most, and no more than are known."""
    return rare(chance) or f"{percent(chance.estimate, min(2, decimals(chance)))} %"


def _which(advice: ZeroAdvice) -> str:
    best, chances = advice.best, advice.chances
    holds = f'"{advice.web.name}" is' if advice.count == 1 else "every web is"
    within = f"{holds} within its limits in"
    told = " or ".join(dict.fromkeys(share(chances[way]) for way in best))
    if len(best) == len(chances):
        return f"Where Z is touched off makes no difference that shows: {within} {told} of the blanks by each way."
    others = [way for way in chances if way not in best]
    against = " and ".join(f'{share(chances[way])} by "{way}"' for way in others)
    ways = ", or ".join(f'{WHERE[way]} (zero_z = "{way}")' for way in best)
    tie = ", no difference that shows" if len(best) > 1 else ""
    return f"Touch off Z {ways}: {within} {told} of the blanks{tie}, against {against}."


def _why(advice: ZeroAdvice, units: str) -> str:
    """What each way does to the web at which they differ most: only of the errors with which they differ."""
    ways = sorted(advice.web.ways, key=lambda way: way.zero_z not in advice.best)
    told = {way.zero_z: [_effect(effect, units) for effect in way.effects] for way in ways}
    differ = [len(set(phrases)) > 1 for phrases in zip(*told.values(), strict=True)]
    if not any(differ):
        return "Why: no error of the job acts on a height otherwise by one way than by another."
    grouped: dict[str, list[str]] = {}
    for way, phrases in told.items():
        kept = [phrase for phrase, differs in zip(phrases, differ, strict=True) if differs]
        grouped.setdefault(listed(kept), []).append(f'"{way}"')
    clauses = "; ".join(f"by {' or '.join(names)} {what}" for what, names in grouped.items())
    where = f', at "{advice.web.name}"' if advice.count > 1 else ""
    return f"Why{where}: {clauses}."


def _effect(effect: Effect, units: str) -> str:
    """What an error does to the thickness of the web, in words and in size."""
    if effect.source in _COUNTS:
        what = _COUNTS[effect.source][effect.draws]
    elif effect.source == "stock_thickness":
        thick = f"a thick blank {'thickens' if effect.slope > 0.0 else 'thins'} the web"
        what = thick if effect.draws else "the thickness of the blank drops out"
    else:
        what = f"growth by {effect.source} {'counts' if effect.draws else 'drops out'}"
    if not effect.draws:
        return what
    mean = f"mean {'+' if effect.mean > 0.0 else ''}{length(effect.mean, units)}, " if effect.mean else ""
    return f"{what} ({mean}sd {length(effect.std, units)} {units})"
