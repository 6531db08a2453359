"""Dowel pins by the standards that name them: which diameters there are, and how thick each may be."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from flipcheck.errors import TableError
from flipcheck.tables import MM_PER_INCH, iso286

#: Nominal diameters, mm. The ends of ISO 8734 (1 to 20 mm) are those of its scope; the steps of both and the ends of
#: ISO 2338 are from memory.
ISO_DIAMETERS: dict[str, tuple[float, ...]] = {
    "ISO 2338": (0.6, 0.8, 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 40, 50),
    "ISO 8734": (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20),
}
#: Tolerance classes of ISO 286-1: unhardened pins come in two, hardened ones in one. Suppliers' pages name them.
ISO_CLASSES: dict[str, tuple[str, ...]] = {"ISO 2338": ("m6", "h8"), "ISO 8734": ("m6",)}

#: ASME B18.8.2-2000, hardened ground machine dowel pins: nominal size in 64ths of an inch, and nominal diameter in
#: inches as its table rounds it. Read in two makers' reprints of the table.
ASME = "ASME B18.8.2"
ASME_DIAMETERS: dict[int, float] = {
    4: 0.0625,
    5: 0.0781,
    6: 0.0938,
    8: 0.1250,
    10: 0.1562,
    12: 0.1875,
    16: 0.2500,
    20: 0.3125,
    24: 0.3750,
    28: 0.4375,
    32: 0.5000,
    40: 0.6250,
    48: 0.7500,
    56: 0.8750,
    64: 1.0000,
}
#: By how much the basic diameter exceeds the nominal one, and half its tolerance, inches (same table).
ASME_SERIES: dict[str, float] = {"standard": 0.0002, "oversize": 0.0010}
ASME_LIMIT = 0.0001


@dataclass(frozen=True)
class Dowel:
    """A dowel pin: what it is called, its nominal, least and largest diameter (mm), and which table has them."""

    name: str
    nominal: float
    least: float
    most: float
    source: str


def iso_dowel(standard: str, diameter: float, of_class: str = "") -> Dowel:
    """A pin of ISO 2338 or ISO 8734 by its diameter in mm and its tolerance class, left out where there is only one.

    Raises
    ------
    TableError: for a diameter or a class that the standard does not have.
    """
    if diameter not in ISO_DIAMETERS[standard]:
        near = min(ISO_DIAMETERS[standard], key=lambda known: abs(known - diameter))
        sizes = ", ".join(f"{known:g}" for known in ISO_DIAMETERS[standard])
        raise TableError(f"a diameter of {standard}: {sizes} mm", f"{diameter:g} mm", f'"{standard} {near:g}"')
    classes = ISO_CLASSES[standard]
    of_class = of_class or (classes[0] if len(classes) == 1 else "")
    if of_class not in classes:
        hint = f'"{standard} {diameter:g} {classes[0]}"'
        came = f'"{of_class}"' if of_class else "no class"
        raise TableError(f"the tolerance class of {standard}: {' or '.join(classes)}", came, hint)
    zone = iso286.zone(diameter, of_class[0], int(of_class[1:]))
    source = f"{of_class} of {iso286.SOURCE}"
    return Dowel(f"{standard} {diameter:g} {of_class}", diameter, zone.least, zone.most, source)


def asme_dowel(inches: float, series: str = "standard") -> Dowel:
    """A pin of ASME B18.8.2 by its nominal size in inches; `series`: "standard" or "oversize".

    Raises
    ------
    TableError: for a size or a series that the standard does not have.
    """
    if series not in ASME_SERIES:
        raise TableError(f'a series of {ASME}: "standard" or "oversize"', f'"{series}"')
    # A size may be given as a fraction or as the table rounds it.
    found = [n for n, nominal in ASME_DIAMETERS.items() if abs(inches - n / 64) < 1e-9 or abs(inches - nominal) < 1e-9]
    if not found:
        sizes = ", ".join(_fraction(n) for n in ASME_DIAMETERS)
        near = min(ASME_DIAMETERS, key=lambda n: abs(n / 64 - inches))
        raise TableError(f"a size of {ASME}: {sizes} in", f"{inches:g} in", f'"{ASME} {_fraction(near)}"')
    nominal = ASME_DIAMETERS[found[0]]
    basic = nominal + ASME_SERIES[series]
    name = f"{ASME} {_fraction(found[0])}" + (f" {series}" if series != "standard" else "")
    least, most = (basic - ASME_LIMIT) * MM_PER_INCH, (basic + ASME_LIMIT) * MM_PER_INCH
    return Dowel(name, nominal * MM_PER_INCH, least, most, f"{series} series")


def _fraction(sixty_fourths: int) -> str:
    """A size as it is named: 1/4, 3/32, 1."""
    return str(Fraction(sixty_fourths, 64))
