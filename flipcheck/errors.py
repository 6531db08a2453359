"""The exceptions of flipcheck: one tree, so that a caller can catch broadly or narrowly.

FlipcheckError
├── JobError      something in a job (or in the call) that the user can mend
├── StackError    a tolerance stack, or a question to one, that has no sound answer
└── TableError    something asked of a published table that it does not have
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

#: A text that is wrong throughout is told in a screenful; `JobError.problems` has them all.
MOST_TOLD = 40


class ExitCode(IntEnum):
    """What the shell is told when a command ends."""

    GOAL_MET = 0
    GOAL_NOT_MET = 1
    MEND = 2
    INTERRUPTED = 130


class FlipcheckError(Exception):
    """Anything flipcheck refuses to do, explained in the user's own terms."""


@dataclass(frozen=True)
class Problem:
    """One thing to mend in a job.

    Attributes
    ----------
    code: Short name of the kind of problem; each has a section in docs/reference/errors.md.
    where: Key path with the item's name, such as ``pairs "bearing seat": allowed``.
    needed: What was needed there.
    came: What was found instead; empty where nothing was.
    hint: What to try; empty where nothing better than `needed` can be said.
    line: Line of the job file, counted from 1; None where the job did not come from a file.
    """

    code: str
    where: str
    needed: str
    came: str = ""
    hint: str = ""
    line: int | None = None

    def __str__(self) -> str:
        place = f"line {self.line}, {self.where}" if self.line else self.where
        parts = [f"{place}: needed {self.needed}"]
        if self.came:
            parts.append(f"came {self.came}")
        text = "; ".join(parts)
        if self.hint:
            text += f". Try: {self.hint}"
        return f"{text} [{self.code}]"


class JobError(FlipcheckError):
    """A job that cannot be worked out as it stands.

    Attributes
    ----------
    problems: Everything found wrong, in the order of the file (tuple of `Problem`).
    file: Name of the job file, or None.
    """

    def __init__(self, problems: tuple[Problem, ...] | list[Problem], file: str | None = None) -> None:
        self.problems = tuple(problems)
        self.file = file
        super().__init__(self.problems, file)

    def __str__(self) -> str:
        count = len(self.problems)
        head = f"{self.file or 'the job'}: {count} thing{'' if count == 1 else 's'} to mend"
        shown = [f"  {problem}" for problem in self.problems[:MOST_TOLD]]
        more = [f"  and {count - MOST_TOLD} more"] if count > MOST_TOLD else []
        return "\n".join([head, *shown, *more])


class _AnswerError(FlipcheckError):
    """A question without an answer, with what would have one.

    Attributes
    ----------
    needed: What was needed.
    came: What was found instead.
    hint: What to try; empty where nothing better than `needed` can be said.
    """

    def __init__(self, needed: str, came: str, hint: str = "") -> None:
        self.needed, self.came, self.hint = needed, came, hint
        super().__init__(needed, came, hint)

    def __str__(self) -> str:
        return f"needed {self.needed}; came {self.came}" + (f". Try: {self.hint}" if self.hint else "")


class StackError(_AnswerError):
    """A tolerance stack that cannot be worked out as it stands, or a question to which it has no sound answer."""


class TableError(_AnswerError):
    """A size, a class or a name that a published table does not have."""
