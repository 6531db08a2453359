"""How long each error lasts, what it is called, and by which face each draw acts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flipcheck.decide.check import check
from flipcheck.flip.ledger import Ledger
from flipcheck.flip.model import flip_model
from flipcheck.job.methods import SAME_SPOT
from flipcheck.job.records import Errors
from flipcheck.stack.sources import Life
from tests.make import FENCE, PINS, PROBE, hole, make_job, model_of

ONE = {"std": 0.001}
EVERY: dict[str, Any] = {name: ONE for name in Errors.model_fields if name != "bit_runout"} | {"bit_runout": 0.02}
POINTS = [(20.0, 15.0), (150.0, 90.0)]
X, Y = np.array(POINTS).T

#: "How long an error lasts" on the page of the job file, and what the pages of the model say of holes, pins and wear.
LASTS = {
    "machine": """machine_squareness machine_scale_x machine_scale_y fence_angle fence_position stop_position
        probe_radius bit_diameter pin_size pin_play pocket_size locator_positioning locator_lost_motion""",
    "blank": """stock_squareness stock_parallelism stock_size stock_straightness stock_thickness hole_size hole_position
        moisture temperature""",
    "setup": "rehoming clamping_shift seating probe_repeatability eye_angle z_touch bed_flatness",
    "cut": "positioning lost_motion",
}
LIFE = {name: Life(life) for life, names in LASTS.items() for name in names.split()}

BETWEEN = {"moisture": ONE, "temperature": ONE, "per_percent": [0.0, 0.002, 0.003], "per_kelvin": 1e-5, "grain": 0.0}
DOWELS = {
    **PINS,
    "holes": "beforehand",
    "hole_position": ONE,
    "pin": {"diameter": 6.0, **ONE},
    "hole": {"diameter": 6.1, **ONE},
    "pin_play": ONE,
    "holes_by_bit": True,
}
SIDEWAYS = {**PINS, "pins": [[30.0, 55.0], [150.0, 55.0]]}
FOUR = {**DOWELS, "pins": [[20.0, 20.0], [160.0, 20.0], [160.0, 90.0], [20.0, 90.0]]}
MACHINE_FENCE = {**FENCE, "set_by": "machine", "after_flip": "same side"}
NEST: dict[str, Any] = {"name": "nest", "kind": "nest", "clearance": 0.4, "pocket_size": ONE}
CUT_NEST = {**NEST, "outline": "with face A", "rectangle": [[10.0, 15.0], [160.0, 95.0]]}
BORES: dict[str, Any] = {"name": "bores", "kind": "bores", "bores": [[20.0, 30.0], [160.0, 30.0]], "diameter": 10.0}
WAYS = {
    "pins": PINS,
    "dowels": DOWELS,
    "four pins": FOUR,
    "fence by hand": {**FENCE, "after_flip": "same side"},
    "fence by machine": MACHINE_FENCE,
    "probe": {**PROBE, "after_flip": "same side"},
    "by eye": {**PROBE, "angle": "by eye", "spacing": None},
    "nest": {**NEST, "push": "back-right"},
    "outline in a nest": CUT_NEST,
    "second pocket": {**NEST, "after_flip": "second pocket", "push": "left"},
    "bores": BORES,
    "bores beforehand": {**BORES, "holes": "beforehand", "hole_position": ONE},
}
WEB = {"name": "floor", "kind": "web", "at": [60, 40], "depth_a": 5, "depth_b": 4, "min_web": 2.5}


def every_source(method: dict[str, Any]) -> Any:
    """The model of a method with all errors, moisture and heat, two holes and a web."""
    job = make_job(method, errors=EVERY, between=BETWEEN, pairs=[*(hole(*p) for p in POINTS), WEB])
    return flip_model(job, job.methods[0])


@pytest.mark.parametrize("way", WAYS)
def test_each_error_lasts_as_the_pages_say(way: str):
    """Machine, blank, setup or cut: a batch and a first article hang on it. Runout: the phase of each setup."""
    for source in every_source(WAYS[way]).linear.sources:
        if source.name != "bit_runout":
            assert LIFE[source.name] == source.life, source.key


def test_every_error_is_met():
    """The ways above draw every error there is, so that none of the table goes untested."""
    met = {source.name for way in WAYS.values() for source in every_source(way).linear.sources}

    assert set(LIFE) | {"bit_runout"} == met


def test_how_long_runout_lasts():
    """Its phase is new in each setup unless it is kept; that a bit cuts wider by the whole reading, lasts."""
    lives = {s.key: s.life for s in every_source({**PROBE, "same_phase": True}).linear.sources}
    anew = {s.key: s.life for s in every_source(PROBE).linear.sources}
    pins = {s.key: (s.life, s.spread.mean) for s in every_source(DOWELS).linear.sources}

    assert Life.MACHINE == lives["bit_runout/phase kept"]
    assert [Life.SETUP] * 2 == [anew[f"bit_runout/setup {face}"] for face in "AB"]
    assert (Life.MACHINE, 0.02) == pins["bit_runout/growth"]


def test_wear_lasts_with_what_wears():
    """Holes in the bed go on wearing from blank to blank; each blank brings holes of its own."""
    worn = {**DOWELS, "wear": {**ONE, "bias": 0.005}}
    models = {of: model_of({**worn, "wear_of": of}, {}).linear for of in ("bed", "blank")}
    lives = {of: {s.life for s in model.sources if s.name == "wear"} for of, model in models.items()}

    assert {"bed": {Life.MACHINE}, "blank": {Life.BLANK}} == lives


@pytest.mark.parametrize("way", WAYS)
def test_what_is_drawn_in_a_setup_acts_by_its_face(way: str):
    """A draw of setup A can only have moved what was cut in setup A; a draw of setup B comes too late for it.

    Of two pockets the first holds the blank in setup A, the second in setup B.
    """
    model = every_source(WAYS[way])
    met = set()
    for source, rows in zip(model.linear.sources, model.linear.source_rows, strict=True):
        for face, other in ((0, 1), (1, 0)):
            pocket = ("nest", "second nest")[face] if "second" in way else "no nest"
            if source.part.endswith(f"setup {'AB'[face]}") or source.part in (pocket, f"{pocket} x"):
                met.add(face)
                assert not model.by_face[other, :, rows].any(), source.key
                assert model.by_face[face, :, rows].any(), source.key

    assert {0, 1} == met


@pytest.mark.parametrize("way", ["fence by hand", "nest", "dowels", "four pins"])
def test_seating_shift_and_homing_are_of_one_setup(way: str):
    """Each of these stands in the list of sources once a setup; homing again comes after face A."""
    parts = [(s.name, s.part) for s in every_source(WAYS[way]).linear.sources]

    assert [("clamping_shift", "setup A"), ("clamping_shift", "setup B")] == [p for p in parts if "clamp" in p[0]]
    assert [("rehoming", "setup B")] == [p for p in parts if p[0] == "rehoming"]


@pytest.mark.parametrize(
    ("method", "name"),
    [
        (PINS, "pin_clearance"),
        ({**DOWELS, "push": "left"}, "pin_clearance"),
        (FOUR, "pin_clearance"),
        (NEST, "nest_clearance"),
    ],
    ids=["pins", "pushed dowels", "four pins", "nest"],
)
def test_play_stands_in_the_stack_under_its_name(method: dict[str, Any], name: str):
    """What the play does is a line of the stack, as the page of results calls it."""
    stack = check(make_job(method), trials=100).methods[0].pairs[0].stack

    assert [name] == [entry.source for entry in stack if entry.source.endswith("clearance")]


@pytest.mark.parametrize(
    ("method", "centre"),
    [(PINS, (90.0, 55.0)), (BORES, (90.0, 30.0)), (CUT_NEST, (85.0, 55.0))],
    ids=lambda v: str(v)[:20],
)
def test_travel_acts_by_both_faces_alike(method: dict[str, Any], centre: tuple[float, float]):
    """Travel too long by s carries what was cut with face A, and what was cut with face B, outward from the middle.

    The blank comes back to where the holes, or the outline, were cut, so each face is out by s times the way from
    there: D = e_B - e_A is -s by way of A and +s by way of B along the axis; nothing is left.
    """
    by_face = model_of(method, {"machine_scale_x": ONE}, *POINTS).by_face[:, :, 0].reshape(2, 2, 2)
    away = np.column_stack([X - centre[0], np.zeros(2)])

    assert by_face[0] == pytest.approx(-away)
    assert by_face[1] == pytest.approx(away)


def test_what_moves_between_the_faces_acts_by_face_b():
    """Face A was cut before the blank grew: only where it lies, and what is cut, in setup B knows of it."""
    for way, method in WAYS.items():
        model = every_source(method)
        for source, rows in zip(model.linear.sources, model.linear.source_rows, strict=True):
            if source.name in ("moisture", "temperature"):
                assert not model.by_face[0, :, rows].any(), (way, source.key)
                assert model.by_face[1, :, rows].any(), (way, source.key)


@pytest.mark.parametrize("way", WAYS)
def test_keys_of_the_draws_stay_what_they_are(way: str):
    """The key of a draw is its random stream: a seed gives the same parts only as long as no key changes."""
    text = (Path(__file__).parent / "keys.txt").read_text(encoding="utf-8").strip()
    blocks = {head: lines.split("\n  ") for head, _, lines in (b.partition("\n  ") for b in text.split("\n\n")[1:])}
    linear = every_source(WAYS[way]).linear

    drawn = [drawn.key for drawn in (*linear.sources, *linear.contacts)]
    assert sorted(blocks["every way"] + blocks[way]) == sorted(drawn)


#: Drawn along x and along y.
VECTORS = {"positioning", "lost_motion", "clamping_shift", "rehoming", "hole_position", "bit_runout"}


@pytest.mark.parametrize("way", WAYS)
def test_what_is_drawn_along_two_axes(way: str):
    """Shifts have an x and a y; all else is one number, and so is the growth of a cut by runout."""
    for source in every_source(WAYS[way]).linear.sources:
        vector = source.name.removeprefix("locator_") in VECTORS and source.part != "growth"
        assert (2 if vector else 1) == source.rows, source.key


def test_places_near_each_other_are_one_place():
    """Within 1 mm along the edge, 1 mm included; another edge has places of its own, however near."""
    ledger = Ledger()
    first = ledger.place("left edge", (0.0, 30.0), SAME_SPOT)

    assert "left edge at 0, 30" == first
    assert [first] * 3 == [ledger.place("left edge", (0.0, y), SAME_SPOT) for y in (29.0, 30.5, 31.0)]
    assert "left edge at 0, 31.1" == ledger.place("left edge", (0.0, 31.1), SAME_SPOT)
    assert "front edge at 0.4, 30" == ledger.place("front edge", (0.4, 30.0), SAME_SPOT)
