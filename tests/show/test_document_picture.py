"""Pictures inside a document: the same shapes as matplotlib draws, in fewer letters."""

from __future__ import annotations

import io
import re

import matplotlib as mpl
import pytest
from matplotlib.figure import Figure

from flipcheck.show.document.picture import LETTER, inline, letters_once, of_figure

#: What says where a shape stands, how it is turned, and how large it is.
PLACES = re.compile(r'\b(?:d|x|y|width|height|points|transform|viewBox)="([^"]*)"')


def drawn() -> Figure:
    figure = Figure(figsize=(3.0, 2.0))
    ax = figure.add_subplot()
    ax.plot([0.0, 1.0, 3.0], [0.12345, 0.5, 0.2], marker="o")
    ax.hexbin([0.1, 0.2, 0.25], [0.2, 0.3, 0.25], gridsize=5)
    ax.set_xlabel("off, mm")
    ax.set_ylabel("turned on its side")
    return figure


def numbers(svg: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", " ".join(PLACES.findall(svg)))]


def test_every_shape_stays_where_it_was():
    """All numbers are those of matplotlib, to a thousandth of a point; the size of a letter to its last digit."""
    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path"}):
        drawn().savefig(out, format="svg", facecolor="white")
    bare = out.getvalue()
    bare = bare[bare.index("<svg") :]
    made = of_figure(drawn(), "one", "")

    assert numbers(bare) == pytest.approx(numbers(made.svg), abs=1e-3)
    assert set(re.findall(r"scale\([^)]*\)", bare)) == set(re.findall(r"scale\([^)]*\)", made.svg))
    assert len(made.svg) < 0.85 * len(bare)


def test_a_letter_stands_once_in_a_page():
    """Two pictures share their letters, and nothing else; what is referred to is there."""
    page = letters_once("".join(inline(of_figure(drawn(), name, "").svg) for name in ("one", "two")))
    names = re.findall(r' id="([^"]*)"', page)

    assert len(names) == len(set(names))
    assert set(re.findall(r'(?:href="#|url\(#)([^")]*)', page)) <= set(names)
    assert any(name.startswith(LETTER) for name in names)
    assert all(name.startswith((LETTER, "one-", "two-")) for name in names)
