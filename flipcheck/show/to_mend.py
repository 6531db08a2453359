"""What must be mended in a job or in readings, as text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from flipcheck.errors import MOST_TOLD
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from flipcheck.errors import JobError, Problem


def to_mend(error: JobError) -> str:
    """Everything that must be mended, one block a problem."""
    count = len(error.problems)
    head = f"{error.file or 'the job'}: {count} thing{'' if count == 1 else 's'} to mend"
    more = [f"  and {count - MOST_TOLD} more"] if count > MOST_TOLD else []
    return "\n\n".join([head, *(_block(problem) for problem in error.problems[:MOST_TOLD]), *more])


def _block(problem: Problem) -> str:
    place = f"line {problem.line}, {problem.where}" if problem.line else problem.where
    rows = [("needed", problem.needed), ("came", problem.came), ("try", problem.hint)]
    return "\n".join(
        [f"  {place} [{problem.code}]", *(_hanging(f"    {key:7}", value) for key, value in rows if value)]
    )


def _hanging(head: str, text: str) -> str:
    """A head and a text that wraps beside it; words such as file names stay whole."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=head,
        subsequent_indent=" " * len(head),
        break_long_words=False,
        break_on_hyphens=False,
    )
