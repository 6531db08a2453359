"""The report: everything about a job and its recommended method, built once, written as HTML or as PDF."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from flipcheck.decide.check import method_named
from flipcheck.decide.compare import compare
from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.decide.survey import survey
from flipcheck.decide.wording import chance_text, goal_text
from flipcheck.show import words
from flipcheck.show.cautions import CAUTIONS
from flipcheck.show.document.content import Items, ReportContent, Section, Text
from flipcheck.show.document.file import made_from, write_document
from flipcheck.show.document.picture import picture
from flipcheck.show.drawing import drawing_size, setup_drawing
from flipcheck.show.figures import cloud_figure, distance_figure, map_figure, methods_figure, stack_figure
from flipcheck.show.figures.cloud import CLOUD_SIZE
from flipcheck.show.figures.distance import DISTANCE_SIZE
from flipcheck.show.figures.methods import methods_size
from flipcheck.show.figures.over_blank import map_size
from flipcheck.show.figures.stack import stack_size
from flipcheck.show.heights import depths_blocks, heights_blocks
from flipcheck.show.ink import without_shape
from flipcheck.show.report.fixture_words import fixture_blocks
from flipcheck.show.report.input_words import input_tables
from flipcheck.show.report.sections import (
    left_out,
    methods_table,
    pair_section,
    pairs_table,
    uncertainty,
)
from flipcheck.show.setup_sheet.sheet import places_table, sheet_content

if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Iterator

    from flipcheck.decide.check import Trials
    from flipcheck.decide.results import MethodResult, PairResult, Recommendation, Result
    from flipcheck.decide.survey import Cloud, Survey
    from flipcheck.flip.frames import Face
    from flipcheck.job.records import Job, Method
    from flipcheck.show.document.content import Block, Mark, Picture
    from flipcheck.stack.monte_carlo.streams import RngLike

#: Pairs with pictures of their own, at most: those with the lowest chances.
MOST_PICTURED = 12


def write_report(
    job: Job,
    path: str | os.PathLike[str],
    *,
    trials: Trials = "auto",
    rng: RngLike = 1,
    job_text: str | None = None,
    file: str | None = None,
    force: bool = False,
    progress: Callable[[int], None] | None = None,
) -> Result:
    """Work out a job by all its methods and write a report on it; gives back the comparison.

    Parameters
    ----------
    job: The job.
    path: The file to write, whose ending chooses its kind: .html or .pdf.
    trials, rng, progress: As for `compare`.
    job_text, file: The text that the job was read from, and the name of its file, where there are any.
    force: Whether a file that is there already is written over.

    Raises
    ------
    FlipcheckError: if the ending is another, the file is there already or cannot be written, or what a PDF needs is
        not installed.
    """
    with write_document(path, force=force) as (kind, write):
        result = compare(job, trials=trials, rng=rng, progress=progress)
        content = content_of(job, result, job_text=job_text, file=file)
        if kind == "html":
            from flipcheck.show.document.html import report_html

            write(report_html(content).encode())
        else:
            from flipcheck.show.document.pdf import report_pdf

            write(report_pdf(content))
    return result


def content_of(job: Job, result: Result, *, job_text: str | None = None, file: str | None = None) -> ReportContent:
    """A report on a comparison that was made."""
    advice = result.recommendation
    if advice is None:
        raise ValueError("this result recommends nothing: it is of one method, made by check")
    best = next(method for method in result.methods if method.name == advice.method)
    method = method_named(job, best.name)
    sheet = fixture_sheet(job, method, best)
    foot = made_from(job_text, file)
    verdict = words.verdict(best, result.goal)
    return ReportContent(
        title=job.title or "Part without a title",
        mark=_mark(result, best),
        verdict=words.choice(result, advice),
        reason=(f"Why: {advice.reason}", f"With it {verdict[0].lower()}{verdict[1:]}"),
        facts=_facts(job, result, best),
        sections=(
            Section("job", "The job as understood", tuple(input_tables(job, job_text))),
            Section("methods", "How the methods compare", tuple(_comparison(result, advice))),
            Section("drawings", f'The two setups of "{best.name}"', tuple(_drawings(job, method))),
            Section("fixture", "Fixture sheet", (*fixture_blocks(sheet, job.units), places_table(sheet, job.units))),
            *_pairs(job, method, best, survey(job, best.name, rng=result.seed)),
            uncertainty(result, best),
        ),
        sheet=sheet_content(job, method, sheet, foot),
        last=(left_out(result), Section("cautions", "Cautions", (Items(CAUTIONS),))),
        foot=foot,
    )


def _mark(result: Result, best: MethodResult) -> Mark:
    if words.too_near(best.chance, result.goal):
        return "open"
    return "met" if best.chance.estimate >= result.goal else "missed"


def _facts(job: Job, result: Result, best: MethodResult) -> tuple[tuple[str, str], ...]:
    return (
        ("Turn", words.TURNED[job.flip]),
        ("Will line up", chance_text(best.chance)),
        ("Goal", goal_text(result.goal)),
        ("Decided by", words.decided_by(best).split("\n")[0]),
        ("Trial parts", f"{words.whole(result.trials)}, seed {result.seed}"),
    )


def _comparison(result: Result, advice: Recommendation) -> Iterator[Block]:
    yield methods_table(result, advice)
    yield Text(words.marks(result, advice))
    yield from heights_blocks(result)
    if len(result.methods) > 1:
        alt = f"Chance of each of {len(result.methods)} methods against the goal; the numbers stand in the table above."
        yield picture("methods-figure", alt, methods_size(result), partial(methods_figure, result))


def _drawings(job: Job, method: Method) -> Iterator[Block]:
    if boxes := without_shape([job.title, *(one.name for one in (*job.pairs, *job.methods))]):
        yield Text(f"In the pictures a box stands for each letter that their font lacks: {' '.join(boxes)}")
    size = drawing_size(job, method)
    turned: dict[Face, str] = {"A": "before the turn", "B": "after the turn"}
    for face, when in turned.items():
        alt = (
            f"Plan of setup {face}, {when}, to scale, seen from above: blank, locators and pairs with coordinates,"
            " which stand in the tables of the fixture sheet too."
        )
        yield picture(f"setup-{face.lower()}", alt, size, partial(setup_drawing, job, method, face))


def _pairs(job: Job, method: Method, best: MethodResult, seen: Survey) -> Iterator[Section]:
    """How the pairs fare, each with its stack, and the map of the blank."""
    rarest = sorted(range(len(best.pairs)), key=lambda i: best.pairs[i].chance.estimate)[:MOST_PICTURED]
    each = tuple(
        pair_section(
            number, pair, tuple(_pictures(number, pair, cloud, job.units)) if number - 1 in rarest else (), job.units
        )
        for number, (pair, cloud) in enumerate(zip(best.pairs, seen.clouds, strict=True), start=1)
    )
    blocks: list[Block] = [*pairs_table(best.pairs, job.units), Text(words.legend(best.pairs))]
    blocks += depths_blocks(best.pairs, job.units)
    if len(best.pairs) > MOST_PICTURED:
        blocks.append(Text(f"Pictures are of the {MOST_PICTURED} pairs with the lowest chances."))
    yield Section("pairs", "Each pair", tuple(blocks), each)
    alt = "Map of the blank, face A up: the distance that 95 in 100 parts stay within, for a hole anywhere on it."
    drawn = picture("map", alt, map_size(job, method), lambda ax: map_figure(seen.map, job, ax, method))
    yield Section("over-the-blank", "Over the blank", (drawn,))


def _pictures(number: int, pair: PairResult, cloud: Cloud, units: str) -> Iterator[Picture]:
    alt = f'Bars: what each source of error alone does at "{pair.name}"; the numbers stand in its tolerance stack.'
    yield picture(f"pair-{number}-stack", alt, stack_size(pair), partial(stack_figure, pair, units))
    if cloud.x is not None:
        alt = f'Cloud: where face B falls off face A at "{pair.name}", with the limit to scale.'
        yield picture(f"pair-{number}-cloud", alt, CLOUD_SIZE, partial(cloud_figure, cloud, pair, units))
    what = "how thick the web gets" if pair.web else "how far off the parts are"
    alt = f'Histogram: {what} at "{pair.name}", with limit and quantiles.'
    yield picture(f"pair-{number}-distance", alt, DISTANCE_SIZE, partial(distance_figure, cloud, pair, units))
