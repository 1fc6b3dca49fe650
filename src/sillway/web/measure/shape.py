"""What a measure looks like, as a pattern a browser can check before it keeps an entry.

The parser in ``units`` has the last word; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from sillway.units import Kind

_DIGITS: Final = r"(?:\d{1,3}(?:,\d{3})+|\d+)"
_VULGAR: Final = "½¼¾⅛⅜⅝⅞"
_NUMBER: Final = (
    rf"(?:(?:{_DIGITS}(?:\s+|\s*-\s*))?\d+\s*/\s*\d+|(?:{_DIGITS}\s*)?[{_VULGAR}]"
    rf"|{_DIGITS}(?:\.\d+)?|\.\d+)"
)
_IN: Final = r"in\.?|inch|inches|[\"″”“]"
_FT: Final = r"ft\.?|foot|feet|['′’‘]"
_METRIC: Final = "mm|cm|m"
_LB: Final = r"lbs?\.?|pounds?"
_UNITS: Final[Mapping[Kind, str]] = MappingProxyType(
    {
        Kind.LENGTH: f"{_IN}|{_FT}|{_METRIC}",
        Kind.TREAD: f"{_IN}|32nds?|{_METRIC}",
        Kind.MASS: f"{_LB}|kg|g",
        Kind.DISTANCE: r"mi\.?|miles?|km",
        Kind.FORCE: f"lbf|{_LB}|n",
    }
)
_SLOPE: Final = r"-?\s*(?:\d+(?:\.\d+)?\s*(?::\s*\d+(?:\.\d+)?|%|deg|degrees|°))"


def shape(kind: Kind, *, signed: bool = False) -> str:
    """The pattern of a measure of this kind, or of a range of two; case does not count."""
    if kind is Kind.SLOPE:
        return _SLOPE
    one = rf"{_NUMBER}\s*(?:{_UNITS[kind]})?"
    if kind is Kind.LENGTH:
        one = rf"(?:{one}|\d+\s*(?:{_FT})\s*-?\s*{_NUMBER}\s*(?:{_IN})?)"
    if signed:
        one = rf"-?\s*{one}"
    return rf"{one}(?:\s+(?:to|a)\s+{one})?"
