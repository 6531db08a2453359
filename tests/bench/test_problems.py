"""The answers of the reference problems worked out without flipcheck: by characteristic functions, by quadrature."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.special import chndtr, j0, j1

from flipcheck.stack.monte_carlo.simulate import simulate
from tests.bench import problems as p

#: Standard deviation of a hole's own scatter along each axis: two cuts.
OWN = p.CUT * 2.0**0.5
_TURN = np.array([1.0, 1.0, 1.0 / p.BASE])


def passes(distance: np.ndarray, allowed: float) -> np.ndarray:
    """The chance that a hole passes whose pose alone puts it so far off: the Rice distribution, by scipy."""
    step = 2e-5
    table = _table(allowed, step)
    place = np.minimum(distance / step, len(table) - 2.0)
    below = place.astype(int)
    return table[below] + (place - below) * (table[below + 1] - table[below])


@cache
def _table(allowed: float, step: float) -> np.ndarray:
    return chndtr((allowed / OWN) ** 2, 2.0, (np.arange(0.0, 1.0, step) / OWN) ** 2)


def effects() -> list[tuple[str, np.ndarray]]:
    """What each error of R1 does to its pose after the turn, one row each, shape (rows, 3)."""
    found = []
    for turned in p._TURNED:
        pairs = {"runout": [], "play": []}
        for name, effect in p._SETUP.items():
            row = turned * np.array(effect) * _TURN
            kind = name.split()[0]
            pairs[kind].append(row) if kind in pairs else found.append((kind, row[None]))
        found += [(kind, np.array(rows)) for kind, rows in pairs.items()]
    return found


def r1_function(at: np.ndarray, play: str) -> np.ndarray:
    """Characteristic function of R1's pose, at points (N, 3); `play` anywhere in a disc or on a circle."""
    value = np.ones(len(at))
    for kind, rows in effects():
        k = np.linalg.norm(at @ rows.T, axis=1)
        if kind == "normal":
            value *= np.exp(-0.5 * (p.NORMAL * k) ** 2)
        elif kind == "uniform":
            value *= np.sinc(p.UNIFORM * k / np.pi)
        elif kind == "runout" or play == "circle":
            value *= j0((p.RUNOUT if kind == "runout" else p.PLAY) * k)
        else:
            x = np.maximum(p.PLAY * k, 1e-9)
            value *= 2.0 * j1(x) / x
    return value


def r1_chance(side: int, play: str) -> float:
    """The chance that all ten holes of R1 pass: its pose's density on a grid, by the Fourier transform."""
    std = {"normal": p.NORMAL, "uniform": p.UNIFORM / 3**0.5, "runout": p.RUNOUT / 2**0.5}
    std["play"] = p.PLAY / (2.0 if play == "disc" else 2.0**0.5)
    rows = np.vstack([std[kind] * row for kind, each in effects() for row in each])
    lower = np.linalg.cholesky(rows.T @ rows)
    steps = np.fft.fftfreq(side, 1.0 / side) * (np.pi / 7.0)
    at = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    values = r1_function(at @ np.linalg.inv(lower), play).reshape(side, side, side)
    density = np.fft.fftshift(np.fft.fftn(values).real).ravel() / side**3
    places = (np.arange(side) - side // 2) * (14.0 / side)
    x, y, turn = lower @ np.stack([axis.ravel() for axis in np.meshgrid(places, places, places, indexing="ij")])
    for hole_x, hole_y in p.HOLES:
        density = density * passes(np.hypot(x - hole_y * turn, y + hole_x * turn), p.R1_ALLOWED)
    return float(density.sum())


def r2_chance(nodes: int) -> float:
    """The chance that all ten holes of R2 pass: by Gauss's quadrature over the pitch error and the three plays."""
    c1, c2 = p.R2_PLAY
    node, weight = np.polynomial.legendre.leggauss(nodes)
    angle = 0.5 * np.pi * (node + 1.0)
    share = 0.5 * (node + 1.0)
    bend, slope = share * share * (3.0 - 2.0 * share), 6.0 * share * (1.0 - share)
    total = counted = 0.0
    # the overlap of the two circles changes its form where the pitch error is the difference of the clearances
    for low, high in ((-c1 - c2, c2 - c1), (c2 - c1, c1 - c2), (c1 - c2, c1 + c2)):
        pitches = low + (high - low) * bend
        counts = weight * slope * (high - low) * np.exp(-0.5 * (pitches / p.R2_PITCH) ** 2)
        for pitch, count in zip(pitches, counts, strict=True):
            left, right = max(-c1, -c2 - pitch), min(c1, c2 - pitch)
            along = 0.5 * (left + right) + 0.5 * (right - left) * np.cos(angle)
            chords = np.sqrt(np.maximum(c1**2 - along**2, 0.0)), np.sqrt(np.maximum(c2**2 - (along + pitch) ** 2, 0.0))
            places = weight * np.sin(angle) * chords[0] * chords[1]
            first, second = np.outer(chords[0], node)[:, :, None], np.outer(chords[1], node)[:, None, :]
            turn, middle = (second - first) / p.BASE, 0.5 * (first + second)
            good = np.ones(turn.shape)
            for x, y in p.HOLES:
                good *= passes(np.hypot(along[:, None, None] - turn * y, middle + turn * x), p.R2_ALLOWED)
            mean = np.einsum("ijk,i,j,k", good, places, weight, weight) / (4.0 * places.sum())
            total, counted = total + count * mean, counted + count
    return total / counted


def test_r1():
    """The chance of R1 stands as it is stated, with the play in a disc and on a circle."""
    assert p.R1_ANSWERS.chance == pytest.approx(r1_chance(48, "disc"), abs=3e-7)
    assert p.R1_LINEAR_CHANCE == pytest.approx(r1_chance(48, "circle"), abs=3e-7)


def test_r2():
    """The chance of R2 stands as it is stated."""
    assert p.R2_ANSWERS.chance == pytest.approx(r2_chance(16), abs=1e-7)


@pytest.mark.parametrize(("model", "answers"), [(p.r1(), p.R1_ANSWERS), (p.r2(), p.R2_ANSWERS)])
def test_models(model, answers):
    """The models are the problems: plain trials come to the answers within four standard errors."""
    trials = 300_000
    (estimate,) = simulate([model], trials, 5).estimates

    assert answers.chance == pytest.approx(estimate.chance.estimate, abs=4.0 * (0.25 / trials) ** 0.5)
    assert answers.p95 == pytest.approx(estimate.quantile(0, 0.95), abs=2.0 * estimate.quantile_error(0, 0.95))


def test_as_first_written_down():
    """The program that flipcheck is timed against works out the same problem."""
    rng, trials = np.random.default_rng(3), 100_000
    radii = p.radii_of(rng.standard_normal((52, trials)), rng.random((12, trials)))

    good = (radii <= p.R1_ALLOWED).all(axis=0).mean()
    assert p.R1_ANSWERS.chance == pytest.approx(good, abs=4.0 * (0.25 / trials) ** 0.5)
