"""The first article as text: what to type in, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from flipcheck.decide.wording import NOTHING, chance_text, goal_text
from flipcheck.show import words
from flipcheck.show.cautions import CAUTION
from flipcheck.show.error_sizes import size_text, unit_of
from flipcheck.show.first_article.words import (
    coupons,
    evidence,
    instead,
    instruction,
    of_sizes,
    scale,
    signed,
    slope,
    suspected,
    verdict,
)
from flipcheck.show.lengths import length, place
from flipcheck.show.look import add_row, gap, headline, laid_out, table_of, title
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from rich.console import RenderableType

    from flipcheck.decide.first_article.pattern import Pattern, Term
    from flipcheck.decide.first_article.results import Article

_LEGEND = (
    "Mismatch: face B less face A, axes of the blank with face A up. Real: the 95 % interval leaves zero out. sd:"
    " standard deviation from part to part."
)
_CAUSES = (
    "Largest: the chance that it makes the largest part of what was measured, by the job's spreads and the readings."
    " Makes: root mean square at the places measured."
)
_LOCATORS = "locator_places: where the machine made pins, fence or stops (positioning, lost_motion)."
_TWICE = (
    "Correct once, from the mean of several parts. A correction after every part doubles the variance of what follows,"
    " because it takes out the last part's scatter and puts it into the next. After a correction measure again."
)


def article_to_text(article: Article, *, width: int = WIDTH, colour: bool = False) -> str:
    """The first article as text; `width` and `colour` as for `look.laid_out`."""
    return laid_out(article_text(article), width=width, colour=colour)


def article_text(article: Article) -> Group:
    """First what to do, then the pattern, the cause, the corrections, and what more coupons are worth."""
    parts: list[RenderableType] = [headline(verdict(article), article.chance, article.goal)]
    if told := instruction(article):
        parts.append(Text(told))
    parts += gap(Text(_what_follows(article)), Text(evidence(article)))
    if article.pattern:
        parts += gap(title("What was measured"), *_pattern(article, article.pattern))
    if article.suspects:
        parts += gap(title("It looks like"), *(Text(suspected(one, article.units)) for one in article.suspects))
    if article.causes:
        parts += gap(title("What lasts, after the readings"), *_causes(article))
    if article.corrections:
        parts += gap(title("Corrections"), *_corrections(article))
    others = [*of_sizes(article), *coupons(article)]
    if others:
        parts += gap(*(Text(line) for line in others))
    trials = f"{words.whole(article.trials)} trials of each, seed {article.seed}."
    return Group(*parts, *gap(Text(_TWICE)), *gap(Text(words.left_out(article.left_out)), Text(trials), Text(CAUTION)))


def _what_follows(article: Article) -> str:
    """The chance with what is advised, beside the goal and the chance as things stand."""
    met = "Goal met" if article.meets_goal else "Goal not met"
    text = f"{met}: {chance_text(article.chance)} of the parts to come line up, {goal_text(article.goal)} are wanted."
    if words.too_near(article.chance, article.goal):
        text += " Too near to be sure: run more trials (--trials)."
    if article.as_read and article.advice and article.advice.name != "none":
        text += f" Uncorrected: {chance_text(article.as_read)}."
    return f"{text} Before anything was cut the job gave {chance_text(article.by_job)}."


def _pattern(article: Article, pattern: Pattern) -> list[RenderableType]:
    table = table_of("", "mismatch", "95 % from", "to", "real", "sd seen", "sd expected")
    for term in pattern.terms:
        unit = _unit(term, article.units)
        cells = [
            f"{term.name}, {unit}",
            *(_amount(term, value, article.units) for value in (term.value, term.low, term.high)),
        ]
        seen = NOTHING if term.scatter is None else _bare(term, term.scatter, article.units)
        add_row(table, *cells, "yes" if term.real else "no", seen, _bare(term, term.expected_scatter, article.units))
    return [table, Text(_about(article, pattern)), Text(_LEGEND)]


def _about(article: Article, pattern: Pattern) -> str:
    """Where the terms are counted from, and how sure they are."""
    units = article.units
    x, y = (place(value, units) for value in pattern.about)
    lines = [f"About ({x}, {y}) {units} on the blank, the middle of the places."]
    lines.append(
        "Intervals from the repeats (Student's t)."
        if pattern.interval_from == "repeats"
        else "Too few repeats: intervals from the scatter that the job expects."
    )
    lines += [
        f"These places do not tell {name} from {' and '.join(others)}."
        for name, others in pattern.confused.items()
        if others
    ]
    if unseen := [name for name, others in pattern.confused.items() if not others]:
        lines.append(f"Nothing shows {' or '.join(unseen)} here.")
    if pattern.misfit is not None:
        lines.append(f"What none of them fits: {length(pattern.misfit, units)} {units} (rms).")
    if pattern.noise:
        lines.append(
            "That is more than the job and u expect; it is taken for the uncertainty of the readings,"
            f" {length(pattern.noise, units)} {units} each."
        )
    if pattern.scattered:
        lines.append(
            f"In {' and '.join(pattern.scattered)} the parts scatter more than the job expects. It is counted as real:"
            " put what is missing into the job."
        )
    if pattern.calm:
        lines.append(
            f"In {' and '.join(pattern.calm)} the parts scatter less than the job expects; what lines up is told for"
            " the scatter of the job, so it is likely more."
        )
    return " ".join(lines)


def _causes(article: Article) -> list[RenderableType]:
    table = table_of("cause", "largest", f"makes,\n{article.units}", "now", "+- sd", "sd in job", "unit")
    alike = []
    for cause in article.causes:
        unit = unit_of(cause.source, article.units)
        sizes = (_size(value, unit) for value in (cause.value, cause.std, cause.before))
        add_row(
            table,
            cause.source,
            f"{100.0 * cause.largest:.0f} %",
            length(cause.size, article.units),
            *sizes,
            unit if cause.value is not None else "",
        )
        if cause.alike and cause.source < min(cause.alike):
            alike.append(f"{', '.join([cause.source, *cause.alike])} look the same here: no reading tells them apart.")
    parts: list[RenderableType] = [table, *(Text(line) for line in alike), Text(_CAUSES)]
    if any(cause.source == "locator_places" for cause in article.causes):
        parts.append(Text(_LOCATORS))
    return parts


def _size(value: float | None, unit: str) -> str:
    if value is None:
        return NOTHING
    text = size_text(value, unit)
    return text if float(text) else text.removeprefix("-")


def _corrections(article: Article) -> list[RenderableType]:
    units = article.units
    table = table_of("program of face B", f"X, {units}", f"Y, {units}", "turn, mm/m", "shear, mm/m", "lines up")
    advised = article.advice.name if article.advice else ""
    if article.as_read:
        add_row(table, "as it is" + (" *" if advised == "none" else ""), *[NOTHING] * 4, chance_text(article.as_read))
    for one in article.corrections:
        add_row(
            table,
            one.name + (" *" if one.name == advised else ""),
            signed(one.x, units),
            signed(one.y, units),
            slope(one.turn) if one.turn else NOTHING,
            slope(one.shear) if one.shear else NOTHING,
            chance_text(one.chance),
        )
    x, y = (place(value, units) for value in article.corrections[0].about)
    told = (
        "* advised. Axes of the machine with face B up: cuts of face B move by X to the right, by Y to the back; the"
        f" turn is counter-clockwise seen from above, about ({x}, {y}) {units} from the front-left corner of the blank"
        " as it then lies; shear: X grows with Y."
    )
    return [table, Text(told), *(Text(line) for line in instead(article))]


def _unit(term: Term, units: str) -> str:
    return units if term.name.startswith("shift") else "%" if term.name.startswith("scale") else "mm/m"


def _amount(term: Term, value: float, units: str) -> str:
    if term.name.startswith("shift"):
        return signed(value, units)
    return scale(value) if term.name.startswith("scale") else slope(value)


def _bare(term: Term, value: float, units: str) -> str:
    """A size without a sign."""
    return _amount(term, value, units).removeprefix("+")
