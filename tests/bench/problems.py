"""Two reference problems with known answers, of invented but usual size. Lengths in mm, angles in rad.

R1 is linear: 12 normal and 6 uniform errors, 2 runouts and 2 places anywhere in the play of a pin make the pose of two
setups; ten holes each have two cuts of their own, x and y. That is 52 normal and 12 uniform numbers a trial.
R2 hangs the blank on two loose pins whose pitch is uncertain, with the same holes and cuts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flipcheck.stack.contact.two_pins import Hang, TwoPins, follow_share
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Radius
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Circle, Normal, Uniform

#: Where the ten holes are, from the middle of the blank.
HOLES = np.array(
    [[-150, -90], [150, -90], [150, 90], [-150, 90], [0, 0], [-60, 40], [75, -30], [120, 10], [-110, -20], [20, 80]],
    dtype=float,
)
#: Standard deviation of one cut along each axis.
CUT = 0.015
#: Distance over which the errors of R1 turn the blank, and between the pins of R2.
BASE = 300.0
NORMAL, UNIFORM, RUNOUT, PLAY = 0.012, 0.025, 0.015, 0.040
R1_ALLOWED, R2_ALLOWED = 0.145, 0.105
R2_PLAY, R2_PITCH = (0.06, 0.05), 0.02


@dataclass(frozen=True)
class Answers:
    """What a problem comes to: the chance that all ten pairs pass, and the 95 % distance of the first, mm."""

    chance: float
    p95: float


# Worked out apart from flipcheck, as in tests/bench/test_problems.py with more nodes: R1 by the characteristic function
# of its pose on a grid of 64^3 points (10^8 plain trials of numpy agree), R2 by quadrature.
R1_ANSWERS = Answers(0.89927555, 0.1324087)
R2_ANSWERS = Answers(0.96273074, 0.0856988)
R1_LINEAR_CHANCE = 0.81354800

#: What each scalar of one setup of R1 does to its shift in x, its shift in y, and its turn times BASE.
_SETUP = {
    "normal 1": (1.0, 0.0, 0.0),
    "normal 2": (0.0, 1.0, 1.0),
    "normal 3": (1.0, 0.0, 0.0),
    "normal 4": (0.0, 1.0, -1.0),
    "normal 5": (0.7, 0.0, 0.5),
    "normal 6": (0.0, 0.7, 0.5),
    "uniform 1": (1.0, 0.0, 0.0),
    "uniform 2": (0.0, 1.0, 0.5),
    "uniform 3": (0.5, 0.5, -0.5),
    "runout x": (1.0, 0.0, 0.0),
    "runout y": (0.0, 1.0, 0.3),
    "play x": (1.0, 0.0, 0.0),
    "play y": (0.0, 1.0, 0.8),
}
#: How the shift in x, the shift in y and the turn of each setup come into the misalignment after the part was turned.
_TURNED = (np.array([-1.0, -1.0, -1.0]), np.array([-1.0, 1.0, -1.0]))
#: The turn of a setup in rad, from its turn times BASE.
_TURN = np.array([1.0, 1.0, 1.0 / BASE])


def r1(holes: int = len(HOLES), *, linear: bool = False) -> LinearModel:
    """R1 with its first holes, or each of them several times.

    The play of a pin is a contact, which draws one number more than the place needs.

    `linear`: the pin lies against the wall of its hole, anywhere around it: then all of R1 is a sum of errors.
    """
    sources, columns = [], []
    for setup, turned in enumerate(_TURNED):
        effects = {name: turned * np.array(effect) * _TURN for name, effect in _SETUP.items()}
        for name in (*(f"normal {i}" for i in range(1, 7)), *(f"uniform {i}" for i in range(1, 4))):
            spread = Normal(NORMAL) if name.startswith("normal") else Uniform(UNIFORM)
            sources.append(Source(name, f"setup {setup}", spread, Life.SETUP))
            columns.append(effects[name])
        sources.append(Source("runout", f"setup {setup}", Circle(RUNOUT), Life.SETUP, rows=2))
        columns += [effects["runout x"], effects["runout y"]]
        if linear:
            sources.append(Source("play", f"setup {setup}", Circle(PLAY), Life.SETUP, rows=2))
            columns += [effects["play x"], effects["play y"]]
    if linear:
        return _model("R1, linear", sources, columns, [], [], holes, R1_ALLOWED)
    plays = [
        column
        for turned in _TURNED
        for column in (*(turned * np.array(_SETUP[f"play {axis}"]) * _TURN for axis in "xy"), np.zeros(3))
    ]
    contacts = [("setup 0", Hang.SLOT, (PLAY, PLAY)), ("setup 1", Hang.SLOT, (PLAY, PLAY))]
    return _model("R1", sources, columns, plays, contacts, holes, R1_ALLOWED)


def radii_of(normals: np.ndarray, uniforms: np.ndarray) -> np.ndarray:
    """The distances of R1's ten holes, shape (10, N), from 52 standard normal numbers a trial and 12 in (0, 1).

    Written for itself, as a person would: no code of flipcheck.
    """
    pose = np.zeros((3, normals.shape[1]))
    for setup, turned in enumerate(_TURNED):
        u = uniforms[6 * setup : 6 * setup + 6]
        phase, around, radius = 2.0 * np.pi * u[3], 2.0 * np.pi * u[4], PLAY * np.sqrt(u[5])
        errors = [
            *(NORMAL * normals[6 * setup : 6 * setup + 6]),
            *(UNIFORM * (2.0 * u[:3] - 1.0)),
            *(RUNOUT * np.cos(phase), RUNOUT * np.sin(phase)),
            *(radius * np.cos(around), radius * np.sin(around)),
        ]
        pose += (turned * np.array(list(_SETUP.values())) * _TURN).T @ np.array(errors)
    cuts = CUT * normals[12:].reshape(2, 2, len(HOLES), -1)
    x = pose[0] - HOLES[:, 1, None] * pose[2] - cuts[0, 0] - cuts[1, 0]
    y = pose[1] + HOLES[:, 0, None] * pose[2] - cuts[0, 1] + cuts[1, 1]
    return np.hypot(x, y)


def r2(holes: int = len(HOLES)) -> LinearModel:
    """R2 with its first holes, or each of them several times."""
    follow = follow_share(Hang.LOOSE, R2_PLAY)
    pitch = Source("pitch", "", Normal(R2_PITCH), Life.BLANK)
    # the contact's first row is the place of the first hole plus that share of the pitch error
    place = np.array([1.0, 0.0, 0.0])
    plays = [place, np.array([0.0, 0.5, -1.0 / BASE]), np.array([0.0, 0.5, 1.0 / BASE])]
    return _model("R2", [pitch], [-follow * place], plays, [("pins", Hang.LOOSE, R2_PLAY)], holes, R2_ALLOWED)


def _model(
    name: str,
    sources: list[Source],
    columns: list[np.ndarray],
    plays: list[np.ndarray],
    contacts: list[tuple[str, Hang, tuple[float, float]]],
    holes: int,
    allowed: float,
) -> LinearModel:
    """A rigid pose (shift in x, shift in y, turn) seen at each hole, where each face has a cut of its own."""
    cuts = [
        Source("cut", f"hole {hole} face {face}", Normal(CUT), Life.CUT, rows=2)
        for hole in range(holes)
        for face in "AB"
    ]
    posed = len(columns)
    rows = posed + 4 * holes + len(plays)
    shared, own, mix = np.zeros((3, rows)), np.zeros((2 * holes, rows)), np.zeros((2 * holes, 3))
    shared[:, :posed] = np.array(columns).T
    if plays:
        shared[:, posed + 4 * holes :] = np.array(plays).T
    for hole, (x, y) in enumerate(HOLES[np.arange(holes) % len(HOLES)]):
        mix[2 * hole : 2 * hole + 2] = [[1.0, 0.0, -y], [0.0, 1.0, x]]
        for axis, row in enumerate((2 * hole, 2 * hole + 1)):
            face_a, face_b = posed + 4 * hole + axis, posed + 4 * hole + 2 + axis
            own[row, face_a], own[row, face_b] = -1.0, (-1.0, 1.0)[axis]
    pitched = np.zeros(rows - len(plays))
    pitched[:posed] = [source.name == "pitch" for source in sources for _ in range(source.rows)]
    forms = np.vstack([pitched, np.zeros((2, len(pitched)))])
    hung = tuple(TwoPins(key, hang, 0.0, forms, np.array([0.0, *play])) for key, hang, play in contacts)
    measures = tuple(Radius(2 * hole, 2 * hole + 1, allowed) for hole in range(holes))
    return LinearModel(name, (*sources, *cuts), hung, shared, mix, own, np.zeros(2 * holes), measures)
