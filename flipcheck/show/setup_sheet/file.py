"""The setup sheet of a method as text, or as a page in a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.check import method_named
from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.show.document.file import made_from, write_document
from flipcheck.show.setup_sheet.sheet import sheet_content, sheet_text

if TYPE_CHECKING:
    import os

    from flipcheck.job.records import Job
    from flipcheck.show.document.content import SheetContent


def write_sheet(
    job: Job,
    path: str | os.PathLike[str] | None = None,
    method: str | None = None,
    *,
    job_text: str | None = None,
    force: bool = False,
) -> str:
    """The setup sheet of a method (the first of the job, unless named) as text; written to a file where one is given.

    Parameters
    ----------
    job: The job.
    path: The file to write, whose ending chooses its kind: .html or .pdf.
    method: Name of the method.
    job_text: The text that the job was read from, where there is one.
    force: Whether a file that is there already is written over.

    Raises
    ------
    FlipcheckError: if the ending is another, the file is there already or cannot be written, or what a PDF needs is
        not installed.
    JobError: if the job has no method of that name.
    """
    chosen = job.methods[0] if method is None else method_named(job, method)

    def content() -> SheetContent:
        return sheet_content(job, chosen, fixture_sheet(job, chosen), made_from(job_text))

    if path is None:
        return sheet_text(content())
    with write_document(path, force=force) as (kind, write):
        made = content()
        if kind == "html":
            from flipcheck.show.document.html import sheet_html

            write(sheet_html(made).encode())
        else:
            from flipcheck.show.document.pdf import sheet_pdf

            write(sheet_pdf(made))
    return sheet_text(made)
