"""What each study says is what it still computes: its answers, the table in its README, and that it says its limits.

The stored answers come from many trials. Here a few trials with another seed must give the same within 4.5 standard
errors of both: of a share, those of counting; of a length, at most one over the root of the trials of itself, because
no distance here has a longer tail than that of a centred normal (root mean square 1/sqrt(2 N) of itself, 95 in 100
within: 0.95/sqrt(N)).
"""

from __future__ import annotations

import copy
import math
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flipcheck.show.ink import sheet
from tests.studies.study import FOLDER, STUDIES, module, name, stored

HEADINGS = ["Question", "Method", "By hand", "Answer", "Limits"]
TRIALS, SIGMAS = 16_384, 4.5
SIMULATED = {"p95", "rms", "chance"}  # keys under which simulated numbers are stored


@cache
def few(study: Path) -> dict[str, Any]:
    """The answers of a few trials with another seed."""
    return module(study).answer(TRIALS, stored(study)["seed"] + 1)


def leaves(tree: Any, path: tuple[Any, ...] = ()) -> dict[tuple[Any, ...], Any]:
    """Every number, text and None of nested lists and dicts, by its path."""
    if not isinstance(tree, dict | list):
        return {path: tree}
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    return {place: leaf for key, branch in items for place, leaf in leaves(branch, (*path, key)).items()}


def allowed(path: tuple[Any, ...], value: float, trials: int) -> float:
    """How far a number of a few trials may lie from one of so many."""
    (kind,) = SIMULATED.intersection(path)
    size = math.sqrt(max(value * (1.0 - value), 1.0 / TRIALS)) if kind == "chance" else value
    return SIGMAS * size * math.sqrt(1.0 / TRIALS + 1.0 / trials) + 1e-9


def differences(expected: dict[str, Any], found: dict[str, Any], trials: int) -> list[str]:
    """The answers that are not those expected."""
    mine, theirs = leaves(found), leaves(expected)
    assert theirs.keys() == mine.keys()
    return [
        f"{path}: {value} stored, {mine[path]} found"
        for path, value in theirs.items()
        if not abs(value - mine[path]) <= allowed(path, value, trials)
    ]


def test_there_are_studies():
    """The folder of studies is found, and each of its folders holds a whole study."""
    folders = sorted(path for path in FOLDER.iterdir() if path.is_dir() and path.name != "__pycache__")

    assert [] != STUDIES
    assert folders == STUDIES
    for study in STUDIES:
        assert {"README.md", "expected.json", "job.toml", "run.py"} <= {path.name for path in study.iterdir()}


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_answers_are_those_of_today(study: Path):
    """A few trials with another seed give the answers that are stored."""
    assert [] == differences(stored(study)["answer"], few(study), stored(study)["trials"])


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_wrong_answers_are_noticed(study: Path):
    """Each stored length that is a tenth too large, each stored share that is 0.05 off, would be reported."""
    right = stored(study)["answer"]
    for path, value in leaves(right).items():
        if value < 1e-9:
            continue
        wrong = copy.deepcopy(right)
        branch = wrong
        for key in path[:-1]:
            branch = branch[key]
        branch[path[-1]] = abs(value - 0.05) if "chance" in path else 1.1 * value

        assert [] != differences(wrong, right, stored(study)["trials"]), path


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_hand_and_computer_agree(study: Path):
    """The formulas of the README give the stored answers, within what each of them promises."""
    cases = module(study).by_hand(stored(study)["answer"])
    off = [case for case in cases if not abs(case.computed - case.by_hand) <= case.within * case.by_hand + 1e-3]

    assert len(cases) > 10
    assert [] == off


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_figures_are_drawn(study: Path):
    """Every figure of a study draws its lines, with axes that say what they are."""
    for draw in module(study).figures(stored(study)["answer"]).values():
        _, ax = sheet(6.8, 4.0)
        draw(ax)

        assert len(ax.lines) > 1
        assert "" not in (ax.get_xlabel(), ax.get_ylabel())


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_readme_shows_the_answers(study: Path):
    """The table in a README is made of the stored answers."""
    (shown,) = re.findall(r"^```text\n(.*?)^```", (study / "README.md").read_text(encoding="utf-8"), flags=re.M | re.S)

    assert module(study).table(stored(study)["answer"]) == shown


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_readme_says_what_a_study_must(study: Path):
    """A README states question, method, answer and limits, in this order, none of them empty."""
    text = (study / "README.md").read_text(encoding="utf-8")
    sections = re.findall(r"^## (.+)\n+((?:(?!^## ).*\n)*)", text, flags=re.M)

    assert HEADINGS == [heading for heading, _ in sections]
    assert all(len(body.split()) > 20 for _, body in sections)


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_rule_stands_among_the_rules(study: Path):
    """The rule that a study's answer begins with is one sentence, and stands word for word on the page of rules."""
    answer = (study / "README.md").read_text(encoding="utf-8").partition("## Answer\n\n")[2]
    (rule,) = re.findall(r"\A\*\*(.+?)\*\*\n\n", answer, flags=re.S)
    page = (FOLDER.parent / "docs" / "explanation" / "rules-of-thumb.md").read_text(encoding="utf-8")

    assert 1 == rule.count(".") - len(re.findall(r"\d\.\d", rule))
    assert " ".join(rule.split()) in " ".join(page.split())
