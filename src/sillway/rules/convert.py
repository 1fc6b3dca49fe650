"""Exact conversions from the units printed in rules to mm, kg, N and rad.

Sources: inch, foot, mile, pound: international yard and pound agreement, 1959. Standard gravity
9.80665 m/s²: 3rd General Conference on Weights and Measures, 1901; pound-force and kilogram-force
follow from it. The file ``constants.toml`` lists the same figures, and a test compares the two.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

INCH_MM: Final = Fraction(254, 10)
POUND_KG: Final = Fraction(45359237, 100_000_000)
GRAVITY_M_S2: Final = Fraction(980665, 100_000)

#: Unit as printed -> (factor, unit after conversion). A factor of one keeps the figure as it is.
LINEAR: Final[dict[str, tuple[Fraction, str]]] = {
    "mm": (Fraction(1), "mm"),
    "cm": (Fraction(10), "mm"),
    "m": (Fraction(1000), "mm"),
    "km": (Fraction(1_000_000), "mm"),
    "in": (INCH_MM, "mm"),
    "in/32": (INCH_MM / 32, "mm"),
    "ft": (12 * INCH_MM, "mm"),
    "mi": (63_360 * INCH_MM, "mm"),
    "kg": (Fraction(1), "kg"),
    "lb": (POUND_KG, "kg"),
    "N": (Fraction(1), "N"),
    "kgf": (GRAVITY_M_S2, "N"),
    "lbf": (POUND_KG * GRAVITY_M_S2, "N"),
    "N/mm": (Fraction(1), "N/mm"),
    "rad": (Fraction(1), "rad"),
    "m/s2": (Fraction(1), "m/s2"),
    "ratio": (Fraction(1), "ratio"),
    "percent": (Fraction(1, 100), "ratio"),
    "count": (Fraction(1), "count"),
    "L": (Fraction(1), "L"),
    "kg/L": (Fraction(1), "kg/L"),
    "days": (Fraction(1), "days"),
    "s": (Fraction(1), "s"),
}

#: Every unit a rule may carry. ``1:n`` is a slope by its run for a rise of one; ``text`` is words.
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
