"""The sentences of the first article."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.wording import chance_text
from flipcheck.show.lengths import length, place
from flipcheck.show.words import part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.first_article.results import Article, Coupons, Suspect

_MM_PER_M = 1000.0
_ZERO = "the work zero of both programs"


def signed(mm: float, units: str) -> str:
    """A length with its sign, to the micrometre or a ten-thousandth of an inch."""
    text = length(mm, units)
    return text if text.startswith("-") or not float(text) else f"+{text}"


def slope(rad: float) -> str:
    """A slope in mm/m with its sign."""
    return _with_sign(_MM_PER_M * rad)


def scale(ratio: float) -> str:
    """A relative size in per cent with its sign."""
    return _with_sign(100.0 * ratio)


def _with_sign(value: float) -> str:
    text = f"{value:+.3f}"
    return text if float(text) else text[1:]


def verdict(article: Article) -> str:
    """What matters, in a line."""
    if article.advice is None:
        return "Nothing to correct by: no reading has a direction."
    if article.advice.name == "none":
        real = article.pattern is not None and article.pattern.real
        why = (
            "it is real, but correcting it would win nothing"
            if real
            else "what was measured cannot be told from scatter"
        )
        return f"Leave it as it is: {why}."
    if _unexplained(article):
        return "Look for a gross error first: the job does not explain what was measured."
    return f"Correct once; then {chance_text(article.chance)} of the parts to come line up."


def instruction(article: Article) -> str:
    """What to do, in one sentence; empty where there is nothing to do."""
    advice, units = article.advice, article.units
    if advice is None or advice.name == "none":
        return ""
    text = "If there is none: move" if _unexplained(article) else "Move"
    text += f" the program of face B by X {signed(advice.x, units)}, Y {signed(advice.y, units)} {units}"
    if advice.turn:
        x, y = (place(value, units) for value in advice.about)
        text += f", turn it by {slope(advice.turn)} mm/m about ({x}, {y}) on the machine"
    if advice.shear:
        text += f", let X grow by {slope(advice.shear)} mm/m of Y"
    return f"{text}."


def evidence(article: Article) -> str:
    """What was read, and what the readings and the job make of each other."""
    count = article.parts
    head = f'{part(article)}, by "{article.method}" ({article.kind}).'
    read = f"{_number(article.readings, 'reading')}, {_number(count, 'part')} with a direction."
    return f"{head} {read} {_cause(article)}".rstrip()


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _unexplained(article: Article) -> bool:
    return any(cause.source == "unexplained" for cause in article.causes)


def _cause(article: Article) -> str:
    """The likeliest cause in a sentence."""
    pattern = article.pattern
    if pattern is None:
        return ""
    if not pattern.real:
        return ""
    if _unexplained(article):
        odds = "less than 1 in 1000" if pattern.unexplained < 0.001 else f"{100.0 * pattern.unexplained:.1f} %"
        return (
            f"If the spreads of the job are right, so much comes by chance in {odds}: a gross error, or an error that"
            " the job leaves out or gives too small."
        )
    if not article.causes:
        return ""
    first, *others = article.causes
    text = f"The likeliest cause is {first.source} ({100.0 * first.largest:.0f} %)"
    second = next((other for other in others if other.largest >= 0.05), None)
    return f"{text}{f', then {second.source} ({100.0 * second.largest:.0f} %)' if second else ''}."


def suspected(suspect: Suspect, units: str) -> str:
    """A gross error, with the two numbers that are so near to each other."""
    if suspect.seen is None:
        return f"- {suspect.what}"
    if suspect.kind == "scale":
        return f"- {suspect.what} (scale {scale(suspect.seen)} %)"
    return f"- {suspect.what}: {length(suspect.seen, units)} and {length(suspect.same_as, units)} {units}"


def instead(article: Article) -> Iterator[str]:
    """Other ways to the same correction."""
    units, advice = article.units, article.advice
    if advice is None or advice.name == "none":
        return
    shared, shim, square = article.shared, article.shim, article.squareness
    if shared:
        turn = f", turn {slope(shared.turn)} mm/m about the same point of the machine" if shared.turn else ""
        text = f"Or half, at {_ZERO}: X {signed(shared.x, units)}, Y {signed(shared.y, units)} {units}{turn}"
        if max(abs(shared.rest_x), abs(shared.rest_y)) > 0.0005:
            rest = f"X {signed(shared.rest_x, units)}, Y {signed(shared.rest_y, units)} {units}"
            text += f"; and besides, face B alone: {rest} (what both programs share cancels along the flip line)"
        yield f"{text}."
    elif advice.name != "shift, turn and shear":
        yield "There is no half of it: what locates the blank for face B is cut with face A and moves with it."
    if shim:
        yield (
            f"Or turn the {shim.fence} fence: a shim of {length(shim.thickness, units)} {units} between fence and blank"
            f" at the contact at {place(shim.at, units)} {units} (contacts {place(shim.over, units)} {units} apart), in"
            f" both setups; the program of face B then moves by X {signed(shim.x, units)}, Y {signed(shim.y, units)}"
            f" {units} and does not turn."
        )
    if square:
        # x = X - g y is what the machine makes of X: to get X, command X + g y
        value, std = slope(square.value), slope(square.std).removeprefix("+")
        yield (
            f"The machine is out of square by {value} +- {std} mm/m (positive: Y leans towards -X). Square it (of a"
            f" gantry with two drives, move one side by {value.strip('+-')} mm for each metre between its rails), or"
            f" let X of both programs grow by {value} mm/m of Y; cut coupons again, then shift and turn:"
            f" {chance_text(square.chance)} line up. A turn alone does not mend it."
        )


def of_sizes(article: Article) -> Iterator[str]:
    """What readings without a direction say, and what is no matter of the turn."""
    units = article.units
    for size in article.sizes:
        where = f'"{size.feature}"' if size.feature else f"({place(size.at[0], units)}, {place(size.at[1], units)})"
        text = f"By the pin that passes, the halves at {where} are {length(size.size, units)} {units} apart"
        if size.expected is not None:
            text += f"; the readings with a direction say {length(size.expected, units)}"
        yield f"{text}."
    if article.sizes and article.advice is None:
        yield (
            "A pin tells how far, not which way. Feel with a finger or read steps at one place at least, and give dx"
            " and dy."
        )
    if article.grown:
        pairs = (("X", article.grown.along_x), ("Y", article.grown.along_y))
        grown = ", ".join(f"{axis} {signed(value, units)}" for axis, value in pairs if value is not None)
        yield f"Face B cut larger than face A by {grown} {units} a side: a matter of the bit, not of the turn."
    if article.diagonal:
        one = article.diagonal
        yield (
            f"By {_number(one.rectangles, 'rectangle')} the machine is out of square by {slope(one.value)} +-"
            f" {slope(one.u).removeprefix('+')} mm/m (positive: Y leans towards -X)."
        )


def coupons(article: Article) -> Iterator[str]:
    """What more coupons are worth."""
    worth = article.coupons
    if worth is None:
        return
    yield (
        "Worth of the mean of n parts, scatter of the parts to come in times that of one part:"
        f" {_growth(worth)}. With the mean known exactly {chance_text(worth.at_most)} would line up."
    )
    if worth.needed:
        yield f"A mismatch as large as this would be told from scatter after about {_number(worth.needed, 'part')}."


def _growth(worth: Coupons) -> str:
    here = {n: f"{n}: {growth:.2f}" for n, growth in worth.growth.items()}
    here[worth.parts] += " (now)"
    return ", ".join(here.values())
