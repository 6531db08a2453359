from __future__ import annotations

import re

import pytest

from flipcheck.errors import JobError
from tests.job.sample import SAMPLE, changed, only_problem, problems


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        (
            "goal = 0.9",
            "goal = 95",
            3,
            r"goal: needed a share between 0 and 1, both excluded; came 95\. Try: 0\.95 \[out-",
        ),
        ("goal = 0.9", "goal = true", 3, r"goal: needed a plain number; came true \[not-a-number\]"),
        ("goal = 0.9", "goal = nan", 3, r"goal: needed a plain number; came nan \[not-a-number\]"),
        ('units = "mm"', 'units = "inch"', 2, r'units: needed "mm" or "in"; came "inch"\. Try: "in" \[not-a-choice\]'),
        ('"left-right"', '"leftright"', 4, r'flip: needed "left-right", .*Try: "left-right" \[not-a-choice\]'),
        ('flip = "left-right"\n', "", None, r'flip: needed flip, such as flip = "left-right" \[missing-key\]'),
        ('title = "Lamp foot"', "title = 5", 1, r"title: needed a name in quotes; came 5 \[bad-name\]"),
        ('title = "Lamp foot"', 'title = "a\\u001bb"', 1, r'printable characters on one line; came "a\\x1bb"'),
        (
            "size = [200, 100, 12]",
            "size = [200, 100]",
            7,
            r"blank\.size: .* such as size = .*list of 2 \[wrong-count\]",
        ),
        ("size = [200, 100, 12]", "size = [1, 2, 3, 4]", 7, r"blank\.size: .*came a list of 4 \[wrong-count\]"),
        ("size = [200, 100, 12]", "size = [200, 100, 0]", 7, r"size, item 3: needed a value above 0; came 0 \[out-of"),
        ("size = [200, 100, 12]", 'size = "big"', 7, r'blank\.size: .*came "big" \[wrong-kind\]'),
        (
            "[blank]\nsize = [200, 100, 12]",
            "blank = 5",
            6,
            r"blank: needed \[blank\] with its keys; came 5 \[wrong-kind\]",
        ),
        ("[blank]\nsize = [200, 100, 12]", "", None, r"blank: needed \[blank\] with size = .*\[missing-key\]"),
        (
            "size = [200, 100, 12]",
            'size = ["200", 100, 12]',
            7,
            r"item 1: .*without quotes for the job's own units \[no-u",
        ),
        ("size = [200, 100, 12]", 'size = ["3 kg", 100, 12]', 7, r"which is neither a length nor an angle \[wrong-dim"),
        ("size = [200, 100, 12]", 'size = ["9 ells", 100, 12]', 7, r'a unit of length.*came "9 ells" \[unknown-unit\]'),
        (
            "size = [200, 100, 12]",
            'size = ["wide", 100, 12]',
            7,
            r'a number and a unit.*"wide" \[unreadable-quantity\]',
        ),
        ("size = [200, 100, 12]", "size = [2e6, 100, 12]", 7, r"a length below 1 km; came 2000000 \[too-large\]"),
        (
            "bit_runout",
            "bit_runnout",
            12,
            r'errors\.bit_runnout: .*came "bit_runnout"\. Try: bit_runout \[unknown-key\]',
        ),
        ("bit_runout", "wobble", 12, r'errors\.wobble: needed a key that is known here; came "wobble" \[unknown-key\]'),
        ("bit_runout = 0.02", "bit_runout = -1", 12, r"bit_runout: needed a value of 0 or more; came -1 \[negative\]"),
        ("bit_runout = 0.02", "bit_runout = { limit = 1 }", 12, r"bit_runout: needed a length.*a table \[wrong-kind\]"),
        ('name = "bore"\n', "", 14, r"pairs, item 1: name: needed the key name \[missing-key\]"),
        ('name = "bore"', 'name = " "', 15, r'pairs, item 1: name: needed a name in quotes; came " " \[bad-name\]'),
        (
            'name = "bolt"',
            'name = "bore"',
            21,
            r'pairs "bore": name: needed a name of its own.*"bore" twice \[duplicate',
        ),
        ('kind = "web"', 'kind = "wed"', 42, r'"hole", "slot", "outline" or "web"; came "wed"\. Try: "web" \[not-a-ch'),
        (
            'kind = "web"\n',
            "",
            40,
            r'"floor": kind: needed kind = "hole" or "slot" or "outline" or "web" \[missing-key\]',
        ),
        ('kind = "web"', "kind = 5", 42, r'"floor": kind: needed .*came 5 \[not-a-choice\]'),
        ("at = [60, 55]", "at = 60", 17, r'pairs "bore": at: needed a value such as at = .*came 60 \[wrong-kind\]'),
        ("at = [60, 55]", "at = [60, 55, 1]", 17, r'pairs "bore": at: .*came a list of 3 \[wrong-count\]'),
        (
            "at = [60, 55]",
            "at = [60]",
            17,
            r'pairs "bore": at: needed a value such as .*came a list of 1 \[wrong-count\]',
        ),
        ("angle = 30\n", "", 27, r'pairs "groove": angle: needed .* \[missing-key\]'),
        (
            "allowed = 0.15",
            "allowed = 0",
            18,
            r'pairs "bore": allowed: needed a value above 0; came 0 \[out-of-range\]',
        ),
        ("allowed = 0.15", "alowed = 0.15", 18, r'"bore": alowed: .*came "alowed"\. Try: allowed \[unknown-key\]'),
        (
            "stop_at = 20",
            "minutes = -1\nstop_at = 20",
            61,
            r"minutes: needed a value of 0 or more; came -1 \[negative\]",
        ),
        (
            "stop_at = 20",
            "rail = 1\nstop_at = 20",
            61,
            r"rail: needed rail = true or rail = false; came 1 \[wrong-kind\]",
        ),
        ("stop_at = 20\n", "", 55, r'methods "rail": stop_at: needed the key stop_at \[missing-key\]'),
        (
            'corner = "front-left"',
            'corner = "left-front"',
            66,
            r'corner: needed "front-left", .*"left-front".*\[not-a-c',
        ),
        ('[[methods]]\nname = "corner"', "[[methods]]\nname = 5", 64, r"methods, item 3: name: .*came 5 \[bad-name\]"),
    ],
)
def test_one_thing_to_mend(old: str, new: str, line: int | None, message: str) -> None:
    """A single slip gives a single problem: its line, its key with the item's name, what was needed and what came."""
    problem = only_problem(changed((old, new)))
    assert line == problem.line
    assert re.search(message, str(problem)), str(problem)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("0.05", r"is 0\.05 a standard deviation or a limit\?; came 0\.05\. Try: { std = 0\.05 } or .*\[bare-spread\]"),
        ('"0.05 mm"', r'is "0\.05 mm" a standard deviation or a limit\?.*Try: { std = "0\.05 mm" }.*\[bare-spread\]'),
        ("[1]", r"positioning: needed a spread: { std = \.\.\. }.*came a list of 1 \[wrong-kind\]"),
        ("true", r"positioning: needed a spread.*came true \[wrong-kind\]"),
        ("{}", r"positioning: needed exactly one of std, limit and total; came an empty table \[spread-form\]"),
        ("{ bias = 1 }", r"exactly one of std, limit and total; came none of them \[spread-form\]"),
        ("{ std = 1, limit = 1 }", r"exactly one of std, limit and total; came std and limit \[spread-form\]"),
        ("{ std = -1 }", r"positioning\.std: needed a spread of 0 or more; came -1\. Try: bias .*\[negative\]"),
        ('{ limit = 1, shape = "normal" }', r"needed sigmas, since a normal has no end.*\[spread-option\]"),
        (
            "{ limit = 1, sigmas = 2 }",
            r'positioning\.sigmas: needed sigmas only beside shape = "normal".*came no shape.*\[spread',
        ),
        ('{ std = 1, shape = "normal", sigmas = 2 }', r"positioning\.sigmas: .*with limit or total.*\[spread-option\]"),
        (
            '{ limit = 1, shape = "normal", sigmas = 0 }',
            r"sigmas: needed a number of sigmas above 0.*came 0 \[out-of-range",
        ),
        (
            "{ limit = 1, top = 0.5 }",
            r'positioning\.top: needed shape = "trapezoid" beside top; came no shape \[spread-option',
        ),
        ('{ limit = 1, shape = "arcsine", top = 0.5 }', r'beside top; came shape = "arcsine" \[spread-option\]'),
        ('{ limit = 1, shape = "trapezoid", top = 1.5 }', r"top: needed a ratio of top to base from 0 to 1; came 1\.5"),
        (
            '{ limit = 1, shape = "square" }',
            r'positioning\.shape: needed "normal", "uniform".*came "square".*\[not-a-choice',
        ),
        ("{ sdt = 0.01 }", r'positioning\.sdt: needed a key that is known here; came "sdt"\. Try: std \[unknown-key\]'),
        ('{ std = "1 deg" }', r"positioning\.std: needed a length.*which is an angle \[wrong-dimension\]"),
        ('"+-0.05"', r"positioning\.limit: needed a unit after the number.*\[no-unit\]"),
    ],
)
def test_a_spread_to_mend(written: str, message: str) -> None:
    """A spread that says too little, too much or the wrong thing is one problem on its line."""
    problem = only_problem(changed(("{ std = 0.01 }", written)))
    assert 10 == problem.line
    assert re.search(message, str(problem)), str(problem)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "{ diameter = 6, limit = 0.005 }",
            "6",
            r'"dowels": pin: needed a table with a diameter.*Try: { diameter = 6 }',
        ),
        (
            "{ diameter = 6, limit = 0.005 }",
            "{ limit = 0.005 }",
            r"pin\.diameter: needed the key diameter \[missing-key\]",
        ),
        ("diameter = 6, limit", "diameter = 6, limt", r'"dowels": pin\.limt: .*Try: limit \[unknown-key\]'),
        ("diameter = 6, limit", "diametre = 6, limit", r'"dowels": pin\.diametre: .*Try: diameter \[unknown-key\]'),
        ("diameter = 6, ", "diameter = 6, bias = 1, std = 0.1, ", r'"dowels": pin: needed exactly one of std, limit'),
    ],
)
def test_a_size_to_mend(old: str, new: str, message: str) -> None:
    """A pin or hole without a diameter, or with a wrong spread, is one problem below its key."""
    told = str(only_problem(changed((old, new))))
    assert re.search(message, told), told


def test_all_problems_come_at_once() -> None:
    """Slips in every block are told together, by line, and a misspelt key does not hide what is impossible."""
    text = changed(
        ("goal = 0.9", "goal = 0"),
        ("{ std = 0.01 }", "0.01"),
        ("at = [60, 55]\nallowed", "at = [600, 55]\nallowd"),
        ("min_web = 2", "min_web = 2\nmin_wub = 2"),
        ("pins = [[100, 10], [100, 90]]", "pins = [[100, 10], [100, 190]]"),
        ("stop_at = 20", "stop_att = 120"),
    )
    assert [
        ("out-of-range", 3),
        ("bare-spread", 10),
        ("outside-blank", 17),
        ("unknown-key", 18),
        ("unknown-key", 47),
        ("outside-blank", 52),
        ("unknown-key", 62),
        ("beyond-edge", 62),
    ] == [(problem.code, problem.line) for problem in problems(text)]


def test_a_misspelt_block_is_read_as_what_was_meant() -> None:
    """A block with one letter missing is told once, and what is wrong inside it is still found on its line."""
    text = SAMPLE.replace("[[pairs]]", "[[pair]]").replace("allowed = 0.15", "allowed = -1")
    assert [("unknown-key", 14), ("out-of-range", 18)] == [(problem.code, problem.line) for problem in problems(text)]


@pytest.mark.parametrize("block", ["pairs", "methods"])
def test_a_job_needs_pairs_and_methods(block: str) -> None:
    """Without pairs there is nothing to judge, without methods nothing to compare."""
    start = SAMPLE.index(f"[[{block}]]")
    text = SAMPLE[:start] + (SAMPLE[SAMPLE.index("[[methods]]") :] if block == "pairs" else "")
    problem = only_problem(text)
    assert ("missing-key", f"at least one [[{block}]]") == (problem.code, problem.needed)


def test_single_brackets() -> None:
    """A block that may stand several times needs double brackets, once or twice in the file."""
    once = SAMPLE[: SAMPLE.index("[[pairs]]")] + '[pairs]\nname = "a"\n' + SAMPLE[SAMPLE.index("[[methods]]") :]
    assert ("wrong-kind", 14, "[[pairs]] with double brackets") == (
        (problem := only_problem(once)).code,
        problem.line,
        problem.hint,
    )
    twice = only_problem(SAMPLE.replace("[[pairs]]", "[pairs]"))
    assert ("toml-syntax", 20) == (twice.code, twice.line)
    assert "double brackets" in twice.hint


def test_an_item_that_is_no_table() -> None:
    """Pairs written as a list of anything but tables are told one by one."""
    text = "pairs = [5]\n" + SAMPLE[: SAMPLE.index("[[pairs]]")] + SAMPLE[SAMPLE.index("[[methods]]") :]
    problem = only_problem(text)
    assert ("wrong-kind", "pairs, item 1", "5", 1) == (problem.code, problem.where, problem.came, problem.line)


def test_too_many_points() -> None:
    """An outline of more than a thousand points is refused before it is measured."""
    points = ", ".join("[10, 10]" for _ in range(1001))
    problem = only_problem(changed(("[[10, 10], [190, 10], [190, 90], [10, 90]]", f"[{points}]")))
    assert ("wrong-count", "at most 1000 points", "a list of 1001") == (problem.code, problem.needed, problem.came)


def test_a_text_wrong_throughout_is_told_in_a_screenful() -> None:
    """Of very many problems the first forty are printed and the rest counted."""
    error = JobError(problems(SAMPLE + "[[pairs]]\n" * 100))
    lines = str(error).splitlines()
    assert (1 + 40 + 1, "  and 60 more") == (len(lines), lines[-1])
    assert 100 == len(error.problems)


def test_a_hole_size_without_a_bolt_is_told_once() -> None:
    """A hole_b that was only filled in from hole_a is not complained of."""
    problem = only_problem(changed(("bolt = 4\nhole_a", "allowed = 1\nhole_a")))
    assert ("option-unused", 'pairs "bolt": hole_a') == (problem.code, problem.where)


@pytest.mark.parametrize(
    ("old", "new", "came"),
    [
        ("std = 0.01", "std = -0.01", "-0.01"),
        ("std = 0.01", 'std = "-1/2 in"', '"-1/2 in"'),
        ("bit_runout = 0.02", 'bit_runout = "-1 thou"', '"-1 thou"'),
        ("allowed = 0.15", "allowed = -0.15", "-0.15"),
        ("diameter = 6,", "diameter = -6,", "-6"),
    ],
)
def test_a_refused_value_is_quoted_as_it_was_written(old: str, new: str, came: str) -> None:
    """A job in inches is not answered with a number in mm that nobody wrote."""
    text = changed((old, new), ('units = "mm"', 'units = "in"'), ("spacing = 100", 'spacing = "100 mm"'))
    assert came == only_problem(text).came
