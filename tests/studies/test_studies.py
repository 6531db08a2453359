"""What each study says is what it still computes: its answers, the table in its README, and that it says its limits."""

from __future__ import annotations

import importlib.util
import json
import re
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

STUDIES = sorted(path.parent for path in (Path(__file__).parents[2] / "studies").glob("*/run.py"))
HEADINGS = ["Question", "Method", "Answer", "Limits"]


def name(study: Path) -> str:
    return study.name


@cache
def module(study: Path) -> ModuleType:
    """The run.py of a study."""
    spec = importlib.util.spec_from_file_location(f"study_{study.name.replace('-', '_')}", study / "run.py")
    assert spec is not None
    assert spec.loader is not None
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


@cache
def stored(study: Path) -> dict[str, Any]:
    return json.loads((study / "expected.json").read_text(encoding="utf-8"))


def leaves(tree: Any, path: str = "") -> dict[str, Any]:
    """Every number, text and None of nested lists and dicts, by its path."""
    if not isinstance(tree, dict | list):
        return {path: tree}
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    return {place: leaf for key, branch in items for place, leaf in leaves(branch, f"{path}/{key}").items()}


def test_there_are_studies():
    """The folder of studies is found, and each of its folders holds a whole study."""
    folders = sorted(path for path in (Path(__file__).parents[2] / "studies").iterdir() if path.is_dir())

    assert [] != STUDIES
    assert folders == STUDIES
    for study in STUDIES:
        assert {"README.md", "expected.json", "job.toml", "run.py"} <= {path.name for path in study.iterdir()}


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_answers_are_those_of_today(study: Path):
    """The same trials and seed give the answers that are stored, to 1e-9."""
    expected = leaves(stored(study)["answer"])
    found = leaves(module(study).answer(stored(study)["trials"], stored(study)["seed"]))

    assert expected.keys() == found.keys()
    for place, value in expected.items():
        assert value == (pytest.approx(found[place], rel=0, abs=1e-9) if isinstance(value, float) else found[place]), (
            place
        )


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
