"""A document as a file, HTML or PDF by its ending."""

from __future__ import annotations

import hashlib
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from flipcheck.errors import FlipcheckError
from flipcheck.files import refuse_taken, write_whole

if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Iterator

_KINDS = {".html": "html", ".pdf": "pdf"}


def made_from(job_text: str | None, file: str | None = None) -> str:
    """The last line of a document: version, and the checksum that tells which text of the job it was made from."""
    from flipcheck import __version__

    parts = [f"flipcheck {__version__}"]
    if file:
        parts.append(f"job {Path(file).name}")
    if job_text is not None:
        parts.append(f"SHA-256 of the job {hashlib.sha256(job_text.encode()).hexdigest()}")
    return ", ".join(parts)


@contextmanager
def write_document(
    path: str | os.PathLike[str], *, force: bool = False
) -> Iterator[tuple[str, Callable[[bytes], None]]]:
    """Give "html" or "pdf", by the ending of `path`, and a function that takes the bytes of the document.

    What can be told beforehand is told before any work is done.

    Raises
    ------
    FlipcheckError: if the ending is another, the file is there already, there is no such folder, or it cannot be
        written.
    """
    path = Path(path)
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        raise FlipcheckError(
            f"{path.name} is neither .html nor .pdf. Try: {path.stem or 'report'}.html or {path.stem or 'report'}.pdf"
        )
    refuse_taken(path, force=force)
    if kind == "pdf":
        from flipcheck.show.document.pdf import need_typst

        need_typst()
    yield kind, lambda data: write_whole(path, lambda part: part.write_bytes(data), force=force)
