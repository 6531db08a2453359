"""What the first article says: frozen records, lengths in mm and angles in rad whatever the units of the job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from flipcheck.decide.answer import Answer

if TYPE_CHECKING:
    from flipcheck.decide.first_article.pattern import Pattern
    from flipcheck.flip.frames import Point
    from flipcheck.job.records import Side
    from flipcheck.stack.intervals import Chance


@dataclass(frozen=True)
class Cause:
    """One lasting error of the job, after the readings.

    Attributes
    ----------
    source: Key of the error; ``locator_places`` for where the machine made pins, fence and stops; ``unexplained`` for
        what the job does not know.
    part: Which of them, where there is only one that acts.
    largest: The chance that it makes the largest part of the mismatch, at the places that were measured.
    size: What it makes there on average, root mean square, mm.
    value, std: What it is now held to be; None where it is more than one number. mm, rad or a ratio.
    before: Its standard deviation in the job.
    alike: Other causes that make the same pattern, so that readings cannot tell them apart.
    """

    source: str
    part: str
    largest: float
    size: float
    value: float | None
    std: float | None
    before: float | None
    alike: tuple[str, ...] = ()


@dataclass(frozen=True)
class Correction:
    """How the program of face B must move, in the axes of the machine with face B up.

    Attributes
    ----------
    name: ``none``, ``shift``, ``shift and turn`` or ``shift, turn and shear``.
    x, y: Shift, mm.
    turn: Turn, rad, counter-clockwise seen from above.
    shear: How much x grows with y after that, rad.
    about: The point of the machine that stays where the shift puts it, mm.
    chance: What is left to chance with it.
    """

    name: str
    x: float
    y: float
    turn: float
    shear: float
    about: Point
    chance: Chance


@dataclass(frozen=True)
class Shared:
    """The same correction at the datum that both programs share: half of it, where the turn-over doubles it.

    Attributes
    ----------
    x, y, turn: Of the work zero of both programs, machine axes, mm and rad; the turn is about `about`.
    about: A point of the machine, mm.
    rest_x, rest_y: What a shared datum cannot do, and the program of face B alone must do besides, mm.
    """

    x: float
    y: float
    turn: float
    about: Point
    rest_x: float
    rest_y: float


@dataclass(frozen=True)
class Shim:
    """Turning the fence instead of the program.

    Attributes
    ----------
    fence: Its side of the machine.
    at: The contact that is shimmed, mm along the fence.
    thickness: Of the shim, between fence and blank, mm.
    over: Distance of the two contacts, mm.
    x, y: Shift of the program of face B that goes with it, machine axes, mm.
    """

    fence: Side
    at: float
    thickness: float
    over: float
    x: float
    y: float


@dataclass(frozen=True)
class Squareness:
    """Squaring the machine instead of the program.

    Attributes
    ----------
    value, std: Its out-of-square after the readings, rad, as `machine_squareness` in the job: positive where Y leans
        towards -X.
    chance: What is left to chance if it is taken out of both programs, with shift and turn of face B set anew.
    """

    value: float
    std: float
    chance: Chance


@dataclass(frozen=True)
class Coupons:
    """What more coupons are worth.

    Attributes
    ----------
    parts: Parts measured.
    growth: sqrt(1 + 1/n) for some numbers of parts n: later parts scatter by so much more than if the mean were known.
    at_most: The chance if what lasts were known exactly and corrected in the same way.
    needed: Parts for which a mismatch as large as the one seen would be told from scatter; None where it is already, or
        never will be below a hundred.
    """

    parts: int
    growth: dict[int, float]
    at_most: Chance
    needed: int | None


@dataclass(frozen=True)
class Suspect:
    """A gross error that would look like what was measured.

    Attributes
    ----------
    kind: A shift like some ``size``, a growth with the place like some ``scale``, or a slip in the ``readings``.
    what: What it is, in words.
    seen, same_as: The number that was seen, and the one that it is so near to, mm or a ratio; None for readings.
    """

    kind: Literal["size", "scale", "readings"]
    what: str
    seen: float | None = None
    same_as: float | None = None


@dataclass(frozen=True)
class Diagonal:
    """Squareness from the diagonals of all rectangles: mean and standard uncertainty, rad."""

    rectangles: int
    value: float
    u: float


@dataclass(frozen=True)
class SizeOnly:
    """The readings that give no direction, at one place.

    Attributes
    ----------
    at: Where, mm.
    feature: What, where it has a name.
    readings: How many.
    size: Their mean, mm.
    expected: The length of the mismatch there by the readings that have a direction, mm; None without those.
    """

    at: Point
    feature: str
    readings: int
    size: float
    expected: float | None


@dataclass(frozen=True)
class Grown:
    """By how much more face B cuts on each side than face A, mm."""

    along_x: float | None
    along_y: float | None


@dataclass(frozen=True)
class Article(Answer):
    """The answer to `correct`; None or empty is what no reading told of.

    Attributes
    ----------
    method, kind: Name and kind of the method that the parts were made by.
    parts, readings: How many parts have a mismatch with its direction, and how many readings there are in all.
    pattern: What the readings with a direction have in common; so are the following, where not said otherwise.
    causes: The lasting errors that may have made it, the likeliest first.
    suspects: Gross errors that would look like it, where the job does not explain it.
    by_job: The chance as the job has it, whatever was read.
    as_read: The chance with what the readings say and nothing corrected.
    corrections: The corrections there are, the simplest first.
    advice: The one that is advised, or none of them.
    shared, shim, squareness: What may be done in place of it; None where it cannot, or need not.
    coupons: What more coupons are worth.
    diagonal: Squareness by the diagonals that were read.
    sizes: The readings without a direction.
    grown: The steps of coupons.
    """

    method: str
    kind: str
    parts: int
    readings: int
    pattern: Pattern | None
    causes: tuple[Cause, ...]
    suspects: tuple[Suspect, ...]
    by_job: Chance
    as_read: Chance | None
    corrections: tuple[Correction, ...]
    advice: Correction | None
    shared: Shared | None
    shim: Shim | None
    squareness: Squareness | None
    coupons: Coupons | None
    diagonal: Diagonal | None
    sizes: tuple[SizeOnly, ...]
    grown: Grown | None

    @property
    def chance(self) -> Chance:
        """What is left to chance with what is advised; as the job has it where nothing could be learnt."""
        return self.advice.chance if self.advice else self.by_job

    @property
    def meets_goal(self) -> bool:
        """Whether that reaches the goal."""
        return self.chance.estimate >= self.goal
