"""How the materials of the shop grow with heat: linear, per kelvin, about room temperature.

Plastics are no single numbers: lists differ by a fifth to a half between grades and makers.
"""

from __future__ import annotations

from dataclasses import dataclass

_MICRO = 1e-6


@dataclass(frozen=True)
class Expansion:
    """Ratio of the size for each kelvin: along the grain, across it in the plane, and through the thickness."""

    along: float
    across: float
    thickness: float
    source: str


def _alike(micro: float, source: str) -> Expansion:
    return Expansion(micro * _MICRO, micro * _MICRO, micro * _MICRO, source)


_CALLISTER = "Callister, Fundamentals of Materials Science and Engineering, Table B.6"
_CRAWFORD = "Crawford, Plastics Engineering, Table 1.8"
_LIST = "a general engineering list"

#: Materials that are no wood.
EXPANSIONS: dict[str, Expansion] = {
    "aluminium": _alike(23.6, f"{_CALLISTER}, alloy 6061"),
    "steel": _alike(11.7, f"{_CALLISTER}, A36 and 1020"),
    "alloy steel": _alike(12.3, f"{_CALLISTER}, 4140"),
    "stainless steel": _alike(17.2, f"{_CALLISTER}, 304"),
    "brass": _alike(19.0, _LIST),
    "bronze": _alike(18.0, _LIST),
    "copper": _alike(17.0, _LIST),
    "cast iron": _alike(10.8, _LIST),
    "acrylic": _alike(70.0, f"{_CRAWFORD}; other lists 68 to 81"),
    "polycarbonate": _alike(65.0, "a plastics vendor's list; others 65 to 122"),
    "acetal": _alike(80.0, f"{_CRAWFORD}, homopolymer; copolymer 95; other lists 85 to 110"),
    "abs": _alike(73.8, _LIST),
    "hdpe": _alike(120.0, f"{_CRAWFORD}; other lists 100 to 200"),
    "pvc": _alike(70.0, "from memory; lists 50 to 100"),
    "fr4": Expansion(14.0 * _MICRO, 14.0 * _MICRO, 60.0 * _MICRO, "from memory; lists 12 to 17 in the plane"),
    "plywood": Expansion(6.1 * _MICRO, 6.1 * _MICRO, 30.0 * _MICRO, f"plane: APA, as quoted; thickness: {_LIST}"),
}

#: Solid wood of any species, as far as a general list goes. Drying out by heat outweighs it.
WOOD = Expansion(3.0 * _MICRO, 30.0 * _MICRO, 30.0 * _MICRO, _LIST)
