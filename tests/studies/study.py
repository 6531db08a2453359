"""The studies: where they are, their run.py and their stored answers."""

from __future__ import annotations

import importlib.util
import json
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

FOLDER = Path(__file__).parents[2] / "studies"
STUDIES = sorted(path.parent for path in FOLDER.glob("*/run.py"))


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
