"""The command line: arguments, streams and exit codes. What a command needs is imported when it runs."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import time
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from flipcheck.errors import ExitCode, FlipcheckError, JobError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from types import TracebackType

    from rich.progress import Progress

    from flipcheck.decide.results import Result
    from flipcheck.job.records import Job

#: The same as flipcheck.decide.settle.MOST, which would take numpy to import.
AUTO_MOST = 1_000_000
MOST_TRIALS = 10**10
WIDEST = 110

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
    if text == "auto":
        return text
    try:
        number = int(text)
    except ValueError:
        raise typer.BadParameter(f"a whole number or auto is needed, not {text!r}") from None
    if not 1 <= number <= MOST_TRIALS:
        raise typer.BadParameter(f"{number} is not in the range 1 to {MOST_TRIALS}")
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
Seed = Annotated[int, typer.Option("--seed", metavar="N", min=0, help="Same job, trials and seed: same result.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the result as JSON.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No notes and no progress on stderr.")]


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run flipcheck with the arguments of the shell, or with others; ends by SystemExit."""
    if hasattr(sys.stdout, "reconfigure"):
        # A terminal that does not know a sign of the trade shows "?" in its place.
        sys.stdout.reconfigure(errors="replace")
    try:
        app(args=arguments, prog_name="flipcheck")
    except KeyboardInterrupt:
        _note("flipcheck: interrupted")
        sys.exit(ExitCode.INTERRUPTED)
    except OSError as error:  # help or usage that cannot be written
        _to_nowhere()
        _note(f"flipcheck: stdout cannot be written: {_reason(error)}")
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
        from flipcheck import __version__

        with _told_plainly():
            _write(f"flipcheck {__version__}\n")
        raise typer.Exit
    if context.invoked_subcommand is None:
        _note(context.get_help())
        raise typer.Exit(ExitCode.MEND)


@app.command()
def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="Job file to write; one that exists is left alone.")],
    like: Annotated[Like, typer.Option("--like", help="Start from a wooden or from a metal part.")] = Like.WOOD,
    quiet: Quiet = False,
) -> None:
    """Write a commented job file to start from."""
    with _told_plainly():
        from flipcheck.job.starter import starter

        _write_new(Path(file), starter(like.value))
        if not quiet:
            _note(f"wrote {file}; fill in your part, then: flipcheck check {file}")


@app.command()
def check(
    job: JobFile = None,
    method: Annotated[
        str | None, typer.Option("--method", metavar="NAME", help="Name of the method; the job's first unless given.")
    ] = None,
    trials: Trials = "auto",
    seed: Seed = 1,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Will the faces line up by one method, and what decides it?"""
    with _told_plainly():
        from flipcheck.decide.check import check as worked_out

        read = _job(job, quiet)
        with _Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, progress=bar)
        _answer(result, json)


@app.command()
def compare(
    job: JobFile = None,
    method: Annotated[
        list[str] | None,
        typer.Option("--method", metavar="NAME", help="Compare only this method; give the option once for each."),
    ] = None,
    trials: Trials = "auto",
    seed: Seed = 1,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Which method is best, tried on the same simulated parts?"""
    with _told_plainly():
        from flipcheck.decide.compare import compare as worked_out

        read = _job(job, quiet)
        with _Bar(trials, quiet) as bar:
            result = worked_out(read, method, trials=trials, rng=seed, progress=bar)
        _answer(result, json)


def _job(file: str | None, quiet: bool) -> Job:
    from flipcheck.job.reader import built_in, read_job
    from flipcheck.job.setups import idle_options

    job = built_in() if file is None else read_job(file)
    if file is None and not quiet:
        _note(f'No job given: this is the built-in example "{job.title}". To start your own: flipcheck new FILE\n')
    for idle in () if quiet else idle_options(job):
        _note(f"Note: {idle}")
    return job


def _answer(result: Result, json: bool) -> NoReturn:
    """Write a result and end with its exit code."""
    if json:
        from flipcheck.show.plain import to_json

        _write(to_json(result))
    else:
        from flipcheck.show.text import to_text
        from flipcheck.show.words import WIDTH

        watched = sys.stdout is not None and sys.stdout.isatty()
        width = min(max(shutil.get_terminal_size().columns, WIDTH), WIDEST) if watched else WIDTH
        _write(to_text(result, width=width, colour=watched))
    raise typer.Exit(ExitCode.GOAL_MET if result.meets_goal else ExitCode.GOAL_NOT_MET)


@contextlib.contextmanager
def _told_plainly() -> Iterator[None]:
    """What the user can mend, and an interrupt, end in words and an exit code instead of a traceback."""
    try:
        yield
    except JobError as error:
        from flipcheck.show.words import to_mend

        _note(to_mend(error))
        raise typer.Exit(ExitCode.MEND) from None
    except FlipcheckError as error:
        _note(f"flipcheck: {error}")
        raise typer.Exit(ExitCode.MEND) from None
    except KeyboardInterrupt:
        _note("flipcheck: interrupted")
        raise typer.Exit(ExitCode.INTERRUPTED) from None


def _note(text: str) -> None:
    """Say something on stderr; nobody need be listening."""
    if sys.stderr is not None:
        with contextlib.suppress(OSError, ValueError):
            print(text, file=sys.stderr, flush=True)  # noqa: T201


def _write(text: str) -> None:
    """Write a result on stdout. A reader who has seen enough and left is no error; a full disk is."""
    if sys.stdout is None:
        raise FlipcheckError("stdout is closed: the result has nowhere to go")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _to_nowhere()
    except (OSError, ValueError) as error:
        _to_nowhere()
        raise FlipcheckError(f"the result cannot be written to stdout: {_reason(error)}") from None


def _to_nowhere() -> None:
    """Let what is still held back for stdout vanish, or the interpreter would complain of it at its end."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _reason(error: Exception) -> str:
    return (getattr(error, "strerror", None) or str(error)).lower()


def _write_new(path: Path, text: str) -> None:
    """Write a file whole or not at all, and never over another.

    Raises
    ------
    FlipcheckError: if it is there already, or cannot be written.
    """
    taken = FlipcheckError(f"{path} is there already and is left as it is. Try: another name")
    try:
        if os.path.lexists(path):
            raise taken
        if not path.parent.is_dir():
            raise FlipcheckError(f"there is no folder {path.parent} to write {path.name} into. Try: make it first")
        part = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            part.write_text(text, encoding="utf-8", newline="\n")
            _put_in_place(part, path)
        finally:
            part.unlink(missing_ok=True)
    except FileExistsError:
        raise taken from None
    except (OSError, ValueError) as error:
        raise FlipcheckError(f"{path} cannot be written: {_reason(error)}") from None


def _put_in_place(part: Path, path: Path) -> None:
    """Give a finished file its name unless the name is taken."""
    try:
        path.hardlink_to(part)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        part.replace(path)


class _Bar:
    """Called with the trials of each finished block; shows a bar on stderr, if watched, after the first second."""

    def __init__(self, trials: int | str, quiet: bool) -> None:
        self._trials = AUTO_MOST if isinstance(trials, str) else trials
        self._watched = not quiet and sys.stderr is not None and sys.stderr.isatty()
        self._begun = time.monotonic()
        self._done = 0
        self._progress: Progress | None = None

    def __enter__(self) -> _Bar:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._progress:
            self._progress.stop()

    def __call__(self, trials: int) -> None:
        self._done += trials
        if not self._watched or time.monotonic() < self._begun + 1.0:
            return
        if self._progress is None:
            from rich.console import Console
            from rich.progress import Progress

            self._progress = Progress(console=Console(stderr=True), transient=True)
            self._progress.add_task("simulating", total=self._trials, completed=self._done)
            self._progress.start()
        self._progress.update(self._progress.task_ids[0], completed=self._done)
