"""Reports and setup sheets made once for all tests, of a job whose names are as awkward as they come."""

from __future__ import annotations

from functools import cache
from typing import Any

from flipcheck.decide.compare import compare
from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.job.reader import built_in, parse_job
from flipcheck.job.records import Job
from flipcheck.show.document.content import ReportContent, SheetContent
from flipcheck.show.document.html import report_html
from flipcheck.show.report.report import content_of
from flipcheck.show.setup_sheet.sheet import sheet_content
from tests.job.sample import changed

TITLE = "<script>alert(1)</script> #let x = [*$"
PAIR = '\\u00e9 --> \\u4e2d <img src=x onerror=alert(2)> #image(\\"x\\") `_*'
LONG_PAIR, LONG_METHOD = "groove" * 13, "rail" * 20
METHOD = "</style></svg> & #sys.inputs @ref <b>"

TEXT = changed(
    ('title = "Lamp foot"', f'title = "{TITLE}" # said in <i>the file</i>'),
    ('name = "bore"', f'name = "{PAIR}"'),
    ('name = "groove"', f'name = "{LONG_PAIR}"'),
    ('name = "dowels"', f'name = "{METHOD}"'),
    ('name = "rail"', f'name = "{LONG_METHOD}"'),
)
TRIALS = 16_384


def report_content(job: Job, *, trials: Any = "auto", rng: int = 1, **text: str) -> ReportContent:
    """A report on a job worked out by all its methods."""
    return content_of(job, compare(job, trials=trials, rng=rng), **text)


@cache
def awkward() -> Job:
    """The job with the awkward names."""
    return parse_job(TEXT, "awkward.toml")


@cache
def content() -> ReportContent:
    """A report on it."""
    return report_content(awkward(), trials=TRIALS, rng=7, job_text=TEXT, file="some/folder/awkward.toml")


@cache
def html() -> str:
    """The same as HTML."""
    return report_html(content())


@cache
def awkward_sheet() -> SheetContent:
    """The setup sheet of the method with the longest name."""
    job = awkward()
    return sheet_content(job, job.methods[1], fixture_sheet(job, job.methods[1]), "flipcheck, SHA-256 of the job 0f0f")


@cache
def sheet(name: str = "carrier", method: int = 0) -> SheetContent:
    """The setup sheet of a built-in job."""
    job = built_in(name)
    return sheet_content(
        job, job.methods[method], fixture_sheet(job, job.methods[method]), "flipcheck, SHA-256 of the job 0f0f"
    )
