"""Sizes that a job takes from a standard by name: fits, dowel pins, bolts and their holes, collets."""

from __future__ import annotations

import re
from typing import Any

from flipcheck.job.fits import from_table, like_a_fit, nominal_size, read_fit
from flipcheck.job.quantities import LONGEST_TEXT, MM_PER_UNIT, RefusedError, length, shown
from flipcheck.job.stated import Stated
from flipcheck.tables import clearance_holes, collets, iso286
from flipcheck.tables.dowels import ASME_SERIES, Dowel, asme_dowel, iso_dowel

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_STANDARD = re.compile(r"\s*(?:ISO|ASME)\b", re.IGNORECASE)
#: A length may follow the diameter, as in the standard's own designations; no question here turns on it.
_ISO_DOWEL = re.compile(
    rf"\s*ISO\s*(?P<number>2338|8734)\s*-?\s*(?P<size>{_NUMBER})\s*(?:mm\b)?\s*(?P<of_class>[a-z]+[0-9]+)?"
    rf"(?:\s*[x×]\s*{_NUMBER})?\s*",
    re.IGNORECASE,
)
_ASME_DOWEL = re.compile(
    rf"\s*ASME\s*B18\.8\.2\s*-?\s*(?P<size>\.?{_NUMBER}(?:/[0-9]+)?)\s*(?:in\b|\")?\s*(?P<series>{'|'.join(ASME_SERIES)})?"
    r"\s*",
    re.IGNORECASE,
)
_THREAD = re.compile(rf"\s*(?P<thread>M{_NUMBER})(?:\s*[x×]\s*{_NUMBER})?\s*")
_COLLET = re.compile(r"\s*ISO\s*15488\b\s*(?:class\s*(?P<of>[0-9]{1,3})\b)?[\s,-]*(?P<bore>.*?)\s*", re.IGNORECASE)


def named_size(text: str, hole: bool, units: str) -> Stated | None:
    """The middle of the limits of a pin or a hole, which remembers them; None for a text that names neither.

    Raises
    ------
    RefusedError: as for `fits.read_fit`, and unreadable-fit for a pin of a standard that cannot be read.
    """
    if len(text) <= LONGEST_TEXT and _STANDARD.match(text):
        dowel = _dowel(text)
        if hole:
            raise RefusedError("hole-or-shaft", 'the class of a hole, such as "6 H7"', shown(text))
        return _between(dowel, text, dowel.source)
    if not like_a_fit(text):
        return None
    zone = read_fit(text, units)
    if isinstance(zone, iso286.Fit):
        mine = zone.hole if hole else zone.shaft
        hint = f'"{mine.nominal:.9g} {mine.name}"'
        raise RefusedError(
            "hole-or-shaft", "one class: that of the hole beside hole, that of the pin beside pin", shown(text), hint
        )
    if zone.hole != hole:
        needed = "the class of a hole, in capitals" if hole else "the class of a shaft, in small letters"
        raise RefusedError("hole-or-shaft", needed, shown(text))
    return _between(zone, text, iso286.SOURCE)


def with_bolt(pair: dict[str, Any]) -> dict[str, Any]:
    """A hole pair as written, its bolt and its holes turned from names into lengths.

    Raises
    ------
    RefusedError: not-in-table; hole-without-thread.
    """
    bolt = pair.get("bolt")
    named = _THREAD.fullmatch(bolt) if isinstance(bolt, str) and len(bolt) <= LONGEST_TEXT else None
    thread = named["thread"] if named else None
    found: dict[str, Any] = {}
    if thread is not None:
        diameter = from_table(clearance_holes.thread_diameter, thread, at=("bolt",))
        found["bolt"] = Stated(diameter, str(bolt).strip(), "nominal diameter of the thread")
    for key in ("hole_a", "hole_b"):
        fit = pair.get(key)
        if not isinstance(fit, str) or not fit.strip().isalpha():
            continue
        if thread is None:
            needed = f'bolt = "M6", or another thread, beside {key} = {shown(fit)}'
            raise RefusedError("hole-without-thread", needed, "none", at=(key,))
        size = from_table(clearance_holes.clearance_hole, thread, fit.strip(), at=(key,))
        found[key] = Stated(size, fit.strip(), f"{thread} of {clearance_holes.SOURCE}")
    return {**pair, **found}


def named_runout(value: Any, units: str) -> Any:
    """The largest reading of a collet where `value` names one, such as "ISO 15488 class 2, 6 mm"; else `value` itself.

    Raises
    ------
    RefusedError: not-in-table; unreadable-quantity and the others of `fits.nominal_size`.
    """
    match = _COLLET.fullmatch(value) if isinstance(value, str) and len(value) <= LONGEST_TEXT else None
    if match is None:
        return value
    if not match["bore"]:
        needed = 'the bore of the collet beside its standard, such as "ISO 15488 class 2, 6 mm"'
        raise RefusedError("unreadable-quantity", needed, shown(value))
    of_class = int(match["of"] or 2)
    reading, distance = from_table(collets.collet_runout, nominal_size(match["bore"], units), of_class)
    return Stated(reading, value.strip(), f"class {of_class}, {distance:g} mm from the nose")


def _between(limits: iso286.Zone | Dowel, text: str, source: str) -> Stated:
    # Rounded so that "6 H7" is the same to the last bit as { diameter = 6.006, limit = 0.006 }.
    middle, half = round(0.5 * (limits.least + limits.most), 9), round(0.5 * (limits.most - limits.least), 9)
    return Stated(middle, " ".join(text.split()), source, half, limits.nominal)


def _dowel(text: str) -> Dowel:
    if iso := _ISO_DOWEL.fullmatch(text):
        return from_table(iso_dowel, f"ISO {iso['number']}", float(iso["size"]), (iso["of_class"] or "").lower())
    if asme := _ASME_DOWEL.fullmatch(text):
        inches = length(f"{asme['size']} in") / MM_PER_UNIT["in"]
        return from_table(asme_dowel, inches, (asme["series"] or "standard").lower())
    needed = 'a dowel pin, such as "ISO 8734 6", "ISO 2338 6 h8", "ASME B18.8.2 1/4" or "ASME B18.8.2 1/4 oversize"'
    raise RefusedError("unreadable-fit", needed, shown(text))
