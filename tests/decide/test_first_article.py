"""The first article, judged by an independent simulation: is the correction right, and does the mismatch go?"""

from __future__ import annotations

import json
import re
from typing import Any

import numpy as np
import pytest

from flipcheck.decide.first_article.correct import correct
from flipcheck.decide.first_article.expected import expected_of
from flipcheck.decide.first_article.fit import pattern_of
from flipcheck.decide.first_article.results import Correction
from flipcheck.errors import JobError
from flipcheck.flip.model import flip_model
from flipcheck.job.reader import parse_job
from flipcheck.job.readings.records import Diagonals, Distance, Offset, Readings
from flipcheck.job.records import Errors, Job
from flipcheck.show.first_article.plain import article_to_json
from flipcheck.show.first_article.text import article_to_text
from tests.independent.batch import Batch, mismatch
from tests.independent.jobs import random_job, to_toml

PLACES = [30 + 25j, 150 + 25j, 30 + 90j, 150 + 90j]
#: Small scatter from part to part, beside errors that last.
SCATTER: dict[str, Any] = {
    "positioning": {"std": 0.004},
    "clamping_shift": {"std": 0.004},
    "seating": {"std": 0.004},
    "probe_repeatability": {"std": 0.004},
    "stock_straightness": {"std": 0.004},
}
HAND: dict[str, Any] = {
    "fence_angle": {"std": 0.0006},
    "fence_position": {"std": 0.1},
    "stop_position": {"std": 0.15},
}
GEOMETRY: dict[str, Any] = {"machine_squareness": {"std": 0.0008}}
FENCE = {"kind": "fence", "fence": "front", "contacts": [20, 90], "stop": "left", "stop_at": 30, "set_by": "hand"}
PINS = {
    "kind": "pins",
    "pins": [[90, 8], [90, 102]],
    "pin": {"diameter": 6.0, "limit": 0.003},
    "hole": {"diameter": 6.02, "limit": 0.003},
}
PROBE = {"kind": "probe", "corner": "front-left", "touch_in": [25, 35], "stylus": "probe"}
#: What is registered how, turned which way, with which errors.
CASES: dict[str, tuple[dict[str, Any], str, dict[str, Any]]] = {
    "fence, left-right": (FENCE, "left-right", HAND),
    "fence, stop stays": ({**FENCE, "after_flip": "same side"}, "left-right", HAND),
    "fence, front-back": ({**FENCE, "fence": "left", "stop": "front"}, "front-back", HAND),
    "fence, diagonal": ({**FENCE, "after_flip": "same side"}, "diagonal", HAND),
    "fence by the machine": (
        {**FENCE, "set_by": "machine"},
        "left-right",
        {**GEOMETRY, "lost_motion": {"limit": 0.02}},
    ),
    "pins, left-right": (PINS, "left-right", {**GEOMETRY, "lost_motion": {"limit": 0.02}}),
    "pins, pushed": ({**PINS, "push": "left", "hole": {"diameter": 6.15, "limit": 0.003}}, "left-right", GEOMETRY),
    "pins, front-back": ({**PINS, "pins": [[14, 55], [166, 55]]}, "front-back", GEOMETRY),
    "pins beforehand, diagonal": (
        {**PINS, "pins": [[20, 20], [95, 95]], "holes": "beforehand", "second_hole": "slot"},
        "diagonal",
        {**GEOMETRY, "lost_motion": {"limit": 0.02}},
    ),
    "three pins": (
        {**PINS, "pins": [[20, 15], [160, 15], [90, 100]], "hole": {"diameter": 6.1, "limit": 0.003}},
        "left-right",
        {"machine_squareness": {"std": 0.0002}, "lost_motion": {"limit": 0.01}},
    ),
    "nest, pushed": (
        {"kind": "nest", "clearance": 0.4, "push": "left"},
        "left-right",
        {"machine_squareness": {"std": 0.0003}, "lost_motion": {"limit": 0.01}},
    ),
    "bores": (
        {"kind": "bores", "bores": [[40, 55], [140, 55]], "diameter": 10.0, "stylus": "probe"},
        "front-back",
        GEOMETRY,
    ),
    "probe, same side": (
        {**PROBE, "after_flip": "same side", "angle": "two touches", "spacing": 120},
        "left-right",
        {"probe_radius": {"std": 0.1}},
    ),
    "probe, same corner": (
        {**PROBE, "angle": "two touches", "spacing": 120},
        "left-right",
        {"machine_squareness": {"std": 0.002}},
    ),
    "probe, front-back": (
        {**PROBE, "after_flip": "same side", "angle": "two touches", "spacing": 120},
        "front-back",
        {"probe_radius": {"std": 0.1}},
    ),
    "probe on a fence, diagonal": (
        {
            **PROBE,
            "after_flip": "same side",
            "angle": "fence",
            "fence": "front",
            "contacts": [20, 90],
            "set_by": "hand",
        },
        "diagonal",
        {"probe_radius": {"std": 0.1}, **HAND},
    ),
}


def made(
    method: dict[str, Any], flip: str, errors: dict[str, Any], allowed: float = 0.08, **head: Any
) -> dict[str, Any]:
    """A job as the naive simulation takes it."""
    pairs = [
        {"name": f"at {place}", "kind": "hole", "at": [place.real, place.imag], "allowed": allowed} for place in PLACES
    ]
    job = {"title": "batch", "flip": flip, "blank": {"size": [180, 110, 12]}, "errors": {**SCATTER, **errors}}
    return {**job, "pairs": pairs, "methods": [{"name": "way", **method}], **head}


def read(job: dict[str, Any]) -> Job:
    """The same job as flipcheck takes it."""
    return parse_job(to_toml(job))


def readings(found: Any, noise: float = 0.0, seed: int = 1, u: float | None = None) -> Readings:
    """What a person writes down of mismatches of shape (places, parts)."""
    rng = np.random.default_rng(seed)
    seen = found + noise * (rng.standard_normal(found.shape) + 1j * rng.standard_normal(found.shape))
    return Readings(
        tuple(
            Offset(str(part), (place.real, place.imag), float(d.real), float(d.imag), u)
            for part, column in enumerate(seen.T)
            for place, d in zip(PLACES, column, strict=True)
        )
    )


def typed(x: float, y: float, turn: float, about: tuple[float, float], shear: float = 0.0) -> dict[str, Any]:
    """A movement of a program, as the naive simulation takes it."""
    return {"shift": x + 1j * y, "turn": turn, "shear": shear, "about": complex(*about)}


def by_hand(one: Correction | None) -> dict[str, Any]:
    """A correction, typed into the program of face B."""
    assert one is not None
    return typed(one.x, one.y, one.turn, one.about, one.shear)


@pytest.mark.parametrize("machine", range(3))
@pytest.mark.parametrize("case", CASES)
def test_the_mismatch_goes(case: str, machine: int):
    """Typed in, the whole correction takes the mean mismatch of later parts of the same machine away."""
    method, flip, errors = CASES[case]
    job = made(method, flip, errors)
    first = mismatch(Batch(job, 12, 10 + machine, machine=machine), PLACES)[:, :6]
    article = correct(read(job), readings(first, 0.003), trials=20_000)
    later = mismatch(Batch(job, 2000, 99, machine=machine), PLACES)
    mended = mismatch(Batch(job, 2000, 99, machine=machine), PLACES, b=by_hand(article.corrections[-1]))

    before, after = (np.abs(d.mean(axis=1)).max() for d in (later, mended))
    scatter = later.std(axis=1).max() / 6**0.5
    assert after < 0.003 + 2.5 * scatter
    assert after < before


@pytest.mark.parametrize(
    "case", [case for case in CASES if not re.match("pins,|three|nest|bores|probe, same corner", case)]
)
def test_half_at_the_shared_datum(case: str):
    """Half the correction in both programs, and the rest in face B, does what the whole does in face B alone."""
    method, flip, errors = CASES[case]
    job = made(method, flip, {**errors, "machine_squareness": {"std": 1e-6}}, allowed=0.02)
    first = mismatch(Batch(job, 12, 3, machine=5), PLACES)[:, :6]
    article = correct(read(job), readings(first), trials=2000)
    one, half = article.advice, article.shared
    assert half is not None
    assert half.turn == pytest.approx(0.5 * one.turn)
    later = [
        mismatch(Batch(job, 50, 99, machine=5), PLACES, a=a, b=b).mean(axis=1)
        for a, b in (
            (None, by_hand(one)),
            (
                typed(half.x, half.y, half.turn, half.about),
                typed(half.x + half.rest_x, half.y + half.rest_y, half.turn, half.about),
            ),
        )
    ]
    assert np.abs(later[0] - later[1]).max() < 0.001  # what is left is of second order


def test_no_half_where_holes_move_with_face_a():
    """The holes for the pins are cut with face A: what moves both programs moves face B only, and there is no half."""
    method, flip, errors = CASES["pins, pushed"]
    job = made(method, flip, errors)
    article = correct(read(job), readings(mismatch(Batch(job, 12, 3, machine=5), PLACES)[:, :6]), trials=2000)
    assert article.shared is None


@pytest.mark.parametrize("case", ["fence, left-right", "fence, stop stays", "fence, front-back", "fence, diagonal"])
@pytest.mark.parametrize("angle", [0.0015, -0.0015])
def test_a_shim_turns_the_fence(case: str, angle: float):
    """A shim under the end of the fence that is told, with the shift that goes with it, does what the turn does."""
    method, flip, errors = CASES[case]
    job = made(method, flip, errors)
    fixed = {"fence_angle": angle}
    first = mismatch(Batch(job, 6, 3, machine=5, fixed=fixed), PLACES)
    article = correct(read(job), readings(first), trials=2000)
    shim = article.shim
    assert shim is not None
    assert shim.thickness == pytest.approx(abs(angle) * 70.0, abs=0.015)
    assert shim.over == 70.0
    world = Batch(job, 50, 99, machine=5, fixed=fixed, shim=(shim.at, shim.thickness))
    shimmed = mismatch(world, PLACES, b=typed(shim.x, shim.y, 0.0, (0.0, 0.0)))
    turned = mismatch(Batch(job, 50, 99, machine=5, fixed=fixed), PLACES, b=by_hand(article.advice))
    assert np.abs(shimmed.mean(axis=1) - turned.mean(axis=1)).max() < 0.002  # of second order


def test_squaring_both_programs_takes_the_shear_out():
    """X of both programs let grow with Y as told, what is left of the mismatch is a shift and a turn."""
    method, flip, errors = CASES["probe, same corner"]
    job, fixed = made(method, flip, errors), {"machine_squareness": 0.0015}
    first = mismatch(Batch(job, 6, 3, machine=5, fixed=fixed), PLACES)
    article = correct(read(job), readings(first), trials=2000)
    square = article.squareness
    assert square is not None
    assert square.value == pytest.approx(0.0015, abs=3.0 * square.std)
    assert "machine_squareness" == article.causes[0].source
    sheared = {"shear": square.value}
    world = Batch(job, 50, 99, machine=5, fixed=fixed)
    d = mismatch(world, PLACES, a=sheared, b=sheared).mean(axis=1)
    # PLACES are the corners of a rectangle: a turn moves opposite sides alike, a shear does not
    shear = 0.5 * ((d[2] - d[0]).real / 65.0 + (d[1] - d[0]).imag / 120.0)
    assert abs(shear) < 0.0002


@pytest.mark.parametrize(
    ("case", "fixed", "source", "value"),
    [
        ("fence, left-right", {"fence_angle": 0.0014}, "fence_angle", 0.0014),
        ("fence, stop stays", {"stop_position": -0.3}, "stop_position", -0.3),
        ("fence, front-back", {"fence_angle": -0.0012}, "fence_angle", -0.0012),
        ("fence, diagonal", {"fence_angle": -0.0012}, "fence_angle", -0.0012),
        ("fence by the machine", {"machine_squareness": 0.002}, "machine_squareness", 0.002),
        ("pins, left-right", {"machine_squareness": -0.0015}, "machine_squareness", -0.0015),
        ("probe, same side", {"probe_radius": 0.2}, "probe_radius", 0.2),
        ("probe, front-back", {"probe_radius": -0.2}, "probe_radius", -0.2),
        ("probe on a fence, diagonal", {"fence_angle": 0.0015}, "fence_angle", 0.0015),
    ],
)
def test_the_cause_is_found(case: str, fixed: dict[str, float], source: str, value: float):
    """A known error is named as the likeliest cause, with its size and sign."""
    method, flip, errors = CASES[case]
    job = made(method, flip, errors)
    quiet = dict.fromkeys(("fence_angle", "fence_position", "stop_position", "machine_squareness", "probe_radius"), 0.0)
    first = mismatch(Batch(job, 12, 3, machine=5, fixed=quiet | fixed), PLACES)[:, :6]
    article = correct(read(job), readings(first, 0.002), trials=2000)
    cause = article.causes[0]
    assert source == cause.source
    assert cause.largest > 0.8
    if cause.value is not None:  # a hand-set stop on either side has two places
        assert cause.value == pytest.approx(value, abs=4.0 * cause.std + 1e-9)
        assert cause.std < 0.5 * cause.before


def test_chances_and_causes_are_worth_what_they_say():
    """Over many machines drawn from the job, the chance told is the share that lines up, and the cause is right."""
    method, flip, errors = CASES["fence, stop stays"]
    job = made(method, flip, errors | {"seating": {"std": 0.02}, "stop_position": {"std": 0.04}})
    told, good, sure, right = [], [], [], []
    for machine in range(40):
        first = mismatch(Batch(job, 3, machine, machine=machine), PLACES)
        article = correct(read(job), readings(first), trials=2000, rng=machine)
        later = Batch(job, 400, 1000 + machine, machine=machine)
        good.append((np.abs(mismatch(later, PLACES, b=by_hand(article.advice))) <= 0.08).all(axis=0).mean())
        told.append(article.chance.estimate)
        lasting = {key[0]: float(values[0]) for key, values in later.known.items()}
        angle, stop = lasting["fence_angle"], lasting["stop_position"]
        # known answers: the fence turns face B by twice its angle, about the middle of the front at the height of the
        # stop; a stop that stays doubles
        turned = np.array([2j * angle * (place - (90 + 30j)) for place in PLACES])
        sizes = {"fence_angle": np.sqrt(np.mean(np.abs(turned) ** 2)), "stop_position": abs(2 * stop)}
        true = max(sizes, key=lambda name: sizes[name])
        sure.append(article.causes[0].largest)
        right.append(article.causes[0].source == true)
    scatter = np.std(np.subtract(told, good)) / 40**0.5
    assert np.mean(told) == pytest.approx(np.mean(good), abs=4.0 * scatter + 0.01)
    assert np.mean(right) == pytest.approx(np.mean(sure), abs=4.0 * (0.25 / 40) ** 0.5)


def field(shift: complex = 0j, turn: float = 0.0, parts: int = 5, scatter: float = 0.01, seed: int = 1) -> Any:
    """Mismatches of parts that scatter by their shift, of a pattern known exactly, shape (places, parts)."""
    rng = np.random.default_rng(seed)
    centre = sum(PLACES) / len(PLACES)
    mean = np.array([shift + 1j * turn * (place - centre) for place in PLACES])
    new = scatter * (rng.standard_normal(parts) + 1j * rng.standard_normal(parts))
    return mean[:, None] + new + 0.001 * rng.standard_normal((len(PLACES), parts))


def plain(**errors: Any) -> Job:
    """A job of a fence by hand, with a scatter of 0.01 mm from part to part."""
    given = {"clamping_shift": {"std": 0.00707}, "positioning": {"std": 0.0005}, **HAND, **errors}
    return read({**made({**FENCE, "after_flip": "same side"}, "left-right", {}), "errors": given})


def test_intervals_hold_what_they_say():
    """The t intervals of shift and turn hold the truth in 95 of 100 first articles."""
    job, truth = plain(), {"shift_x": 0.02, "shift_y": -0.01, "turn": 0.0003}
    expected = expected_of(job, flip_model(job, job.methods[0]), 1)
    hits, tried = dict.fromkeys(truth, 0), 300
    for seed in range(tried):
        found = field(0.02 - 0.01j, 0.0003, parts=4, seed=seed)
        pattern = pattern_of(job, readings(found, 0.002, seed), expected).pattern
        assert pattern.interval_from == "repeats"
        for name, value in truth.items():
            term = pattern.term(name)
            hits[name] += term.low <= value <= term.high
    for count in hits.values():
        assert count / tried == pytest.approx(0.95, abs=4.0 * (0.95 * 0.05 / tried) ** 0.5)


def test_few_parts_are_judged_by_the_job():
    """One part, or two, say nothing of the scatter: the intervals are those of the scatter that the job expects."""
    for parts in (1, 2):
        pattern = correct(plain(), readings(field(0.05, parts=parts)), trials=1000).pattern
        term = pattern.term("shift_x")
        assert pattern.interval_from == "job"
        assert term.expected_scatter == pytest.approx(0.01, abs=0.0005)
        assert term.high - term.low == pytest.approx(2 * 1.96 * 0.01 / parts**0.5, rel=0.05)
        assert term.real


def test_noise_is_left_alone():
    """What cannot be told from scatter is not corrected, and it is told how many parts would do."""
    article = correct(plain(), readings(field(0.004, parts=5, seed=2)), trials=1000)
    assert article.advice.name == "none"
    assert (0.0, 0.0, 0.0) == (article.advice.x, article.advice.y, article.advice.turn)
    assert article.coupons.needed is None or article.coupons.needed > 5


def test_scatter_beyond_the_job_is_seen_and_counted():
    """Parts that scatter three times as much as the job says are told so, and more is left to chance."""
    calm, wild = (correct(plain(), readings(field(0.2, scatter=s, parts=20)), trials=20_000) for s in (0.01, 0.03))
    assert () == calm.pattern.scattered
    assert ("shift_x", "shift_y") == wild.pattern.scattered
    assert wild.pattern.term("shift_x").scatter == pytest.approx(0.03, rel=0.6)
    assert wild.chance.estimate < calm.chance.estimate - 0.01


def test_readings_that_scatter_more_than_is_said():
    """What no pattern fits, beyond what the job and u expect, is taken for the uncertainty of the readings."""
    rough = correct(plain(), readings(field(0.2, parts=10), 0.05, seed=3), trials=1000).pattern
    assert rough.noise == pytest.approx(0.05, rel=0.4)
    assert 0.0 == correct(plain(), readings(field(0.2, parts=10), 0.05, seed=3, u=0.05), trials=1000).pattern.noise


def test_parts_that_scatter_less_than_the_job_says():
    """Parts that hardly scatter are believed more than the job would: the mean is then known better."""
    calm = correct(plain(clamping_shift={"std": 0.2}), readings(field(0.05, parts=8)), trials=1000)
    assert {"shift_x", "shift_y"} <= set(calm.pattern.calm)
    assert calm.corrections[0].x == pytest.approx(calm.pattern.term("shift_x").value, rel=0.05)


def test_what_is_real_may_do_no_harm():
    """Where correcting would win nothing it is left alone, though it is real."""
    job = plain().model_copy(update={"pairs": tuple(p.model_copy(update={"allowed": 5.0}) for p in plain().pairs)})
    article = correct(job, readings(field(0.2)), trials=1000)
    assert article.pattern.real
    assert article.advice.name == "none"


def test_a_job_in_which_nothing_lasts():
    """With nothing that lasts, small readings are scatter; large ones are not explained, and corrected all the same."""
    job = plain()
    job = job.model_copy(update={"errors": Errors.model_validate({"clamping_shift": {"std": 0.00707}})})
    calm, off = (correct(job, readings(field(size, parts=3, seed=4)), trials=1000) for size in (0.0, 0.3))
    assert ("none", ()) == (calm.advice.name, calm.causes)
    assert ["unexplained"] == [cause.source for cause in off.causes]
    assert off.advice.x == pytest.approx(0.3, abs=0.03)


def test_more_parts_leave_less():
    """Later parts scatter by sqrt(1 + 1/n) of the scatter of one (published as 1.41, 1.15, 1.10, 1.05)."""
    growth = correct(plain(), readings(field(0.2, parts=2)), trials=1000).coupons.growth
    assert {1: 1.41, 2: 1.22, 3: 1.15, 5: 1.10, 10: 1.05} == {n: round(g, 2) for n, g in growth.items()}


def test_one_place_tells_only_the_shift():
    """A coupon at one place shows no turn, shear or scale; with two along X a turn looks like a shear."""
    at_one = Readings(tuple(Offset(str(part), (30.0, 25.0), 0.1, 0.05) for part in range(3)))
    pattern = correct(plain(), at_one, trials=1000).pattern
    assert ["shift_x", "shift_y"] == [term.name for term in pattern.terms]
    assert {"turn": (), "shear": ()} == pattern.confused
    along_x = Readings(tuple(Offset(str(p), (x, 25.0), 0.1, 0.05 + x / 1000) for p in range(3) for x in (30.0, 150.0)))
    pattern = correct(plain(), along_x, trials=1000).pattern
    assert ["shift_x", "shift_y", "turn"] == [term.name for term in pattern.terms]
    assert {"shear": ("turn",)} == pattern.confused
    assert pattern.term("turn").value == pytest.approx(0.001)


def test_parts_measured_at_different_places():
    """Parts that cannot be fitted one by one are fitted together."""
    offsets = []
    for part, place in enumerate(PLACES):
        d = 0.1 - 0.05j + 0.002j * (place - (90 + 57.5j))
        offsets.append(Offset(str(part), (place.real, place.imag), d.real, d.imag))
    pattern = correct(plain(), Readings(tuple(offsets)), trials=1000).pattern
    assert not pattern.by_part
    assert pattern.interval_from == "job"
    assert [0.1, -0.05, 0.002, 0.0] == pytest.approx([term.value for term in pattern.terms[:4]])


def test_what_the_job_does_not_know():
    """A turn far beyond what the job allows is said to be unexplained, and is corrected all the same."""
    found = field(turn=0.012, parts=5)
    article = correct(plain(), readings(found), trials=2000)
    assert article.pattern.unexplained < 1e-6
    assert "unexplained" in [cause.source for cause in article.causes]
    full = article.corrections[1]
    assert full.turn == pytest.approx(0.012, rel=0.01)


def test_gross_errors_have_names():
    """A shift of the thickness, of a bit or of a plate, another unit, another sign: each is named."""
    job = plain()

    def suspected(readings: Readings, job: Job = job, **tools: float) -> list[str]:
        return [suspect.what for suspect in correct(job, readings, trials=1000, **tools).suspects]

    assert "the shift in x equals the thickness of the blank" in suspected(readings(field(12.01)))
    assert "the shift in y equals the radius of the bit" in suspected(readings(field(-3.175j)), bit=6.35)
    assert "the shift in x equals the diameter of the bit" in suspected(readings(field(6.34)), bit=6.35)
    assert "the shift in y equals the thickness of the touch plate" in suspected(readings(field(9.98j)), plate=10.0)
    assert "the shift in x equals the length of the blank less its width" in suspected(readings(field(-70.0)))
    biased = plain(probe_radius={"std": 0.02, "bias": 0.6})  # which a fence does not know of
    assert "the shift in y equals the bias of probe_radius" in suspected(readings(field(0.6j)), biased)
    inches = job.model_copy(update={"units": "in"})
    assert "the job would explain the readings if they were in millimetres" in suspected(
        readings(field(0.15 * 25.4)), inches
    )
    mirrored = readings(np.conj(field(turn=0.0015, scatter=0.001)))
    assert any("dy with the other sign" in what for what in suspected(mirrored))
    unturned = np.array([180.0 - 2.0 * place.real for place in PLACES])[:, None] + field()
    assert any("its program is not mirrored" in what for what in suspected(readings(unturned)))
    assert [] == suspected(readings(field(0.1)))


def test_sizes_without_a_direction():
    """Pins alone tell how far and not which way: nothing is corrected, and the chance stays that of the job."""
    pins = tuple(Distance(str(part), (30.0, 25.0), 0.1 + 0.01 * part) for part in range(3))
    article = correct(plain(), Readings(distances=pins), trials=1000)
    assert article.advice is None
    assert article.pattern is None
    assert article.by_job == article.chance
    (size,) = article.sizes
    assert (3, None) == (size.readings, size.expected)
    assert size.size == pytest.approx(0.11)
    with_steps = correct(plain(), Readings(readings(field(0.06 + 0.08j)).offsets, pins), trials=1000)
    assert with_steps.sizes[0].expected == pytest.approx(0.1, abs=0.02)


def test_diagonals_tell_the_squareness():
    """falling² - rising² = 4 g x y, by hand: sides 300 and 400, Y leaning 1 mm/m towards -X; the cause takes it up."""
    lean = 0.001
    rising, falling = np.hypot(300 - lean * 400, 400), np.hypot(300 + lean * 400, 400)
    one = Diagonals("1", 300.0, 400.0, rising, falling, 0.02)
    assert one.squareness == pytest.approx(lean, rel=1e-9)
    # d g / d diagonal = diagonal / (2 x y): 500 / 240000 each, twice
    assert one.squareness_u() == pytest.approx(2**0.5 * 500 / 240_000 * 0.02, rel=1e-3)
    job = plain(machine_squareness={"std": 0.001})
    article = correct(job, Readings(readings(field(0.1)).offsets, diagonals=(one,)), trials=1000)
    cause = next(cause for cause in article.causes if cause.source == "machine_squareness")
    assert article.diagonal.value == pytest.approx(lean)
    assert cause.std < 0.0001


def test_no_readings_are_refused():
    """Nothing measured is a job to mend, not a crash."""
    with pytest.raises(JobError, match="no-readings"):
        correct(plain(), Readings())


def test_the_same_answer_on_any_number_of_threads():
    """The same readings, trials and seed give the same answer."""
    seen = readings(field(0.1, 0.001))
    one, two = (correct(plain(), seen, trials=40_000, threads=threads) for threads in (1, 3))
    assert one == two


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_any_job_has_an_answer(seed: int):
    """Whatever is registered how and turned which way, readings of any number have an answer that can be written."""
    rng = np.random.default_rng(seed)
    job = read(random_job(seed))
    length, width, _ = job.blank.size
    places = [(float(x), float(y)) for x, y in rng.random((1 + seed % 4, 2)) * (length, width)]
    seen = [Offset(str(p), at, *rng.normal(0.0, 0.1, 2)) for p in range(1 + seed % 3) for at in places]
    for method in job.methods:
        article = correct(job, Readings(tuple(seen)), method.name, trials=500)
        assert 0.0 <= article.chance.low <= article.chance.estimate <= article.chance.high <= 1.0
        assert 1.0 == pytest.approx(sum(cause.largest for cause in article.causes) or 1.0)
        assert json.loads(article_to_json(article))["method"] == method.name
        assert "Caution" in article_to_text(article)
