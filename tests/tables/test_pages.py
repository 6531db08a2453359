"""The page of materials shows the tables as they are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from flipcheck.tables.expansion import EXPANSIONS
from flipcheck.tables.sheet import SHEETS
from flipcheck.tables.wood import PANELS, SPECIES

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "materials.md").read_text(encoding="utf-8")


def rows(section: str) -> dict[str, list[str]]:
    """The cells of the table in a section, by the name in the first of them."""
    text = re.split(r"(?m)^## ", PAGE)
    (part,) = (one for one in text if one.startswith(f"{section}\n"))
    lines = [line.strip("| ").split(" | ") for line in part.splitlines() if line.startswith("| `")]
    return {cells[0].strip("`"): cells[1:] for cells in lines}


def test_wood():
    """Radial and tangential, in per cent for each per cent, and whether printed (W) or computed (S)."""
    shown = rows("Wood")

    assert set(SPECIES) == set(shown)
    for name, wood in SPECIES.items():
        radial, tangential, source = shown[name]
        assert (wood.radial, wood.tangential) == pytest.approx((float(radial) / 100.0, float(tangential) / 100.0))
        assert source == ("W" if "Table 13-5" in wood.source else "S")


def test_panels():
    """In the plane, and through."""
    assert {name: [f"{100 * p.tangential:.3f}", f"{100 * p.radial:.3f}"] for name, p in PANELS.items()} == rows(
        "Panels"
    )
    assert all(panel.along == panel.tangential for panel in PANELS.values())


def test_heat():
    """In the plane and through, in ppm, with the source."""
    expected = {name: [f"{1e6 * e.along:g}", f"{1e6 * e.thickness:g}", e.source] for name, e in EXPANSIONS.items()}

    assert expected == rows("Heat")
    assert all(one.along == one.across for one in EXPANSIONS.values())


def test_sheets():
    """Every sheet has its row and its source."""
    assert {name: sheet.source for name, sheet in SHEETS.items()} == {
        name: cells[-1] for name, cells in rows("Sheets").items()
    }
