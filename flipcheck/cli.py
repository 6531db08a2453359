"""The command line: arguments, streams and exit codes. What a command needs is imported when it runs."""

from __future__ import annotations

import math
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from flipcheck.errors import ExitCode
from flipcheck.files import reason, write_whole
from flipcheck.shell import Bar, note, page, start_light, to_nowhere, told_plainly, write

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.decide.batch.batch import Batch
    from flipcheck.decide.results import Result
    from flipcheck.decide.sweep.results import Sweep
    from flipcheck.job.records import Job

MOST_TRIALS = 10**10
#: The same as flipcheck.decide.limits.limits.TRIALS; and the most that `limits` takes.
LIMITS_TRIALS = 16_384
#: The most parts of a batch: the blocks of such a batch take minutes.
MOST_PARTS = 10_000
MOST_KEPT = 500_000
#: The same as flipcheck.decide.first_article.correct.TRIALS.
CORRECT_TRIALS = 65_536
#: The same as flipcheck.decide.sweep.sweep.TRIALS.
SWEEP_TRIALS = 16_384

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["--help", "-h"]},
)


class Like(StrEnum):
    """What the starter file is like."""

    WOOD = "wood"
    METAL = "metal"


JobFile = Annotated[str | None, typer.Argument(metavar="JOB", help="Job file; the built-in example unless given.")]


def _trials(text: str) -> int | str:
    """A number of trials, or auto."""
    return text if text == "auto" else _number(text, MOST_TRIALS, "a whole number or auto")


def _counted_trials(text: str) -> int:
    """A number of trials, however many."""
    return _number(text, MOST_TRIALS, "a whole number")


def _kept_trials(text: str) -> int:
    """A number of trials that are kept."""
    return _number(text, MOST_KEPT, "a whole number")


def _point_trials(text: str) -> int:
    """A number of trials of each point of a sweep."""
    return _number(text, MOST_TRIALS, "a whole number")


def _number(text: str, most: int, needed: str) -> int:
    try:
        number = int(text)
    except ValueError:
        raise typer.BadParameter(f"{needed} is needed, not {text!r}") from None
    if not 1 <= number <= most:
        raise typer.BadParameter(f"{number} is not in the range 1 to {most}")
    return number


Trials = Annotated[
    Any,
    typer.Option(
        "--trials",
        metavar="N",
        parser=_trials,
        help="How many parts to simulate; auto: until the numbers stand still in the digits printed.",
    ),
]
CorrectTrials = Annotated[
    Any,
    typer.Option("--trials", metavar="N", parser=_counted_trials, help="How many parts to simulate."),
]
KeptTrials = Annotated[
    Any,
    typer.Option(
        "--trials",
        metavar="N",
        parser=_kept_trials,
        help=f"How many parts to simulate, rounded up to whole blocks of 16384; {MOST_KEPT} at most.",
    ),
]
Seed = Annotated[int, typer.Option("--seed", metavar="N", min=0, help="Same job, trials and seed: same result.")]
Plain = Annotated[
    bool, typer.Option("--plain", help="Ordinary Monte Carlo: all errors drawn at random, parts counted one by one.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Write the result as JSON.")]
Plots = Annotated[
    str | None, typer.Option("--plots", metavar="DIR", help="Draw pictures of the result into this folder, as SVG.")
]
Png = Annotated[bool, typer.Option("--png", help="Draw the pictures as PNG.")]
Parts = Annotated[
    int | None,
    typer.Option(
        "--parts",
        metavar="N",
        min=1,
        max=MOST_PARTS,
        help="Will all of a batch of N line up? The parts share the machine; --trials then counts batches.",
    ),
]
Coupons = Annotated[
    int,
    typer.Option(
        "--coupons",
        metavar="K",
        min=0,
        max=MOST_PARTS,
        help="With --parts: cut and measure K parts first, and correct the batch once by their mean.",
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Write over files that are there already.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No notes and no progress on stderr.")]


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run flipcheck with the arguments of the shell, or with others; ends by SystemExit."""
    if hasattr(sys.stdout, "reconfigure"):
        # A terminal that does not know a sign of the trade shows "?" in its place.
        sys.stdout.reconfigure(errors="replace")
    start_light()
    try:
        if list(sys.argv[1:] if arguments is None else arguments) == ["--version"]:
            _show_version()  # typer would first load what it checks arguments with
        app(args=arguments, prog_name="flipcheck")
    except typer.Exit as ended:
        sys.exit(ended.exit_code)
    except KeyboardInterrupt:
        note("flipcheck: interrupted")
        sys.exit(ExitCode.INTERRUPTED)
    except OSError as error:  # help or usage that cannot be written
        to_nowhere()
        note(f"flipcheck: stdout cannot be written: {reason(error)}")
        sys.exit(ExitCode.MEND)
    sys.exit(0)


@app.callback(invoke_without_command=True)
def _flipcheck(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    """Will the two faces of a flat part line up after it is turned over? Ask before you cut.

    Ends with 0: goal met, 1: goal not met, 2: something must be mended, 130: interrupted.
    """
    if version:
        _show_version()
    if context.invoked_subcommand is None:
        note(context.get_help())
        raise typer.Exit(ExitCode.MEND)


def _show_version() -> NoReturn:
    from flipcheck import __version__

    with told_plainly():
        write(f"flipcheck {__version__}\n")
    raise typer.Exit


@app.command()
def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="Job file to write; one that exists is left alone.")],
    like: Annotated[Like, typer.Option("--like", help="Start from a wooden or from a metal part.")] = Like.WOOD,
    quiet: Quiet = False,
) -> None:
    """Write a commented job file to start from."""
    with told_plainly():
        from flipcheck.job.starter import starter

        text = starter(like.value)
        write_whole(Path(file), lambda part: part.write_text(text, encoding="utf-8", newline="\n"))
        if not quiet:
            note(f"wrote {file}; fill in your part, then: flipcheck check {file}")


@app.command()
def check(
    job: JobFile = None,
    method: Annotated[
        str | None, typer.Option("--method", metavar="NAME", help="Name of the method; the job's first unless given.")
    ] = None,
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

        read, batch = _job(job, quiet), None
        with Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, plain=plain, progress=bar)
        if parts is not None:
            batch = _batch(read, method, parts, coupons, trials, seed, quiet=quiet)
        if plots is not None:
            _draw(read, result, plots, png=png, force=force, quiet=quiet, batch=batch)
        if batch is None:
            _answer(result, json)
        _answer_batch(batch, result, json)


@app.command()
def compare(
    job: JobFile = None,
    method: Annotated[
        list[str] | None,
        typer.Option("--method", metavar="NAME", help="Compare only this method; give the option once for each."),
    ] = None,
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

        read = _job(job, quiet)
        with Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, plain=plain, progress=bar)
        if plots is not None:
            _draw(read, result, plots, png=png, force=force, quiet=quiet)
        _answer(result, json)


@app.command()
def limits(
    job: JobFile = None,
    method: Annotated[
        list[str] | None,
        typer.Option("--method", metavar="NAME", help="Only by this method; give the option once for each."),
    ] = None,
    trials: KeptTrials = LIMITS_TRIALS,
    seed: Seed = 1,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """How loose may each error, the pins and the holes be, and what would mend a method that misses?"""
    with told_plainly():
        from flipcheck.decide.limits.limits import limits as worked_out

        read = _job(job, quiet)
        with Bar(trials * len(method or read.methods), quiet) as bar:
            found = worked_out(read, method, trials=trials, rng=seed, progress=bar)
        if json:
            from flipcheck.show.limits.plain import limits_to_json

            write(limits_to_json(found))
        else:
            from flipcheck.show.limits.text import limits_to_text

            width, colour = page()
            write(limits_to_text(found, width=width, colour=colour))
        raise typer.Exit(ExitCode.GOAL_MET if found.meets_goal else ExitCode.GOAL_NOT_MET)


@app.command()
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

        read = _job(job, quiet)
        tools = [tool_size(text, name, read) for name, text in (("bit", bit), ("plate", plate))]
        seen = read_readings(readings, read)
        with Bar(trials, quiet) as bar:
            found = worked_out(read, seen, method, bit=tools[0], plate=tools[1], trials=trials, rng=seed, progress=bar)
        if json:
            from flipcheck.show.first_article.plain import article_to_json

            write(article_to_json(found))
        else:
            from flipcheck.show.first_article.text import article_to_text

            width, colour = page()
            write(article_to_text(found, width=width, colour=colour))
        raise typer.Exit(ExitCode.GOAL_MET if found.meets_goal else ExitCode.GOAL_NOT_MET)


@app.command()
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
    method: Annotated[
        list[str] | None,
        typer.Option("--method", metavar="NAME", help="Only by this method; give the option once for each."),
    ] = None,
    trials: Annotated[
        Any,
        typer.Option("--trials", metavar="N", parser=_point_trials, help="How many parts to simulate at each point."),
    ] = SWEEP_TRIALS,
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

        read, text = _job_and_text(job, quiet)
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
        raise typer.Exit(ExitCode.GOAL_MET if found.meets_goal else ExitCode.GOAL_NOT_MET)


def _tell_sweep(found: Sweep, *, csv: bool, json: bool) -> None:
    """Write a sweep as it is wanted."""
    if csv or json:
        from flipcheck.show.sweep.plain import sweep_to_csv, sweep_to_json

        write(sweep_to_csv(found) if csv else sweep_to_json(found))
    else:
        from flipcheck.show.sweep.text import sweep_to_text

        width, colour = page()
        write(sweep_to_text(found, width=width, colour=colour))


@app.command()
def report(
    job: JobFile = None,
    output: Annotated[
        str, typer.Option("--output", "-o", metavar="FILE", help="What to write: a file that ends in .html or .pdf.")
    ] = "report.html",
    trials: Trials = "auto",
    seed: Seed = 1,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """Write everything about a job on pages to build the fixture from."""
    with told_plainly():
        from flipcheck.show.report.report import write_report

        read, text = _job_and_text(job, quiet)
        with Bar(trials, quiet) as bar:
            result = write_report(
                read, output, trials=trials, rng=seed, job_text=text, file=job, force=force, progress=bar
            )
        if not quiet:
            note(f"wrote {output}")
        raise typer.Exit(ExitCode.GOAL_MET if result.meets_goal else ExitCode.GOAL_NOT_MET)


@app.command()
def sheet(
    job: JobFile = None,
    method: Annotated[
        str | None, typer.Option("--method", metavar="NAME", help="Name of the method; the job's first unless given.")
    ] = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write a page, .html or .pdf, instead of text on stdout."),
    ] = None,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """One page to take to the machine: what to do in which order, with tick boxes."""
    with told_plainly():
        from flipcheck.show.report.report import write_sheet

        read, text = _job_and_text(job, quiet)
        page_of_steps = write_sheet(read, output, method, job_text=text, force=force)
        if output is None:
            write(page_of_steps)
        elif not quiet:
            note(f"wrote {output}")


@app.command()
def fits(
    fit: Annotated[
        str, typer.Argument(metavar="FIT", help='A size and its classes, such as "25 H7/g6", "25 H7" or "1 in H7/g6".')
    ],
    json: AsJson = False,
) -> None:
    """How large may a hole and its shaft be by a fit of ISO 286, and how much play is between them?"""
    with told_plainly():
        from flipcheck.job.fits import parse_fit, said_in
        from flipcheck.show.fits_text import fit_to_json, fit_to_text

        found = parse_fit(fit)
        if json:
            write(fit_to_json(found, said_in(fit)))
        else:
            width, colour = page()
            write(fit_to_text(found, said_in(fit), width=width, colour=colour))


@app.command()
def validate(json: AsJson = False) -> None:
    """Does flipcheck give the numbers that others published?"""
    with told_plainly():
        from flipcheck.decide.validation.validation import run_checks

        outcomes = run_checks()
        if json:
            from flipcheck.show.validation_text import validation_to_json

            write(validation_to_json(outcomes))
        else:
            from flipcheck.show.validation_text import validation_to_text

            width, colour = page()
            write(validation_to_text(outcomes, width=width, colour=colour))
        within = all(outcome.within for outcome in outcomes)
        raise typer.Exit(ExitCode.GOAL_MET if within else ExitCode.GOAL_NOT_MET)


def _job(file: str | None, quiet: bool) -> Job:
    from flipcheck.job.between import beyond_table
    from flipcheck.job.checks.setups import idle_options
    from flipcheck.job.reader import built_in, read_job

    job = built_in() if file is None else read_job(file)
    if file is None and not quiet:
        note(f'No job given: this is the built-in example "{job.title}". To start your own: flipcheck new FILE\n')
    for idle in () if quiet else (*idle_options(job), *beyond_table(job.between)):
        note(f"Note: {idle}")
    return job


def _job_and_text(file: str | None, quiet: bool) -> tuple[Job, str]:
    """A job, and the text that it was read from."""
    from flipcheck.job.reader import built_in_text, text_of

    job = _job(file, quiet)
    return job, built_in_text() if file is None else text_of(file)


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

        width, colour = page()
        write(to_text(result, width=width, colour=colour))
    raise typer.Exit(ExitCode.GOAL_MET if result.meets_goal else ExitCode.GOAL_NOT_MET)


def _answer_batch(batch: Batch, result: Result, json: bool) -> NoReturn:
    """Write a batch, with one part as `check` tells it, and end with the exit code of the batch."""
    if json:
        from flipcheck.show.batch.plain import batch_to_json

        write(batch_to_json(batch, result))
    else:
        from flipcheck.show.batch.text import batch_to_text

        width, colour = page()
        write(batch_to_text(batch, result, width=width, colour=colour))
    raise typer.Exit(ExitCode.GOAL_MET if batch.meets_goal else ExitCode.GOAL_NOT_MET)
