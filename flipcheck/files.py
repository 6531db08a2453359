"""Files that appear whole or not at all, and never over another unless that is wanted."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from flipcheck.errors import FlipcheckError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def refuse_taken(path: Path, *, force: bool = False) -> None:
    """Raise a `FlipcheckError` if a file may not be written: it is there already, or has no folder."""
    try:
        if not force and os.path.lexists(path):
            raise _taken(path)
        if not path.parent.is_dir():
            raise FlipcheckError(f"there is no folder {path.parent} to write {path.name} into. Try: make it first")
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from None


def write_whole(path: Path, fill: Callable[[Path], object], *, force: bool = False) -> None:
    """Write a file by way of another beside it, so that a crash leaves no half of it.

    Parameters
    ----------
    path: The file.
    fill: Writes the file whose path it is given.
    force: Whether one that is there already is written over.

    Raises
    ------
    FlipcheckError: as `refuse_taken`, or if it cannot be written.
    """
    refuse_taken(path, force=force)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        try:
            fill(part)
            if force:
                part.replace(path)
            else:
                _put_in_place(part, path)
        finally:
            part.unlink(missing_ok=True)
    except FileExistsError:
        raise _taken(path) from None
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from None


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
    return FlipcheckError(f"{path} is there already and is left as it is. Try: another name")


def _unwritable(path: Path, error: Exception) -> FlipcheckError:
    return FlipcheckError(f"{path} cannot be written: {reason(error)}")


def reason(error: Exception) -> str:
    """Why the system refused something, in its words."""
    return (getattr(error, "strerror", None) or str(error)).lower()
