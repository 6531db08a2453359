"""A length that a job gives by name: ``"M6"``, ``"6 H7"``."""

from __future__ import annotations


class Stated(float):
    """A length in mm that stands in a published table: a plain number that remembers what the job called it.

    Attributes
    ----------
    name: What the job called it.
    source: The table it stands in.
    half: Half the distance of its limits, where it is the middle between two (mm).
    nominal: Its nominal size (mm).
    """

    name: str
    source: str
    half: float
    nominal: float

    def __new__(cls, size: float, name: str, source: str, half: float = 0.0, nominal: float | None = None) -> Stated:
        """As many mm; nominal unless said otherwise."""
        stated = super().__new__(cls, size)
        stated.name, stated.source, stated.half = name, source, half
        stated.nominal = size if nominal is None else nominal
        return stated

    def __getnewargs__(self) -> tuple[float, str, str, float, float]:  # type: ignore[override]
        return float(self), self.name, self.source, self.half, self.nominal


def nominal(size: float) -> float:
    """The nominal size where a standard gives one, or the size itself."""
    return size.nominal if isinstance(size, Stated) else size
