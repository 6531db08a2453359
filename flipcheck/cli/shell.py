"""What every command needs of the shell: notes and results on their streams, exit codes, a progress bar."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import sys
import time
from typing import TYPE_CHECKING

import typer

from flipcheck.errors import ExitCode, FlipcheckError, JobError
from flipcheck.files import reason

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import TracebackType

    from rich.progress import Progress

#: The same as flipcheck.decide.settle.MOST, which would take numpy to import.
AUTO_MOST = 2**20
#: The widest that a text is set on a terminal, in columns.
WIDEST = 110


def start_light() -> None:
    """Keep the libraries of a command from what it has no use for, unless the environment says otherwise."""
    # numpy's matrices are tiny here: a second thread for each only waits, and takes time to start
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.setdefault("MKL_NUM_THREADS", "1")
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # the search reads every package that is installed
    gc.set_threshold(100_000)  # loading modules makes much that is kept, and looking for garbage among it takes time


def page() -> tuple[int, bool]:
    """How many columns a text may fill, and whether there is a terminal to show its colour."""
    from flipcheck.show.words import WIDTH

    watched = sys.stdout is not None and sys.stdout.isatty()
    return (min(max(shutil.get_terminal_size().columns, WIDTH), WIDEST) if watched else WIDTH), watched


@contextlib.contextmanager
def told_plainly() -> Iterator[None]:
    """What the user can mend, and an interrupt, end in words and an exit code instead of a traceback."""
    try:
        yield
    except JobError as error:
        from flipcheck.show.to_mend import to_mend

        note(to_mend(error))
        raise typer.Exit(ExitCode.MEND) from None
    except FlipcheckError as error:
        note(f"flipcheck: {error}")
        raise typer.Exit(ExitCode.MEND) from None
    except MemoryError:
        note("flipcheck: there is not enough memory for this job. Try: fewer pairs, points of outlines, or trials")
        raise typer.Exit(ExitCode.MEND) from None
    except KeyboardInterrupt:
        note("flipcheck: interrupted")
        raise typer.Exit(ExitCode.INTERRUPTED) from None


def note(text: str) -> None:
    """Say something on stderr; nobody need be listening."""
    if sys.stderr is not None:
        with contextlib.suppress(OSError, ValueError):
            print(text, file=sys.stderr, flush=True)  # noqa: T201


def write(text: str) -> None:
    """Write a result on stdout. A reader who has seen enough and left is no error; a full disk is."""
    if sys.stdout is None:
        raise FlipcheckError("stdout is closed: the result has nowhere to go")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        to_nowhere()
    except (OSError, ValueError) as error:
        to_nowhere()
        raise FlipcheckError(f"the result cannot be written to stdout: {reason(error)}") from None


def to_nowhere() -> None:
    """Let what is still held back for stdout vanish, or the interpreter would complain of it at its end."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


class Bar:
    """A bar on stderr, if that is watched, for work that takes longer than a second."""

    def __init__(self, trials: int | str, quiet: bool) -> None:
        self._trials = AUTO_MOST if isinstance(trials, str) else trials
        self._watched = not quiet and sys.stderr is not None and sys.stderr.isatty()
        self._begun = time.monotonic()
        self._done = 0
        self._progress: Progress | None = None

    def __enter__(self) -> Bar:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._progress:
            self._progress.stop()

    def __call__(self, trials: int) -> None:
        """So many more trials are done."""
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
