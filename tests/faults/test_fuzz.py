"""Texts by chance: made from the grammar of a job, or of any bytes. Set FLIPCHECK_DEEP for more of them."""

from __future__ import annotations

import os
import warnings
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flipcheck.decide.check import check
from flipcheck.errors import FlipcheckError, JobError
from flipcheck.job.reader import parse_job, read_job
from flipcheck.job.readings.file import parse_readings, read_readings
from flipcheck.job.records import Blank, Errors, Head, HolePair, OutlinePair, PinsMethod, ProbeMethod, WebPair
from flipcheck.show.to_mend import to_mend
from tests.faults.slips import JOB, READINGS
from tests.test_cli import shell

DEEP = int(os.environ.get("FLIPCHECK_DEEP", "0"))
quick = settings(
    max_examples=120 * max(1, DEEP),
    deadline=5000,
    derandomize=not DEEP,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.function_scoped_fixture],
)
some = settings(quick, max_examples=8 * max(1, DEEP), deadline=20_000)
few = settings(quick, max_examples=3 * max(1, DEEP), deadline=60_000)

records = (Blank, Errors, Head, HolePair, OutlinePair, PinsMethod, ProbeMethod, WebPair)
keys = st.sampled_from(sorted({key for record in records for key in record.model_fields})) | st.text(max_size=3)
numbers = st.integers(-3, 200) | st.floats() | st.sampled_from([1e300, -1e-300, 10**400, 5e-324])
units = st.sampled_from(["mm", "in", "um", "deg", "mm/m", "%", "kg", "", "mm/mm/mm", "%%", "'", '"', "µm", "mil", "∞"])
quantities = st.builds(lambda number, unit: f"{number} {unit}", numbers, units) | st.text(
    "0123456789/ .,eE+-±mµ%°", max_size=44
)
words = st.sampled_from(
    [
        "hole",
        "slot",
        "outline",
        "web",
        "pins",
        "fence",
        "probe",
        "nest",
        "bores",
        "left-right",
        "front",
        "x",
        "6 H7",
        "6 m6",
        "ISO 8734 6",
        "M6",
        "M",
        "medium",
        "ISO 15488 class 2, 6 mm",
        "+-0.1 mm",
        "two touches",
        "front-left",
        "in",
        "ring",
    ]
)
scalars = st.booleans() | numbers | quantities | words | st.text(max_size=6)
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["std", "limit", "total", "bias", "shape", "diameter", "top", "sigmas"]), inner, max_size=3
        )
    ),
    max_leaves=6,
)


def toml(value: object) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(key)} = {toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return f"[{', '.join(map(toml, value))}]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value if not 0xD800 <= ord(sign) < 0xE000) + '"'
    return str(value)


def ends_in_words(text: str, *, work: bool = True) -> bool:
    """Whether a text is a job, and then, if that is wanted, worked out or refused in words; else a traceback."""
    try:
        job = parse_job(text)
    except JobError as error:
        refused = error
    else:
        refused = None
    if refused:
        assert all(problem.needed and problem.where for problem in refused.problems)
        assert len(to_mend(refused)) < 60_000
        return False
    if not work:
        return True
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            check(job, trials=100, rng=1)
        except FlipcheckError as error:
            assert str(error)  # noqa: PT017
    return True


@quick
@given(st.data())
def test_jobs_of_the_grammar(data: st.DataObject):
    """Lines of a job replaced by a known key with any value, put in, doubled or taken out."""
    lines = JOB.split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        key = lines[at].split(" = ")[0] if " = " in lines[at] and data.draw(st.booleans()) else toml(data.draw(keys))
        line = f"{key} = {toml(data.draw(values))}"
        lines[at : at + data.draw(st.integers(0, 2))] = data.draw(
            st.sampled_from([[line], [line, lines[at]], [lines[at]] * 2, []])
        )
    ends_in_words("\n".join(lines), work=False)


@some
@given(st.data())
def test_numbers_of_a_job(data: st.DataObject):
    """Numbers of a job that is right replaced by others: most of these are jobs, and each is worked out or refused."""
    text = JOB
    for old in data.draw(
        st.lists(
            st.sampled_from(["0.01 }", "0.02\n", "0.15", "4.5", "6.05", "0.005", "12]", "15, 15", "100\n"]), max_size=2
        )
    ):
        number = data.draw(st.floats(1e-12, 1e5) | st.sampled_from([0.0, 1e-300, 5e-324, 1e6, 1e-9]))
        text = text.replace(
            old, f"{number}{' }' if '}' in old else ']' if ']' in old else ''}" + "\n" * old.endswith("\n"), 1
        )
    ends_in_words(text)


@quick
@given(st.binary(max_size=60), st.integers(0, len(JOB)), st.integers(0, 20), st.booleans())
def test_bytes_in_a_file(tmp_path: Path, junk: bytes, at: int, cut: int, readings: bool):
    """Any bytes in place of some of a file; nothing is written beside it."""
    right = (READINGS if readings else JOB).encode()
    at %= len(right)
    file = tmp_path / "any"
    file.write_bytes(right[:at] + junk + right[at + cut :])
    try:
        read_readings(file, parse_job(JOB)) if readings else read_job(file)
    except JobError as error:
        assert to_mend(error)  # noqa: PT017
    assert [file] == list(tmp_path.iterdir())


cells = st.one_of(
    quantities,
    st.sampled_from(
        ["", "1", "0.1", "A", "B", "bore", "bolt", "=1+1", "nan", "inf", "1_0", "1e999", '"', '"a""b"', "٣"]
    ),
    st.text(max_size=5),
)


@quick
@given(
    st.lists(st.lists(cells, max_size=14), max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n", "\r", "\x85", "\u2028"]),
    st.lists(
        st.sampled_from(["part", "pair", "x", "y", "u", "seen", "dx", "dy", "left", "pin", "hole", "rising", "?"]),
        max_size=8,
    ),
)
def test_readings_of_any_cells(rows: list[list[str]], separator: str, ending: str, head: list[str]):
    """Any headings, any cells, any line ends: readings or words."""
    text = ending.join([separator.join(head), *(separator.join(row) for row in rows)])
    try:
        parse_readings(text, parse_job(JOB))
    except JobError as error:
        assert to_mend(error)  # noqa: PT017


@few
@given(st.binary(max_size=30), st.integers(0, len(JOB) - 1), st.integers(0, 9))
def test_the_command_with_any_bytes(tmp_path: Path, junk: bytes, at: int, cut: int):
    """The command itself ends with a code and words, within a gigabyte, and leaves nothing behind."""
    resource = pytest.importorskip("resource")
    file = tmp_path / "any.toml"
    file.write_bytes(JOB.encode()[:at] + junk + JOB.encode()[at + cut :])
    run = shell("check", "any.toml", "--trials", "100", cwd=tmp_path)
    _, err = run.communicate(timeout=50)
    assert run.returncode in (0, 1, 2), err
    assert b"Traceback" not in err
    assert [file] == list(tmp_path.iterdir())
    assert resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss < 2**20  # in kB on Linux: a gigabyte
