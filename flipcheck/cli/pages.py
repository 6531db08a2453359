"""Commands that write files: new, report, sheet."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from flipcheck.cli.arguments import Force, JobFile, OneMethod, Quiet, Seed, Trials
from flipcheck.cli.jobs import end, job_and_text
from flipcheck.cli.shell import Bar, note, told_plainly, write
from flipcheck.files import write_whole


class Like(StrEnum):
    """What the starter file is like."""

    WOOD = "wood"
    METAL = "metal"


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

        read, text = job_and_text(job, quiet)
        with Bar(trials, quiet) as bar:
            result = write_report(
                read, output, trials=trials, rng=seed, job_text=text, file=job, force=force, progress=bar
            )
        if not quiet:
            note(f"wrote {output}")
        end(goal_met=result.meets_goal)


def sheet(
    job: JobFile = None,
    method: OneMethod = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write a page, .html or .pdf, instead of text on stdout."),
    ] = None,
    force: Force = False,
    quiet: Quiet = False,
) -> None:
    """One page to take to the machine: what to do in which order, with tick boxes."""
    with told_plainly():
        from flipcheck.show.setup_sheet.file import write_sheet

        read, text = job_and_text(job, quiet)
        page_of_steps = write_sheet(read, output, method, job_text=text, force=force)
        if output is None:
            write(page_of_steps)
        elif not quiet:
            note(f"wrote {output}")
