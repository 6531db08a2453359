"""What a wrong or hostile file may cost: limits that are looked at before anything is worked out."""

from __future__ import annotations

import re
import stat
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import os
    from collections.abc import Mapping

#: Far beyond any job, and what still can be worked out: pairs, methods, and corners of all outlines together.
MOST_PAIRS, MOST_METHODS, MOST_CORNERS = 500, 50, 2000
#: Of very many complaints of one table only so many are looked into.
MOST_COMPLAINTS = 200
#: How many parts a dotted key may have; a job needs two.
MOST_PARTS_OF_KEY = 32

_PART = r"""(?:[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.){0,80}+"|'[^'\n]{0,80}+')"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_PART}[ \t]*+\.[ \t]*+){{{MOST_PARTS_OF_KEY}}}")


def not_a_file(path: str | os.PathLike[str]) -> str:
    """What stands under a name in place of a file that ends, such as a pipe to wait on for ever; or nothing.

    Raises
    ------
    OSError: as for opening it.
    ValueError: the name cannot be one.
    """
    mode = Path(path).stat().st_mode
    if stat.S_ISFIFO(mode) or stat.S_ISSOCK(mode):
        return "a pipe"
    return "a device" if stat.S_ISCHR(mode) or stat.S_ISBLK(mode) else ""


def long_key(text: str) -> int | None:
    """The line of a key of very many parts, which would take the reader of TOML minutes; None where there is none."""
    found = _LONG_KEY.search(text)
    return text.count("\n", 0, found.start()) + 1 if found else None


def too_many(block: str, tables: list[Any]) -> tuple[str, str] | None:
    """What was needed and what came, where there are more pairs, corners or methods than can be worked out."""
    most = MOST_PAIRS if block == "pairs" else MOST_METHODS
    if len(tables) > most:
        return f"at most {most} {block}", str(len(tables))
    corners = sum(_corners(table) for table in tables)
    if corners > MOST_CORNERS:
        return f"outlines of at most {MOST_CORNERS} points together", str(corners)
    return None


def _corners(table: Mapping[str, Any] | object) -> int:
    points = table.get("points") if isinstance(table, dict) else None
    return len(points) if isinstance(points, list) else 0
