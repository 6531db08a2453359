"""Commands that answer: check, compare, limits, correct, sweep."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from flipcheck.cli.arguments import (
    CORRECT_TRIALS,
    LIMITS_TRIALS,
    SWEEP_TRIALS,
    AsJson,
    CorrectTrials,
    Coupons,
    Force,
    JobFile,
    KeptTrials,
    OneMethod,
    Parts,
    Plain,
    Plots,
    Png,
    PointTrials,
    Quiet,
    Seed,
    SomeMethods,
    Trials,
)
from flipcheck.cli.jobs import end, job_and_text, job_of, write_page
from flipcheck.cli.shell import Bar, note, told_plainly, write
from flipcheck.errors import ExitCode

if TYPE_CHECKING:
    from flipcheck.decide.batch.batch import Batch
    from flipcheck.decide.results import Result
    from flipcheck.decide.sweep.results import Sweep
    from flipcheck.job.records import Job


def check(
    job: JobFile = None,
    method: OneMethod = None,
    parts: Parts = None,
    coupons: Coupons = 0,
    trials: Trials = "auto",
    seed: Seed = 1,
    plain: Plain = False,
    json: AsJson = False,
    plots: Plots = None,
    png: Png = False,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """Will the faces line up by one method, and what decides it?"""
    if coupons and parts is None:
        raise typer.BadParameter("--coupons needs --parts: how many parts come after them?")
    with told_plainly():
        from flipcheck.decide.check import check as worked_out

        read, batch = job_of(job, quiet), None
        with Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, plain=plain, progress=bar)
        if parts is not None:
            batch = _batch(read, method, parts, coupons, trials, seed, quiet=quiet)
        if plots is not None:
            _draw(read, result, plots, png=png, force=force, quiet=quiet, batch=batch)
        if batch is None:
            _answer(result, json)
        _answer_batch(batch, result, json)


def compare(
    job: JobFile = None,
    method: SomeMethods = None,
    trials: Trials = "auto",
    seed: Seed = 1,
    plain: Plain = False,
    json: AsJson = False,
    plots: Plots = None,
    png: Png = False,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """Which method is best, tried on the same simulated parts?"""
    with told_plainly():
        from flipcheck.decide.compare import compare as worked_out

        read = job_of(job, quiet)
        with Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, plain=plain, progress=bar)
        if plots is not None:
            _draw(read, result, plots, png=png, force=force, quiet=quiet)
        _answer(result, json)


def limits(
    job: JobFile = None,
    method: SomeMethods = None,
    trials: KeptTrials = LIMITS_TRIALS,
    seed: Seed = 1,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """How loose may each error, the pins and the holes be, and what would mend a method that misses?"""
    with told_plainly():
        from flipcheck.decide.limits.limits import limits as worked_out

        read = job_of(job, quiet)
        with Bar(trials * len(method or read.methods), quiet) as bar:
            found = worked_out(read, method, trials=trials, rng=seed, progress=bar)
        if json:
            from flipcheck.show.limits.plain import limits_to_json

            write(limits_to_json(found))
        else:
            from flipcheck.show.limits.text import limits_to_text

            write_page(limits_to_text, found)
        end(goal_met=found.meets_goal)


def correct(
    job: Annotated[str, typer.Argument(metavar="JOB", help="Job file that the parts were made by.")],
    readings: Annotated[
        str, typer.Argument(metavar="READINGS", help="CSV file of what was measured: docs/reference/readings.md.")
    ],
    method: Annotated[
        str | None,
        typer.Option("--method", metavar="NAME", help="The method they were made by; the job's first unless given."),
    ] = None,
    bit: Annotated[
        str | None, typer.Option("--bit", metavar="SIZE", help="Diameter of the bit, to name gross errors by.")
    ] = None,
    plate: Annotated[
        str | None,
        typer.Option("--plate", metavar="SIZE", help="Thickness of the touch plate, to name gross errors by."),
    ] = None,
    trials: CorrectTrials = CORRECT_TRIALS,
    seed: Seed = 1,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """What do the first parts say: what is it, what made it, what to type in, and what is then left to chance?"""
    with told_plainly():
        from flipcheck.decide.first_article.correct import correct as worked_out
        from flipcheck.job.readings.file import read_readings, tool_size

        read = job_of(job, quiet)
        tools = [tool_size(text, name, read) for name, text in (("bit", bit), ("plate", plate))]
        seen = read_readings(readings, read)
        with Bar(trials, quiet) as bar:
            found = worked_out(read, seen, method, bit=tools[0], plate=tools[1], trials=trials, rng=seed, progress=bar)
        if json:
            from flipcheck.show.first_article.plain import article_to_json

            write(article_to_json(found))
        else:
            from flipcheck.show.first_article.text import article_to_text

            write_page(article_to_text, found)
        end(goal_met=found.meets_goal)


def sweep(
    job: JobFile = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="KEY=FROM:TO:N",
            help="What to vary, over which range, in how many values; once, or twice for two quantities.",
        ),
    ] = None,
    method: SomeMethods = None,
    trials: PointTrials = SWEEP_TRIALS,
    seed: Seed = 1,
    plain: Plain = False,
    csv: Annotated[bool, typer.Option("--csv", help="Write the points as CSV.")] = False,
    json: AsJson = False,
    plots: Plots = None,
    png: Png = False,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """How do the chance and the misalignment change with any number of the job, or with two?"""
    if csv and json:
        raise typer.BadParameter("give --csv or --json, not both")
    with told_plainly():
        from flipcheck.decide.sweep.sweep import SweepInterruptedError
        from flipcheck.decide.sweep.sweep import sweep as worked_out
        from flipcheck.decide.sweep.varied import varied

        read, text = job_and_text(job, quiet)
        points = math.prod(len(quantity.values) for quantity in varied(read, vary or [], text))
        interrupted = False
        try:
            with Bar(points, quiet) as bar:
                found = worked_out(
                    read, vary or [], method, trials=trials, rng=seed, plain=plain, job_text=text, progress=bar
                )
        except SweepInterruptedError as stopped:
            found, interrupted = stopped.sweep, True
            note("flipcheck: interrupted")
        _tell_sweep(found, csv=csv, json=json)
        if plots is not None and not found.empty:
            from flipcheck.show.figures import write_sweep

            drawn = write_sweep(found, plots, "png" if png else "svg", force=force)
            if not quiet:
                note(f"drew {len(drawn)} picture{'s' if len(drawn) > 1 else ''} in {plots}")
        if interrupted:
            raise typer.Exit(ExitCode.INTERRUPTED)
        if found.empty:
            raise typer.Exit(ExitCode.MEND)
        end(goal_met=found.meets_goal)


def _tell_sweep(found: Sweep, *, csv: bool, json: bool) -> None:
    """Write a sweep as it is wanted."""
    if csv or json:
        from flipcheck.show.sweep.plain import sweep_to_csv, sweep_to_json

        write(sweep_to_csv(found) if csv else sweep_to_json(found))
    else:
        from flipcheck.show.sweep.text import sweep_to_text

        write_page(sweep_to_text, found)


def _batch(job: Job, method: str | None, parts: int, coupons: int, trials: Any, seed: int, *, quiet: bool) -> Batch:
    """Work out a batch."""
    from flipcheck.decide.batch.batch import batch, most_batches

    with Bar(most_batches(parts, coupons) if trials == "auto" else trials, quiet) as bar:
        return batch(job, method, parts=parts, coupons=coupons, trials=trials, rng=seed, progress=bar)


def _draw(
    job: Job, result: Result, folder: str, *, png: bool, force: bool, quiet: bool, batch: Batch | None = None
) -> None:
    """Draw the pictures of a result, and of a batch, into a folder."""
    from flipcheck.show.figures import write_all

    drawn = write_all(job, result, folder, "png" if png else "svg", force=force, batch=batch)
    if not quiet:
        note(f"drew {len(drawn)} pictures in {folder}")


def _answer(result: Result, json: bool) -> NoReturn:
    """Write a result and end with its exit code."""
    if json:
        from flipcheck.show.plain import to_json

        write(to_json(result))
    else:
        from flipcheck.show.text import to_text

        write_page(to_text, result)
    end(goal_met=result.meets_goal)


def _answer_batch(batch: Batch, result: Result, json: bool) -> NoReturn:
    """Write a batch, with one part as `check` tells it, and end with the exit code of the batch."""
    if json:
        from flipcheck.show.batch.plain import batch_to_json

        write(batch_to_json(batch, result))
    else:
        from flipcheck.show.batch.text import batch_to_text

        write_page(batch_to_text, batch, result)
    end(goal_met=batch.meets_goal)
