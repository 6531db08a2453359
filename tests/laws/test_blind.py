"""Laws of what a way of registering cannot see."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given

from .answers import NANOMETRE, figures, simulated
from .strategies import BOTH_AXES, jobs, law, read


def assert_blind(table: dict[str, Any], *errors: str) -> None:
    """With these errors and without them the chances are the same, and none of them scatters a pair."""
    large = {"limit": 0.3, "bias": 0.1}
    kept = {key: spread for key, spread in table["errors"].items() if key not in errors}
    job = {**table, "errors": kept | dict.fromkeys(errors, large)}
    one, other = read(job), read({**table, "errors": kept})
    for pair, seen in zip(one.pairs, figures(one), strict=True):
        acting = {source for source, c in seen.covariance.items() if len(c) == 2 and np.trace(c) > NANOMETRE**2}
        assert not acting & set(errors), pair.name
    first, second = simulated(one, plain=True), simulated(other, plain=True)
    assert first.chances == second.chances
    assert pytest.approx(first.p95, rel=1e-9, nan_ok=True) == second.p95


@law(4)
@given(table=jobs("probe"))
def test_the_same_corner_is_blind_to_the_size_of_the_stock(table: dict[str, Any]):
    """A corner that is touched again from the other face is where it is, however long and wide the blank came out.

    Not so with the middle along one axis of the machine, where a diagonal turn makes another axis of the blank of it.
    """
    (method,) = table["methods"]
    method["after_flip"] = "same corner"
    if table["flip"] == "diagonal" and len(method.get("middle", [])) == 1:
        method["middle"] = []
    assert_blind(table, "stock_size")


@law(4)
@given(table=jobs("probe"))
def test_the_middle_is_blind_to_stylus_and_size(table: dict[str, Any]):
    """The middle between two opposite edges is the same with any stylus, and for a blank of any size."""
    table["methods"][0]["middle"] = ["x", "y"]
    assert_blind(table, "probe_radius", "stock_size")


@law(4)
@given(table=jobs("fence", flips=BOTH_AXES))
def test_a_stop_that_follows_its_edge_is_blind_to_the_size_of_the_stock(table: dict[str, Any]):
    """Where fence and stop meet the same two edges of the blank in both setups, its size is out of it."""
    fence, stop = ("front", "left") if table["flip"] == "left-right" else ("left", "front")
    table["methods"][0] |= {
        "fence": fence,
        "stop": stop,
        "contacts": [10, 60],
        "stop_at": 20,
        "after_flip": "same edge",
    }
    assert_blind(table, "stock_size")


@law(4)
@given(table=jobs("bores"))
def test_the_middle_of_a_bore_is_blind_to_the_edges(table: dict[str, Any]):
    """Whoever finds bores asks no edge of the blank, and not how thick the stylus is."""
    assert_blind(table, "stock_size", "stock_straightness", "probe_radius")
