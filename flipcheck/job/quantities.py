"""Quantities as people write them, turned into mm and rad.

A bare number is in the job's own units; a string carries its own: ``"0.25 in"``, ``"1 1/2 in"``, ``"0.5 mm/m"``. The
number is read here and only the unit goes to pint, so no expression is ever evaluated. Loading pint takes a few tenths
of a second: that happens when the first string with a unit is read, not before.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from flipcheck.tables import MM_PER_INCH

if TYPE_CHECKING:
    import pint

Units = Literal["mm", "in"]

MM_PER_UNIT: dict[str, float] = {"mm": 1.0, "in": MM_PER_INCH}
#: A part of a kilometre or an edge 6 degrees out of square is a slip of the pen: the model is one of small errors.
LONGEST, STEEPEST = 1e6, 0.1
LONGEST_TEXT = 40
#: Beyond this no stock is cut (K).
HOTTEST = 1000.0

_QUANTITY = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>[0-9]+)[ -]+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)          # 3/4, 1 1/2, 1-1/2
      |(?P<decimal>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?))\s*
    (?P<unit>[A-Za-z\u00b5\u03bc°%"'/]{0,20})\s*""",  # both signs for micro
    re.VERBOSE,
)
#: Signs of the shop that pint does not know, or knows as something else (its mil is an angle).
_SHOP_UNITS = {'"': "inch", "'": "foot", "mil": "thou", "mils": "thou"}

#: What one degree of each scale is in K.
_KELVIN = {"K": 1.0, "degC": 1.0, "\u00b0C": 1.0, "degF": 5.0 / 9.0, "\u00b0F": 5.0 / 9.0}

_EXAMPLES = {
    "length": '0.1, "0.25 in", "3/4 in", "5 thou" or "40 um"',
    "slope": '"0.5 mm/m", "0.1 deg" or "3 arcmin"',
    "angle": '30 or "30 deg"',
    "ratio": '"0.02 %", "200 ppm" or "0.2 mm/m"',
}
_ARTICLES = {"length": "a", "slope": "a", "angle": "an", "ratio": "a"}


class RefusedError(ValueError):
    """A value that cannot be taken as it stands.

    Attributes
    ----------
    code: Short name of the kind of problem.
    needed, came, hint: What was needed, what came instead (None: the value itself, as written), what to try.
    at: Keys below the refused value, where one of them is to blame.
    """

    def __init__(
        self, code: str, needed: str, came: str | None = None, hint: str = "", at: tuple[str | int, ...] = ()
    ) -> None:
        self.code, self.needed, self.came, self.hint, self.at = code, needed, came, hint, at
        super().__init__(f"needed {needed}; came {came}" if came else f"needed {needed}")


def printable(text: str) -> str:
    """Text that may be quoted back on a terminal: short, on one line, without control characters."""
    text = text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}..."
    return text if text.isprintable() else text.encode("unicode_escape").decode()


def shown(value: object) -> str:
    """A value as it is quoted back to the person: short, whatever came."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{printable(value)}"'
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**15 else "a very large number"
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    return str(value)[:LONGEST_TEXT]


def number(value: object) -> float:
    """A plain number, such as a goal or a share.

    Raises
    ------
    RefusedError: not-a-number for booleans, text, NaN and infinities.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        try:
            result = float(value)
        except OverflowError:
            result = math.inf
        if math.isfinite(result):
            return result
    raise RefusedError("not-a-number", "a plain number", shown(value))


def length(value: object, units: str = "mm") -> float:
    """A length in mm; bare numbers are in `units`, at most 10^6 mm either way.

    Raises
    ------
    RefusedError: not-a-number, no-unit, unknown-unit, wrong-dimension or too-large.
    """
    return _within(LONGEST, "a length below 1 km", _read(value, "length", MM_PER_UNIT[units]), value)


def slope(value: object) -> float:
    """A slope or small angle in rad, at most 0.1 rad (100 mm/m) either way; bare numbers are rad.

    Raises
    ------
    RefusedError: as for `length`.
    """
    hint = f'"{shown(value)} mm/m", if mm/m was meant' if not isinstance(value, str) else ""
    return _within(STEEPEST, "a slope below 100 mm/m (0.1 rad)", _read(value, "slope", 1.0), value, hint)


def ratio(value: object) -> float:
    """A ratio (relative error), at most 0.1 either way; bare numbers are ratios.

    Raises
    ------
    RefusedError: as for `length`.
    """
    hint = f'"{shown(value)} %", if per cent was meant' if not isinstance(value, str) else ""
    return _within(STEEPEST, "a ratio below 0.1 (10 %)", _read(value, "ratio", 1.0), value, hint)


def angle(value: object, radians: bool = False) -> float:
    """The direction of a slot in rad, at most a full turn either way; bare numbers are degrees unless `radians`.

    Raises
    ------
    RefusedError: as for `length`.
    """
    turn = 2.0 * math.pi
    return _within(turn, "an angle within 360 degrees", _read(value, "angle", 1.0 if radians else turn / 360.0), value)


def percentage(value: object) -> float:
    """A moisture content, or a change of it, as a ratio, at most 1 either way; bare numbers are per cent.

    Raises
    ------
    RefusedError: as for `length`.
    """
    return _within(1.0, "a moisture content below 100 %", _read(value, "ratio", 0.01), value)


def kelvin(value: object) -> float:
    """A temperature that is only compared with another, or a difference, in K; bare numbers are K or degC.

    Raises
    ------
    RefusedError: as for `length`.
    """
    match = _QUANTITY.fullmatch(value) if isinstance(value, str) and len(value) <= LONGEST_TEXT else None
    if match is not None and match["unit"] in _KELVIN:
        result = _number_in(match, str(value)) * _KELVIN[match["unit"]]
    elif isinstance(value, (str, dict, list)):
        code = "unknown-unit" if match is not None and match["unit"] else "unreadable-quantity"
        raise RefusedError(code, 'a temperature, such as 5, "5 K", "5 degC" or "9 degF"', shown(value))
    else:
        result = number(value)
    return _within(HOTTEST, "a temperature or a difference below 1000 K", result, value)


def number_and_unit(text: str) -> tuple[float, str]:
    """A number and the unit after it, empty where there is none; what the unit is worth is not looked at.

    Raises
    ------
    RefusedError: unreadable-quantity or too-large.
    """
    match = _QUANTITY.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        raise RefusedError("unreadable-quantity", 'a number, or a number and a unit, such as "0.5 mm/m"', shown(text))
    return _number_in(match, text), match["unit"]


def _within(most: float, needed: str, result: float, value: object, hint: str = "") -> float:
    if abs(result) > most:
        raise RefusedError("too-large", needed, shown(value), hint)
    return result


def _read(value: object, kind: str, bare: float) -> float:
    """`value` times `bare` when it is a number, converted by its own unit when it is a string."""
    if not isinstance(value, str):
        if isinstance(value, (dict, list)):
            raise RefusedError("wrong-kind", f"{_ARTICLES[kind]} {kind}, such as {_EXAMPLES[kind]}", shown(value))
        return number(value) * bare
    match = _QUANTITY.fullmatch(value) if len(value) <= LONGEST_TEXT else None
    if match is None:
        hint = "write the decimal with a point" if re.match(r"\s*[+-]?[0-9]+,[0-9]", value) else ""
        raise RefusedError("unreadable-quantity", f"a number and a unit, such as {_EXAMPLES[kind]}", shown(value), hint)
    if not match["unit"]:
        bare_number = value.strip()
        raise RefusedError(
            "no-unit",
            f"a unit after the number, such as {_EXAMPLES[kind]}",
            shown(value),
            f"{bare_number} without quotes for the job's own units"
            if kind == "length" and "/" not in bare_number
            else "",
        )
    return _number_in(match, value) * _factor(match["unit"], kind, value)


def _number_in(match: re.Match[str], value: str) -> float:
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"]:
        size = float(match["decimal"])
        if math.isinf(size):
            raise RefusedError("too-large", "a number that is not absurd", shown(value))
        return sign * size
    if int(match["bottom"]) == 0:
        raise RefusedError("unreadable-quantity", "a fraction whose lower number is not zero", shown(value))
    return sign * (int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"]))


def _factor(unit: str, kind: str, value: str) -> float:
    """What one `unit` is in mm, rad or as a plain ratio."""
    factor, dimension = _unit(unit)
    fits = {
        "length": ("a length",),
        "slope": ("a ratio", "an angle"),
        "angle": ("an angle", "a ratio"),
        "ratio": ("a ratio",),
    }[kind]
    if dimension == "unknown":
        raise RefusedError(
            "unknown-unit", f"a unit of {kind}, such as {_EXAMPLES[kind]}", shown(value), _nearest_unit(unit, fits)
        )
    if dimension not in fits:
        needed, came = f"{_ARTICLES[kind]} {kind}, such as {_EXAMPLES[kind]}", f"{shown(value)}, which is {dimension}"
        raise RefusedError("wrong-dimension", needed, came, _nearest_unit(unit, fits))
    return factor


def _nearest_unit(unit: str, fits: tuple[str, ...]) -> str:
    lower = unit.lower()
    return f'"{lower}", in small letters' if lower != unit and _unit(lower)[1] in fits else ""


@lru_cache(maxsize=256)
def _unit(unit: str) -> tuple[float, str]:
    """The factor to mm, rad or 1, and what it measures, "unknown" where pint has no such unit."""
    registry = _registry()
    try:
        one = registry.Quantity(1.0, registry.parse_units(_SHOP_UNITS.get(unit, unit)))
        base = one.to_base_units()
        if base.check("[length]"):
            # Rounded because pint multiplies its prefixes: a foot comes as 304.79999999999995 mm.
            return float(f"{one.m_as('mm'):.14g}"), "a length"
        if not base.dimensionless:
            return 0.0, "neither a length nor an angle"
        return float(f"{base.magnitude:.16g}"), "an angle" if "radian" in str(base.units) else "a ratio"
    except Exception:  # pint raises AttributeErrors, SyntaxErrors and plain assertions for text it cannot read
        return 0.0, "unknown"


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except Exception:  # no home, a full disk, a damaged cache: slower without it, but right
        return pint.UnitRegistry()
