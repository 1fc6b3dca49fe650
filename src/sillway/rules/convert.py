"""Exact conversions from the units printed in rules to mm, kg, N and rad.

The defining figures are those of ``sillway.units``; ``constants.toml`` lists the same, and a test
compares the two.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from sillway.units import G_M_S2, KG_PER_LB, M_PER_MILE, MM_PER_32ND, MM_PER_IN, N_PER_LBF

#: Unit as printed -> (factor, unit after conversion). A factor of one keeps the figure as it is.
LINEAR: Final[dict[str, tuple[Fraction, str]]] = {
    "mm": (Fraction(1), "mm"),
    "cm": (Fraction(10), "mm"),
    "m": (Fraction(1000), "mm"),
    "km": (Fraction(1), "km"),
    "in": (MM_PER_IN, "mm"),
    "in/32": (MM_PER_32ND, "mm"),
    "ft": (12 * MM_PER_IN, "mm"),
    "mi": (M_PER_MILE / 1000, "km"),
    "kg": (Fraction(1), "kg"),
    "lb": (KG_PER_LB, "kg"),
    "N": (Fraction(1), "N"),
    "kgf": (G_M_S2, "N"),
    "lbf": (N_PER_LBF, "N"),
    "rad": (Fraction(1), "rad"),
    "m/s2": (Fraction(1), "m/s2"),
    "g": (G_M_S2, "m/s2"),
    "ratio": (Fraction(1), "ratio"),
    "percent": (Fraction(1, 100), "ratio"),
    "count": (Fraction(1), "count"),
    "L": (Fraction(1), "L"),
    "kg/L": (Fraction(1), "kg/L"),
}

#: Every unit a rule may carry. ``1:n`` is a slope by its run for a rise of one, ``g`` an
#: acceleration in standard gravities, ``text`` words.
UNITS: Final[tuple[str, ...]] = (*LINEAR, "deg", "1:n", "text")


def unit_si(unit: str) -> str:
    """The unit a figure has after conversion.

    >>> unit_si("in"), unit_si("1:n"), unit_si("lbf")
    ('mm', 'rad', 'N')
    """
    if unit in ("deg", "1:n"):
        return "rad"
    return "text" if unit == "text" else LINEAR[unit][1]


def to_si(value: float, unit: str) -> float:
    """The figure in mm, kg, N or rad, rounded once, to the nearest double.

    Raises:
        KeyError: if the unit is not one of ``UNITS`` or is ``text``.

    >>> to_si(30, "in"), to_si(600, "lb")
    (762.0, 272.155422)
    >>> round(to_si(6, "1:n"), 9)
    0.165148677
    """
    if unit == "deg":
        return math.radians(value)
    if unit == "1:n":
        return math.atan2(1.0, value)
    return float(Fraction(value) * LINEAR[unit][0])
