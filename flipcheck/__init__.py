"""flipcheck: will the two faces of a part line up after it is turned over?

The names below are the whole public interface. Each is loaded when it is first used, so that importing the package
costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flipcheck.decide.batch.batch import batch
    from flipcheck.decide.check import check
    from flipcheck.decide.compare import compare
    from flipcheck.decide.first_article.correct import correct
    from flipcheck.decide.limits.limits import limits
    from flipcheck.decide.results import Result
    from flipcheck.decide.sweep.sweep import sweep
    from flipcheck.errors import FlipcheckError, JobError, Problem, StackError
    from flipcheck.job.reader import built_in, parse_job, read_job
    from flipcheck.job.readings.file import read_readings
    from flipcheck.job.records import Job
    from flipcheck.stack.spreads import Arcsine, Normal, Trapezoid, Triangular, Uniform
    from flipcheck.stack.stack import Stack
    from flipcheck.stack.terms import Term

__version__ = "0.1.0"

__all__ = [
    "Arcsine",
    "FlipcheckError",
    "Job",
    "JobError",
    "Normal",
    "Problem",
    "Result",
    "Stack",
    "StackError",
    "Term",
    "Trapezoid",
    "Triangular",
    "Uniform",
    "__version__",
    "batch",
    "built_in",
    "check",
    "compare",
    "correct",
    "limits",
    "parse_job",
    "read_job",
    "read_readings",
    "sweep",
]

_ROOMS = {
    "batch": "decide.batch.batch",
    "check": "decide.check",
    "compare": "decide.compare",
    "correct": "decide.first_article.correct",
    "limits": "decide.limits.limits",
    "Result": "decide.results",
    "sweep": "decide.sweep.sweep",
    "FlipcheckError": "errors",
    "JobError": "errors",
    "StackError": "errors",
    "Problem": "errors",
    "built_in": "job.reader",
    "parse_job": "job.reader",
    "read_job": "job.reader",
    "read_readings": "job.readings.file",
    "Job": "job.records",
    "Arcsine": "stack.spreads",
    "Normal": "stack.spreads",
    "Trapezoid": "stack.spreads",
    "Triangular": "stack.spreads",
    "Uniform": "stack.spreads",
    "Stack": "stack.stack",
    "Term": "stack.terms",
}


def __getattr__(name: str) -> object:
    if name not in _ROOMS:
        raise AttributeError(f"module 'flipcheck' has no attribute {name!r}")
    return getattr(import_module(f"flipcheck.{_ROOMS[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
