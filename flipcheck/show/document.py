"""A document as a file: whole or not at all, and never over another unless that is wanted."""

from __future__ import annotations

import os
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from flipcheck.errors import FlipcheckError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_KINDS = {".html": "html", ".pdf": "pdf"}


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
    if not force and os.path.lexists(path):
        raise _taken(path)
    if not path.parent.is_dir():
        raise FlipcheckError(f"there is no folder {path.parent} to write {path.name} into. Try: make it first")
    if kind == "pdf":
        from flipcheck.show.pdf import need_typst

        need_typst()
    yield kind, lambda data: _write(path, data, force=force)


def _write(path: Path, data: bytes, *, force: bool) -> None:
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        try:
            part.write_bytes(data)
            if force:
                part.replace(path)
            else:
                _put_in_place(part, path)
        finally:
            part.unlink(missing_ok=True)
    except FileExistsError:
        raise _taken(path) from None
    except OSError as error:
        raise FlipcheckError(f"{path} cannot be written: {(error.strerror or str(error)).lower()}") from None


def _put_in_place(part: Path, path: Path) -> None:
    """Give a finished file its name unless the name is taken."""
    try:
        path.hardlink_to(part)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        part.replace(path)


def _taken(path: Path) -> FlipcheckError:
    return FlipcheckError(f"{path} is there already and is left as it is. Try: another name, or force")
