"""What people write ↔ what sillway computes with.

Inside: mm, kg, N, rad. At the edge: feet and inches with fractions, pounds, 32nds, miles; metric
everywhere. Parsing is exact (`Fraction`) and refuses what it does not wholly understand.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from sillway.errors import BadInput

# International yard and pound agreement (1959), by definition; standard gravity CGPM 1901.
MM_PER_IN: Final = Fraction(254, 10)
KG_PER_LB: Final = Fraction(45359237, 100_000_000)
M_PER_MILE: Final = Fraction(1_609_344, 1000)
G_M_S2: Final = Fraction(980665, 100_000)
N_PER_LBF: Final = KG_PER_LB * G_M_S2
MM_PER_32ND: Final = MM_PER_IN / 32


class Kind(StrEnum):
    """What is being measured; decides which units are understood."""

    LENGTH = "length"
    TREAD = "tread"
    MASS = "mass"
    DISTANCE = "distance"
    FORCE = "force"
    SLOPE = "slope"


# Unit word → factor to the inside unit (mm, mm, kg, km, N; slope is handled apart).
_INCH_WORDS = ("in", "in.", "inch", "inches", '"')
_FOOT_WORDS = ("ft", "ft.", "foot", "feet", "'")
_METRIC_LENGTH = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000)}
_POUND_WORDS = ("lb", "lb.", "lbs", "lbs.", "pound", "pounds")
_UNITS: Final[dict[Kind, dict[str, Fraction]]] = {
    Kind.LENGTH: {
        **dict.fromkeys(_INCH_WORDS, MM_PER_IN),
        **dict.fromkeys(_FOOT_WORDS, MM_PER_IN * 12),
        **_METRIC_LENGTH,
    },
    Kind.TREAD: {
        **dict.fromkeys(_INCH_WORDS, MM_PER_IN),
        **dict.fromkeys(("32nds", "32nd"), MM_PER_32ND),
        **_METRIC_LENGTH,
    },
    Kind.MASS: {
        **dict.fromkeys(_POUND_WORDS, KG_PER_LB),
        "kg": Fraction(1),
        "g": Fraction(1, 1000),
    },
    Kind.DISTANCE: {
        **dict.fromkeys(("mi", "mi.", "mile", "miles"), M_PER_MILE / 1000),
        "km": Fraction(1),
    },
    Kind.FORCE: {**dict.fromkeys(("lbf", *_POUND_WORDS), N_PER_LBF), "n": Fraction(1)},
}
_BARE: Final[dict[Kind, dict[bool, str]]] = {
    Kind.LENGTH: {False: "in", True: "mm"},
    Kind.TREAD: {False: "32nds", True: "mm"},
    Kind.MASS: {False: "lb", True: "kg"},
    Kind.DISTANCE: {False: "mi", True: "km"},
    Kind.FORCE: {False: "lbf", True: "n"},
}
WANTED: Final[dict[Kind, str]] = {
    Kind.LENGTH: "a length such as 34 1/2 in, 4' 7-1/4\" or 71.5 cm",
    Kind.TREAD: "a tread such as 9/32 or 7 mm",
    Kind.MASS: "a mass such as 312 lb or 141.5 kg",
    Kind.DISTANCE: "a distance such as 42,609 mi or 68573 km",
    Kind.FORCE: "a force such as 19 N or 4.3 lbf",
    Kind.SLOPE: "a slope such as 1:12, 8 % or 4.8 deg",
}
_VULGAR: Final = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_QUOTES: Final = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'"})
_DIGITS = r"(?:\d{1,3}(?:,\d{3})+|\d+)"
_NUMBER = (
    rf"(?:(?P<whole>{_DIGITS})(?:\s+|\s*-\s*))?(?P<num>\d+)\s*/\s*(?P<den>\d+)"
    rf"|(?P<dec>{_DIGITS}(?:\.\d+)?|\.\d+)"
)
_ONE = re.compile(rf"(?:{_NUMBER})\s*(?P<unit>[a-z.\"']+|32nds?)?", re.ASCII)
_FEET_INCHES = re.compile(
    rf"(?P<feet>\d+)\s*(?:'|ft\.?|foot|feet)\s*-?\s*(?:{_NUMBER})\s*"
    rf"(?:\"|in\.?|inch|inches)?",
    re.ASCII,
)
_SLOPE = re.compile(
    r"(?P<sign>-)?\s*(?:(?P<one>\d+(?:\.\d+)?)\s*:\s*(?P<n>\d+(?:\.\d+)?)"
    r"|(?P<pc>\d+(?:\.\d+)?)\s*%|(?P<deg>\d+(?:\.\d+)?)\s*(?:deg|degrees|°))",
    re.ASCII,
)
# No measure is written longer; keeps hostile text away from the number parser.
_MOST_CHARACTERS: Final = 40


def parse(
    text: str, kind: Kind, field: str, *, metric: bool = False, signed: bool = False
) -> Fraction:
    """Return what was written in the inside unit, exactly: mm, kg, km or N.

    Args:
        text: what the person wrote. A bare number is inches, 32nds, pounds, miles or pounds-force,
            or with ``metric`` mm, mm, kg, km, N.
        kind: what is measured. For a slope use `parse_slope_rad`.
        field: name of the field, for the error.
        signed: whether a leading minus is understood (places, not sizes).
    Raises:
        BadInput: if any part of the text is not understood.

    >>> float(parse("4' 7-1/4\\"", Kind.LENGTH, "door.height"))
    1403.35
    >>> float(parse("9/32", Kind.TREAD, "tire.tread"))
    7.14375
    """
    cleaned = _clean(text, kind, field)
    if signed and cleaned.startswith("-"):
        return -parse(cleaned[1:], kind, field, metric=metric)
    if kind is Kind.LENGTH and (both := _FEET_INCHES.fullmatch(cleaned)):
        inches = _number(both, text, kind, field)
        if inches >= 12:
            raise BadInput(field, text, "feet and fewer than 12 inches, such as 4' 7-1/4\"")
        return (int(both["feet"]) * 12 + inches) * MM_PER_IN
    match = _ONE.fullmatch(cleaned)
    if match is None:
        raise BadInput(field, text, WANTED[kind])
    number = _number(match, text, kind, field)
    unit = match["unit"]
    if unit is None:
        # A fraction where a tread is asked is a fraction of an inch: 9/32.
        fraction_of_inch = kind is Kind.TREAD and match["num"] is not None
        unit = "in" if fraction_of_inch else _BARE[kind][metric]
    factor = _UNITS[kind].get(unit)
    if factor is None:
        raise BadInput(field, text, WANTED[kind])
    return number * factor


def parse_slope_rad(text: str, field: str) -> float:
    """Return a slope in radians from ``1:12``, ``8 %`` or ``4.8 deg``; minus falls away.

    Raises:
        BadInput: if it is none of these, or not less than 45 degrees.

    >>> round(math.degrees(parse_slope_rad("1:12", "home.driveway")), 4)
    4.7636
    """
    match = _SLOPE.fullmatch(_clean(text, Kind.SLOPE, field))
    if match is None or (match["n"] is not None and float(match["n"]) == 0):
        raise BadInput(field, text, WANTED[Kind.SLOPE])
    if match["n"] is not None:
        slope_rad = math.atan(float(match["one"]) / float(match["n"]))
    elif match["pc"] is not None:
        slope_rad = math.atan(float(match["pc"]) / 100)
    else:
        slope_rad = math.radians(float(match["deg"]))
    if slope_rad >= math.pi / 4:
        raise BadInput(field, text, "a slope of less than 45 deg")
    return -slope_rad if match["sign"] else slope_rad


def _clean(text: str, kind: Kind, field: str) -> str:
    if len(text) > _MOST_CHARACTERS:
        raise BadInput(field, text, WANTED[kind])
    if not text.isascii():
        for sign, fraction in _VULGAR.items():
            text = text.replace(sign, f" {fraction}")
        text = text.translate(_QUOTES)
    return " ".join(text.replace("''", '"').lower().split())


def _number(match: re.Match[str], text: str, kind: Kind, field: str) -> Fraction:
    if match["dec"] is not None:
        return Fraction(match["dec"].replace(",", ""))
    if int(match["den"]) == 0:
        raise BadInput(field, text, WANTED[kind])
    whole = int((match["whole"] or "0").replace(",", ""))
    part = Fraction(int(match["num"]), int(match["den"]))
    if match["whole"] is not None and part >= 1:
        raise BadInput(field, text, "a fraction smaller than one after the whole number")
    return whole + part


def show_inches(mm: float, parts: int = 16) -> str:
    """Inches to the nearest 1/``parts``, as a tape reads.

    >>> show_inches(746.125), show_inches(-3.175), show_inches(0)
    ('29 3/8 in', '-1/8 in', '0 in')
    """
    steps = round(Fraction(mm) / MM_PER_IN * parts)
    sign = "-" if steps < 0 else ""
    whole, rest = divmod(abs(steps), parts)
    if rest == 0:
        return f"{sign}{whole} in"
    fraction = Fraction(rest, parts)
    head = f"{whole} " if whole else ""
    return f"{sign}{head}{fraction.numerator}/{fraction.denominator} in"


def show_length(mm: float) -> str:
    """A length as shown to people: inches, then mm.

    >>> show_length(876.3)
    '34 1/2 in (876 mm)'
    """
    return f"{show_inches(mm)} ({mm:.0f} mm)"


def show_mass(kg: float) -> str:
    """A mass as shown to people: pounds, then kg.

    >>> show_mass(136.077711)
    '300 lb (136 kg)'
    """
    return f"{kg / float(KG_PER_LB):.0f} lb ({kg:.0f} kg)"


def show_force(newtons: float) -> str:
    """A force as shown to people.

    >>> show_force(19.1)
    '4.3 lbf (19 N)'
    """
    return f"{newtons / float(N_PER_LBF):.1f} lbf ({newtons:.0f} N)"


def show_slope(rad: float) -> str:
    """A slope as shown to people: degrees and one in how many.

    >>> show_slope(math.atan(1 / 6)), show_slope(0.0)
    ('9.5 deg (1:6.0)', 'level')
    """
    if abs(rad) < 1e-9:
        return "level"
    return f"{math.degrees(rad):.1f} deg (1:{1 / math.tan(abs(rad)):.1f})"


@dataclass(frozen=True, slots=True)
class Shown:
    """How values of one inside unit are shown at the edge."""

    unit: str

    def __call__(self, value: float) -> str:
        """Text for a value of this unit.

        >>> Shown("mm")(25.4), Shown("deg")(12.0), Shown("points")(4)
        ('1 in (25 mm)', '12.0 deg', '4 points')
        """
        if self.unit == "mm":
            return show_length(value)
        if self.unit == "kg":
            return show_mass(value)
        if self.unit == "N":
            return show_force(value)
        if self.unit == "deg":
            return f"{value:.1f} deg"
        return f"{value:g} {self.unit}".strip()
