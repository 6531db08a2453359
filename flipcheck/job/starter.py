"""Starter jobs: commented files to change into one's own, with typical values and where each comes from."""

from __future__ import annotations

from importlib import resources

from flipcheck.errors import JobError, Problem
from flipcheck.job.findings import nearest
from flipcheck.job.quantities import shown

#: What a part may be like: wood on a router, metal on a small mill.
LIKES = ("wood", "metal")


def starter(like: str = "wood") -> str:
    """The text of a commented job that can be run as it stands.

    Raises
    ------
    JobError: no-such-example, for anything but "wood" and "metal".
    """
    if like not in LIKES:
        needed = " or ".join(f'"{known}"' for known in LIKES)
        raise JobError([Problem("no-such-example", "the starter job", needed, shown(like), nearest(like, LIKES))])
    return (resources.files("flipcheck.job") / "starters" / f"{like}.toml").read_text(encoding="utf-8")
