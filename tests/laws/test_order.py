"""Laws of what must not matter: the order of things, who else is looked at, how work is shared, how it is stored."""

from __future__ import annotations

import json
import pickle
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipcheck import check, compare, parse_job
from flipcheck.job.reader import text_of
from flipcheck.show.plain import to_json, to_plain
from tests.independent.jobs import to_toml

from .answers import BITS, assert_chances_agree, assert_same, figures, simulated
from .strategies import WAYS, jobs, law, read

BLOCKS = 3 * 16_384 - 100
SEEDS = st.integers(0, 2**32)


def shuffled(items: list[Any], by: random.Random) -> list[Any]:
    return by.sample(items, len(items))


@law(6)
@given(data=st.data(), plain=st.booleans())
def test_the_order_of_pairs_only_orders_the_results(data: st.DataObject, plain: bool):
    """Pairs told in another order have the same results in that order; on plain trials, draw by draw."""
    job = data.draw(jobs(data.draw(st.sampled_from(WAYS))))
    order = data.draw(st.permutations(range(len(job["pairs"]))))
    one, other = read(job), read({**job, "pairs": [job["pairs"][i] for i in order]})
    assert_same([figures(one)[i] for i in order], figures(other))
    first, second = simulated(one, plain=plain), simulated(other, plain=plain)
    first = first.in_order(order)
    assert_chances_agree(first, second)
    if plain:
        assert pytest.approx([c.estimate for c in first.chances], abs=BITS) == [c.estimate for c in second.chances]


@law(2)
@given(data=st.data(), seed=SEEDS, plain=st.booleans())
def test_a_method_answers_for_itself(data: st.DataObject, seed: int, plain: bool):
    """The results of a method are the same to the last bit alone, beside others, and in whatever order they stand."""
    ways = data.draw(st.permutations(WAYS))[:3]
    job = data.draw(jobs(*ways))
    how: dict[str, Any] = {"trials": 5000, "rng": seed, "plain": plain}
    one = compare(read(job), **how)
    other = compare(read({**job, "methods": job["methods"][::-1]}), **how)
    by_name = {method["name"]: method for method in to_plain(other)["methods"]}
    for method in to_plain(one)["methods"]:
        assert method == by_name[method["name"]]
        assert method == to_plain(check(read(job), method["name"], **how))["methods"][0]


@law(4)
@given(data=st.data())
def test_the_order_of_errors_does_not_matter(data: st.DataObject):
    """A job is the same, and so is its answer, whichever of its errors and of the keys of a block is written first."""
    job = data.draw(jobs(data.draw(st.sampled_from(WAYS))))
    by = data.draw(st.randoms(use_true_random=False))
    other = {**job, "errors": dict(shuffled(list(job["errors"].items()), by))}
    other["methods"] = [dict(shuffled(list(method.items()), by)) for method in job["methods"]]
    one, other = read(job), read(other)
    assert one == other
    assert to_json(check(one, trials=1000)) == to_json(check(other, trials=1000))


@pytest.mark.parametrize("plain", [False, True])
@law(3)
@given(data=st.data(), seed=SEEDS, threads=st.integers(2, 7))
def test_threads_leave_the_bytes_alone(plain: bool, data: st.DataObject, seed: int, threads: int):
    """The same job and seed give the same bytes however many threads share the blocks."""
    job = read(data.draw(jobs(data.draw(st.sampled_from(WAYS)))))
    alone, shared = (check(job, trials=BLOCKS, rng=seed, plain=plain, threads=n) for n in (1, threads))
    assert to_json(alone) == to_json(shared)


@law(4)
@given(data=st.data())
def test_a_result_comes_back_from_its_json(data: st.DataObject):
    """The JSON of a result says the same numbers to the last bit, in plain ASCII."""
    ways = data.draw(st.permutations(WAYS))[:2]
    result = compare(read(data.draw(jobs(*ways))), trials=1000)
    text = to_json(result)
    assert text.isascii()
    assert to_plain(result) == json.loads(text)


@law(12)
@given(data=st.data())
def test_a_job_comes_back_however_it_was_kept(data: st.DataObject, tmp_path_factory: pytest.TempPathFactory):
    """A job read from a file, from its text, through JSON, or from a pickle is one and the same job."""
    table = data.draw(jobs(data.draw(st.sampled_from(WAYS))))
    text = to_toml(table)
    job = parse_job(text)
    file = Path(tmp_path_factory.mktemp("job")) / "job.toml"
    file.write_text(text, encoding="utf-8")
    assert text == text_of(file)
    assert job == parse_job(to_toml(json.loads(json.dumps(table))))
    assert job == pickle.loads(pickle.dumps(job))
