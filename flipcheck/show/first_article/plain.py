"""The first article as plain data and as JSON: lengths in the units of the job, angles in rad, scales as ratios."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flipcheck.show.error_sizes import in_unit, unit_of
from flipcheck.show.plain import chance_to_plain, json_text, length_to_plain

if TYPE_CHECKING:
    from flipcheck.decide.first_article.pattern import Pattern, Term
    from flipcheck.decide.first_article.results import (
        Article,
        Cause,
        Correction,
        Coupons,
        Shared,
        Shim,
        SizeOnly,
        Suspect,
    )
    from flipcheck.flip.frames import Point


def article_to_json(article: Article) -> str:
    """The first article as JSON text."""
    return json_text(article_to_plain(article))


def article_to_plain(article: Article) -> dict[str, Any]:
    """The first article as dicts, lists, text and numbers; None where there is nothing."""
    units = article.units
    return {
        "title": article.title,
        "units": units,
        "goal": article.goal,
        "flip": article.flip,
        "method": article.method,
        "kind": article.kind,
        "trials": article.trials,
        "seed": article.seed,
        "left_out": list(article.left_out),
        "parts": article.parts,
        "readings": article.readings,
        "pattern": article.pattern and _pattern(article.pattern, units),
        "suspects": [_suspect(one, units) for one in article.suspects],
        "causes": [_cause(cause, units) for cause in article.causes],
        "chance": {
            "by_job": chance_to_plain(article.by_job),
            "as_read": article.as_read and chance_to_plain(article.as_read),
            "corrected": chance_to_plain(article.chance),
        },
        "meets_goal": article.meets_goal,
        "advice": article.advice and article.advice.name,
        "corrections": [_correction(one, units) for one in article.corrections],
        "shared": article.shared and _shared(article.shared, units),
        "shim": article.shim and _shim(article.shim, units),
        "squareness": article.squareness
        and {
            "value": article.squareness.value,
            "std": article.squareness.std,
            "chance": chance_to_plain(article.squareness.chance),
        },
        "coupons": article.coupons and _coupons(article.coupons),
        "diagonals": article.diagonal
        and {"rectangles": article.diagonal.rectangles, "value": article.diagonal.value, "u": article.diagonal.u},
        "sizes": [_size(size, units) for size in article.sizes],
        "grown": article.grown
        and {
            "along_x": length_to_plain(article.grown.along_x, units),
            "along_y": length_to_plain(article.grown.along_y, units),
        },
    }


def _shared(half: Shared, units: str) -> dict[str, Any]:
    return {
        "x": length_to_plain(half.x, units),
        "y": length_to_plain(half.y, units),
        "turn": half.turn,
        "about": _point(half.about, units),
        "rest": {"x": length_to_plain(half.rest_x, units), "y": length_to_plain(half.rest_y, units)},
    }


def _shim(shim: Shim, units: str) -> dict[str, Any]:
    return {
        "fence": shim.fence,
        "at": length_to_plain(shim.at, units),
        "thickness": length_to_plain(shim.thickness, units),
        "over": length_to_plain(shim.over, units),
        "x": length_to_plain(shim.x, units),
        "y": length_to_plain(shim.y, units),
    }


def _size(size: SizeOnly, units: str) -> dict[str, Any]:
    return {
        "at": _point(size.at, units),
        "feature": size.feature or None,
        "readings": size.readings,
        "size": length_to_plain(size.size, units),
        "expected": length_to_plain(size.expected, units),
    }


def _pattern(pattern: Pattern, units: str) -> dict[str, Any]:
    return {
        "about": _point(pattern.about, units),
        "terms": [_term(term, units) for term in pattern.terms],
        "confused": {name: list(others) for name, others in pattern.confused.items()},
        "by_part": pattern.by_part,
        "interval_from": pattern.interval_from,
        "misfit": length_to_plain(pattern.misfit, units),
        "scattered": list(pattern.scattered),
        "noise": length_to_plain(pattern.noise, units),
        "calm": list(pattern.calm),
        "unexplained": pattern.unexplained,
        "real": pattern.real,
    }


def _term(term: Term, units: str) -> dict[str, Any]:
    def told(value: float | None) -> float | None:
        return length_to_plain(value, units) if term.name.startswith("shift") else value

    return {
        "name": term.name,
        "value": told(term.value),
        "low": told(term.low),
        "high": told(term.high),
        "real": term.real,
        "scatter": told(term.scatter),
        "expected_scatter": told(term.expected_scatter),
    }


def _suspect(suspect: Suspect, units: str) -> dict[str, Any]:
    sizes = suspect.kind == "size"
    numbers = (length_to_plain(n, units) if sizes else n for n in (suspect.seen, suspect.same_as))
    return {"kind": suspect.kind, "what": suspect.what, **dict(zip(("seen", "same_as"), numbers, strict=True))}


def _cause(cause: Cause, units: str) -> dict[str, Any]:
    unit = unit_of(cause.source, units)
    now, std, before = (None if n is None else in_unit(n, unit) for n in (cause.value, cause.std, cause.before))
    return {
        "source": cause.source,
        "part": cause.part or None,
        "largest": cause.largest,
        "makes": length_to_plain(cause.size, units),
        "unit": unit if now is not None else None,
        "value": now,
        "std": std,
        "before": before,
        "alike": list(cause.alike),
    }


def _correction(one: Correction, units: str) -> dict[str, Any]:
    return {
        "name": one.name,
        "x": length_to_plain(one.x, units),
        "y": length_to_plain(one.y, units),
        "turn": one.turn,
        "shear": one.shear,
        "about": _point(one.about, units),
        "chance": chance_to_plain(one.chance),
    }


def _coupons(worth: Coupons) -> dict[str, Any]:
    return {
        "parts": worth.parts,
        "growth": {str(n): growth for n, growth in worth.growth.items()},
        "at_most": chance_to_plain(worth.at_most),
        "needed": worth.needed,
    }


def _point(point: Point, units: str) -> list[float | None]:
    return [length_to_plain(value, units) for value in point]
