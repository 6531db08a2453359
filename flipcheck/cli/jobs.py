"""The job that a command is about, and how an answer to it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

import typer

from flipcheck.cli.shell import note, page, write
from flipcheck.errors import ExitCode

if TYPE_CHECKING:
    from collections.abc import Callable

    from flipcheck.job.records import Job


def job_of(file: str | None, quiet: bool) -> Job:
    """The job of a file, or the built-in example; what it says in vain is noted on stderr."""
    from flipcheck.job.between import beyond_table
    from flipcheck.job.checks.setups import idle_options
    from flipcheck.job.reader import built_in, read_job

    job = built_in() if file is None else read_job(file)
    if file is None and not quiet:
        note(f'No job given: this is the built-in example "{job.title}". To start your own: flipcheck new FILE\n')
    for idle in () if quiet else (*idle_options(job), *beyond_table(job.between)):
        note(f"Note: {idle}")
    return job


def job_and_text(file: str | None, quiet: bool) -> tuple[Job, str]:
    """A job, and the text that it was read from."""
    from flipcheck.job.reader import built_in_text, text_of

    job = job_of(file, quiet)
    return job, built_in_text() if file is None else text_of(file)


def write_page(to_text: Callable[..., str], *answer: object) -> None:
    """Write an answer as text, as wide as the terminal."""
    width, colour = page()
    write(to_text(*answer, width=width, colour=colour))


def end(*, goal_met: bool) -> NoReturn:
    """End with the exit code that tells whether the goal is met."""
    raise typer.Exit(ExitCode.GOAL_MET if goal_met else ExitCode.GOAL_NOT_MET)
