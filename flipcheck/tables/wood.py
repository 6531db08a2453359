"""How wood and wood panels swell with moisture.

Per one per cent of moisture content (mass of water over mass of dry wood), as a ratio of the size.
"""

from __future__ import annotations

from dataclasses import dataclass

#: What the coefficients of the species are: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (unchanged from
#: FPL-GTR-190), chapter 13, Table 13-5. They hold from 6 to 14 % of moisture.
LOWEST, HIGHEST = 6.0, 14.0
#: Fibre saturation, per cent: beyond it wood swells no further (Wood Handbook, chapter 4).
SATURATED = 30.0

#: Along the grain: total shrinkage of 0.1 to 0.2 % from green to dry for most species (Wood Handbook, chapter 4), taken
#: in its middle and over the 30 % down from fibre saturation. Juvenile and reaction wood may move ten times as much.
LONGITUDINAL = 0.0015 / SATURATED


@dataclass(frozen=True)
class Swelling:
    """Ratio of the size for each per cent of moisture, in three directions.

    Of a species: along the grain, across the growth rings (radial) and along them (tangential). Of a panel `radial` is
    through the thickness, and the other two are equal.
    """

    along: float
    radial: float
    tangential: float
    source: str


def from_shrinkage(total: float) -> float:
    """The coefficient that belongs to a total shrinkage from green to dry, per cent.

    The Wood Handbook's equation 13-3 for a change by 1 % that begins at 10 %, the middle of its range; it gives the
    entries of Table 13-5 from those of Table 4-3.
    """
    return 1.0 / (SATURATED * 100.0 / total - SATURATED + 0.5 * (LOWEST + HIGHEST))


_TABLE = "Wood Handbook FPL-GTR-282, Table 13-5"
_SHRINKAGE = "Wood Handbook FPL-GTR-282, Table 4-3 and equation 13-3"

#: C_R and C_T of hardwoods as printed in Table 13-5.
_HARDWOODS = {
    "red alder": (0.00151, 0.00256),
    "apple": (0.00205, 0.00376),
    "black ash": (0.00172, 0.00274),
    "white ash": (0.00169, 0.00274),
    "quaking aspen": (0.00119, 0.00234),
    "american basswood": (0.00230, 0.00330),
    "american beech": (0.00190, 0.00431),
    "paper birch": (0.00219, 0.00304),
    "sweet birch": (0.00256, 0.00338),
    "yellow birch": (0.00256, 0.00338),
    "butternut": (0.00116, 0.00223),
    "black cherry": (0.00126, 0.00248),
    "american chestnut": (0.00116, 0.00234),
    "eastern cottonwood": (0.00133, 0.00327),
    "american elm": (0.00144, 0.00338),
    "hackberry": (0.00165, 0.00315),
    "pecan hickory": (0.00169, 0.00315),
    "honeylocust": (0.00144, 0.00230),
    "black locust": (0.00158, 0.00252),
    "southern magnolia": (0.00187, 0.00230),
    "bigleaf maple": (0.00126, 0.00248),
    "red maple": (0.00137, 0.00289),
    "silver maple": (0.00102, 0.00252),
    "sugar maple": (0.00165, 0.00353),
    "red oak": (0.00158, 0.00369),
    "white oak": (0.00180, 0.00365),
    "persimmon": (0.00278, 0.00403),
    "sassafras": (0.00137, 0.00216),
    "sweetgum": (0.00183, 0.00365),
    "american sycamore": (0.00172, 0.00296),
    "black tupelo": (0.00176, 0.00308),
    "black walnut": (0.00190, 0.00274),
}

#: Total shrinkage, radial and tangential, per cent, as printed in Table 4-3, of woods whose row of Table 13-5 was not
#: seen.
_BY_SHRINKAGE = {
    "yellow-poplar": (4.6, 8.2),
    "yellow cedar": (2.8, 6.0),
    "eastern redcedar": (3.1, 4.7),
    "incense cedar": (3.3, 5.2),
    "port-orford cedar": (4.6, 6.9),
    "western redcedar": (2.4, 5.0),
    "douglas-fir": (4.8, 7.6),
    "balsam fir": (2.9, 6.9),
    "grand fir": (3.4, 7.5),
    "noble fir": (4.3, 8.3),
    "white fir": (3.3, 7.0),
}

#: Solid wood by species.
SPECIES: dict[str, Swelling] = {
    name: Swelling(LONGITUDINAL, radial, tangential, _TABLE) for name, (radial, tangential) in _HARDWOODS.items()
} | {
    name: Swelling(LONGITUDINAL, round(from_shrinkage(radial), 5), round(from_shrinkage(tangential), 5), _SHRINKAGE)
    for name, (radial, tangential) in _BY_SHRINKAGE.items()
}

#: Panels, which swell alike in both directions of their plane.
PANELS: dict[str, Swelling] = {
    # In plane 0.0002 for each 10 % of relative humidity (APA, as quoted), and from 50 to 60 % of it wood gains 1.8 % of
    # moisture (Wood Handbook, Table 4-2, 21 degC). Thickness: a radial coefficient of birch or softwood (common
    # practice, no source).
    "plywood": Swelling(0.00011, 0.002, 0.00011, "plane: APA, as quoted; thickness: common practice, no source"),
    # In plane 1 mm/m from 9 to 12 % of moisture (EWPAA, Facts about particleboard and MDF). Thickness: 0.35 % for each
    # per cent (a furniture maker's guide; common practice).
    "mdf": Swelling(0.00033, 0.0035, 0.00033, "plane: EWPAA; thickness: common practice, no source"),
    "particleboard": Swelling(0.00033, 0.0035, 0.00033, "plane: EWPAA; thickness: common practice, no source"),
}
