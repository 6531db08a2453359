"""The setup sheet of one method: steps, plans and coordinates on one page; as text here, else by the renderers."""

from __future__ import annotations

import math
import textwrap
from functools import partial
from typing import TYPE_CHECKING

from flipcheck.decide.setup.step import Stage
from flipcheck.decide.setup.steps import marked_corner, setup_steps
from flipcheck.show.cautions import AT_STEPS
from flipcheck.show.document.content import SheetContent, SheetStage, SheetStep, Table
from flipcheck.show.document.picture import bare_picture
from flipcheck.show.drawing.tags import rows_of
from flipcheck.show.lengths import coordinate, in_units
from flipcheck.show.report.fixture_words import mistakes
from flipcheck.show.setup_sheet.plan import plan_size, sheet_plan
from flipcheck.show.setup_sheet.words import corner_name, sentence
from flipcheck.show.words import TURNED, WIDTH

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from flipcheck.decide.fixture.layout import Layout
    from flipcheck.decide.fixture.sheet import FixtureSheet
    from flipcheck.decide.setup.step import Step
    from flipcheck.flip.frames import Point
    from flipcheck.job.records import Job, Method

#: Rows of the table on the sheet: with more, it would not stay one page.
MOST_ROWS = 18
#: Letters to a line of a column, of a name in the table there, and of a fact in the head.
_COLUMN, _NAME, _FACT = 54, 22, 36
#: Headings of the stages.
_STAGES = {
    Stage.PREPARE: "Prepare",
    Stage.ZERO_A: "Lay down and zero, face A up",
    Stage.CUT_A: "Cut face A",
    Stage.TURN: "Turn over",
    Stage.SEAT: "Seat, face B up",
    Stage.ZERO_B: "Zero face B",
    Stage.PROVE: "Prove",
    Stage.CUT_B: "Cut face B",
}
_FACE_A = (Stage.PREPARE, Stage.ZERO_A, Stage.CUT_A)


def sheet_content(job: Job, method: Method, sheet: FixtureSheet, foot: str) -> SheetContent:
    """The setup sheet of a method, whose fixture sheet is given; `foot` is its last line."""
    steps, units = setup_steps(job, method, sheet), job.units
    stages = tuple(_stages(steps, units))
    split = sum(1 for stage in dict.fromkeys(step.stage for step in steps) if stage in _FACE_A)
    plans = [
        bare_picture(f"plan-{layout.face.lower()}", _alt(layout), plan_size(layout), partial(sheet_plan, layout, units))
        for layout in (sheet.a, sheet.b)
    ]
    places, notes = places_table(sheet, units, MOST_ROWS), tuple(_notes(sheet, units))
    facts = _facts(job, method)
    tucked, lines = _arranged(stages[:split], stages[split:], places, notes)
    lines += max(len(value) for _, value in facts) // _FACT + len(job.title) // _COLUMN
    return SheetContent(
        title=job.title or "Part without a title",
        facts=facts,
        a=stages[:split],
        b=stages[split:],
        picture_a=plans[0],
        picture_b=plans[1],
        places=places,
        notes=notes,
        tucked=tucked,
        lines=lines,
        foot=foot,
    )


def _arranged(
    a: Sequence[SheetStage], b: Sequence[SheetStage], places: Table, notes: Sequence[str]
) -> tuple[bool, int]:
    """Whether table and notes had better stand below the steps of face A than below both, and lines on the sheet."""
    names, wide = [row[1] for row in places.rows], 2 * _COLUMN
    left = _lines(a) + 3 + _folded(names, _NAME) + _folded(notes, _COLUMN)
    below = 2 + _folded(names, wide) + _folded(notes, wide)
    tucked, apart = max(left, _lines(b)), max(_lines(a), _lines(b)) + below
    return tucked <= apart, min(tucked, apart)


def _lines(stages: Sequence[SheetStage]) -> int:
    """About how many lines some stages take in a column of the sheet."""
    return 2 * len(stages) + sum(
        _folded([step.text, *step.cautions], _COLUMN) for stage in stages for step in stage.steps
    )


def _folded(texts: Iterable[str], width: int) -> int:
    """Lines of some texts in a column of so many letters."""
    return sum(1 + len(text) // width for text in texts)


def _facts(job: Job, method: Method) -> tuple[tuple[str, str], ...]:
    size = " x ".join(coordinate(side, job.units) for side in job.blank.size)
    return (
        ("Method", f"{method.name} ({method.kind})"),
        ("Turn", TURNED[job.flip]),
        ("Blank", f"{size} {job.units}"),
        ("Part no., date, name", ""),
    )


def _stages(steps: Sequence[Step], units: str) -> Iterator[SheetStage]:
    numbered = list(enumerate(steps, start=1))
    for stage in dict.fromkeys(step.stage for step in steps):
        yield SheetStage(
            _STAGES[stage],
            tuple(
                SheetStep(number, sentence(step, units), tuple(AT_STEPS[caution] for caution in step.cautions))
                for number, step in numbered
                if step.stage is stage
            ),
        )


def _alt(layout: Layout) -> str:
    """What the plan of a setup shows, in words."""
    corner = corner_name(marked_corner(layout))
    held = ", ".join(dict.fromkeys(one.role for one in layout.locators)) or "nothing"
    return (
        f"Plan of setup {layout.face}, seen from above, front of the machine at the bottom: the marked corner lies"
        f" {corner}, the {layout.edges['left']} edge on the left; shown are {held} and {len(layout.pairs)} pairs."
    )


def places_table(sheet: FixtureSheet, units: str, most: int | None = None) -> Table:
    """Locators and pairs with their coordinates on the machine in both setups; at most so many rows."""
    both = tuple(_both(sheet, units))
    decimals = _decimals([value for *_, a, b in both for point in (a, b) for value in point or ()], units)
    rows = [_row(*one, units, decimals) for one in both]
    left = len(rows) - most if most is not None and len(rows) > most else 0
    if left:
        rows = rows[: len(rows) - left - 1]
        rows.append(("...", f"{left + 1} more: see the report", "", "", "", ""))
    return Table(
        caption=f"Where it lies on the machine, {units}, from the front-left corner of the blank as it lies",
        heads=("", "what", "X, A up", "Y, A up", "X, B up", "Y, B up"),
        rows=tuple(rows),
        numbers=(2, 3, 4, 5),
    )


def _row(tag: str, name: str, a: Point | None, b: Point | None, units: str, decimals: int) -> tuple[str, ...]:
    numbers = (in_units(value, units) for point in (a, b) for value in point or (math.nan, math.nan))
    return (tag, name, *("" if math.isnan(number) else f"{number:.{decimals}f}" for number in numbers))


def _decimals(places: Sequence[float], units: str) -> int:
    """As few decimals as write every place as `ink.place` does, so that the points stand in line."""
    return max((len(coordinate(value, units).partition(".")[2]) for value in places), default=0)


def _both(sheet: FixtureSheet, units: str) -> Iterator[tuple[str, str, Point | None, Point | None]]:
    """Rows by tag: those of setup A, joined with those of setup B; a locator that only B has comes after those of A."""
    a, b = ({row.tag: row for row in rows_of(layout, units)} for layout in (sheet.a, sheet.b))
    tags = [tag for tag in a if tag[0].isalpha()] + [tag for tag in b if tag[0].isalpha() and tag not in a]
    for tag in [*tags, *(tag for tag in a if not tag[0].isalpha())]:
        here, there = a.get(tag), b.get(tag)
        names = [row.name for row in (here, there) if row is not None and row.name]
        name = names[-1] if names and names[-1].startswith(names[0]) else " / ".join(names)
        yield tag, name, here.at if here else None, there.at if there else None


def _notes(sheet: FixtureSheet, units: str) -> Iterator[str]:
    for level in sheet.levels:
        cuts = (("A", level.a, sheet.a.zero_z), ("B", level.b, sheet.b.zero_z))
        told = (
            f"{coordinate(z, units)} {units} from the {zero} for face {face}" for face, z, zero in cuts if z is not None
        )
        yield f'Z at the bottom of "{level.pair}": {", ".join(told)}.'
    yield from mistakes(sheet, units)


def sheet_text(content: SheetContent) -> str:
    """A setup sheet as plain text, at most 80 columns wide; in ASCII but for names."""
    facts = (f"{name}: {value or '______________'}" for name, value in content.facts)
    lines = [f"SETUP SHEET  {content.title}", *facts]
    for head, stages in (("FACE A UP", content.a), ("FACE B UP", content.b)):
        lines += ["", head]
        for stage in stages:
            lines += ["", stage.title, *_step_lines(stage.steps)]
    lines += ["", *_table_lines(content.places), "", *_paragraphs(content.notes), "", *_paragraphs([content.foot])]
    text = "\n".join(line.rstrip() for line in lines) + "\n"
    return text.translate({ord("±"): "+-", ord("\u00a0"): " "})


def _step_lines(steps: Iterable[SheetStep]) -> Iterator[str]:
    for step in steps:
        yield from _wrapped(f"[ ] {step.number:2}  ", step.text)
        for caution in step.cautions:
            yield from _wrapped("        ! ", caution)


def _wrapped(head: str, text: str) -> list[str]:
    below = " " * len(head)
    return textwrap.wrap(text, WIDTH, initial_indent=head, subsequent_indent=below, break_on_hyphens=False)


def _paragraphs(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield from textwrap.wrap(text, WIDTH)


def _table_lines(table: Table) -> Iterator[str]:
    yield from textwrap.wrap(f"{table.caption}:", WIDTH)
    columns = list(zip(table.heads, *table.rows, strict=True))
    widths = [max(len(cell) for cell in column) for column in columns]
    widths[1] = min(widths[1], max(12, WIDTH - sum(widths) + widths[1] - 2 * len(widths)))
    for cells in (table.heads, *table.rows):
        name = textwrap.wrap(cells[1], widths[1]) or [""]
        for number, part in enumerate(name):
            row = [cell if number == 0 else "" for cell in cells]
            row[1] = part
            yield "  ".join(
                cell.rjust(width) if at in table.numbers else cell.ljust(width)
                for at, (cell, width) in enumerate(zip(row, widths, strict=True))
            )
