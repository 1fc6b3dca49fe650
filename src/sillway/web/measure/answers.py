"""Between what somebody types at a step and what the record keeps. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from pydantic_core import PydanticCustomError

from sillway.records.fields import Takes
from sillway.records.measure import MeasureOf, Way
from sillway.units import Kind
from sillway.web.measure.steps import Ask

_RANGE: Final = re.compile(r"(?P<low>.+?)\s+(?:to|a)\s+(?P<high>.+)", re.IGNORECASE)
_BARE: Final = re.compile(
    r"-?\s*(?:\d[\d,]*(?:\s+|\s*-\s*))?\d+\s*/\s*\d+|-?\s*(?:\d[\d,]*\.?\d*|\.\d+)"
)
#: The four inputs of a rectangle in plan, in their order.
SIDES: Final = ("x0", "x1", "y0", "y1")
CORNERS: Final = "corners"
_UNIT: Final = {
    False: {Kind.LENGTH: "in", Kind.MASS: "lb"},
    True: {Kind.LENGTH: "mm", Kind.MASS: "kg"},
}


def measurable(ask: Ask) -> bool:
    """Whether its answer comes with a way of measuring."""
    return ask.field.takes in (Takes.MEASURE, Takes.OUTLINE)


def understood(ask: Ask, text: str, *, metric: bool) -> bool:
    """Whether a text is a measure of the kind asked for.

    >>> from sillway.web.measure.steps import walk
    >>> length = walk("van").steps[walk("van").place("ramp-length")].asks[0]
    >>> [understood(length, one, metric=False) for one in ("57 1/4 in", "57 to 58", "long")]
    [True, True, False]
    """
    if ask.field.measures is None:
        return True
    reads = MeasureOf(ask.field.measures, ask.field.signed)
    ends = _RANGE.fullmatch(text)
    try:
        for one in ends.groups() if ends else (text,):
            reads.number(one, metric)
    except PydanticCustomError:
        return False
    return True


def with_unit(text: str, kind: Kind | None, metric: bool) -> str:
    """A bare number with the unit it means, so that it means the same in another record.

    >>> with_unit("34 1/2", Kind.LENGTH, False), with_unit("34 cm", Kind.LENGTH, False)
    ('34 1/2 in', '34 cm')
    """
    unit = _UNIT[metric].get(kind) if kind is not None else None
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def kept(ask: Ask, text: str, way: Way, *, metric: bool, units: bool) -> Any:
    """What the record keeps for a text; None for nothing.

    Args:
        units: whether a bare number is kept with its unit.
    """
    takes = ask.field.takes
    if not text:
        return None
    if takes is Takes.YES_NO:
        return text == "yes"
    if takes is Takes.NUMBER:
        return _number(text)
    if takes is Takes.MEASURE:
        if units:
            text = " to ".join(with_unit(one, ask.field.measures, metric) for one in _ends(text))
        ends = _ends(text)
        if len(ends) == 2:
            return {"low": ends[0], "high": ends[1], "way": str(way)}
        return {"value": text, "way": str(way)}
    if takes is Takes.WORDS and ask.field.many:
        return [one.strip() for one in text.split(",") if one.strip()]
    return text


def outline(given: Mapping[str, str], way: Way) -> Any:
    """What the record keeps for an outline: a rectangle from its four sides, or corners."""
    sides = [given.get(one, "") for one in SIDES]
    if given.get(CORNERS):
        return {"corners": given[CORNERS], "way": str(way)}
    if not any(sides):
        return None
    return {"x": sides[:2], "y": sides[2:], "way": str(way)}


def shown(ask: Ask, value: Any) -> str:
    """What stands in the input for a value of the record (an outline aside)."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        if {"low", "high"} <= set(value):
            return f"{value['low']} to {value['high']}"
        return str(value.get("value", ""))
    if isinstance(value, list):
        return ", ".join(str(one) for one in value)
    return str(value)


def outline_shown(value: Any) -> dict[str, str]:
    """What stands in the inputs of an outline."""
    if isinstance(value, dict) and {"x", "y"} <= set(value):
        sides = [*value["x"], *value["y"]]
        return dict(zip(SIDES, (str(one) for one in sides), strict=True))
    if isinstance(value, dict):
        value = value.get("corners", "")
    if isinstance(value, list):
        value = "; ".join(f"{x}, {y}" for x, y in value)
    return {CORNERS: str(value)} if value else {}


def way_of(value: Any) -> Way | None:
    """The way a value of the record says it was come by, if it says so."""
    if isinstance(value, dict) and value.get("way") in set(Way):
        return Way(value["way"])
    return None


def alike(ask: Ask, one: Any, other: Any, *, metric: bool) -> bool:
    """Whether two values say the same, however they are written; ways and tolerances aside.

    >>> from sillway.web.measure.steps import walk
    >>> length = walk("van").steps[walk("van").place("ramp-length")].asks[0]
    >>> alike(length, {"value": "57 1/2 in", "way": "tape"}, 57.5, metric=False)
    True
    """
    if ask.field.measures is None or not one or not other:
        return bool(one == other)
    reads = MeasureOf(ask.field.measures, ask.field.signed)
    try:
        ends = [[reads.number(end, metric) for end in _ends(shown(ask, v))] for v in (one, other)]
    except PydanticCustomError:
        return False
    return ends[0] == ends[1]


def said(ask: Ask, value: Any) -> str:
    """A value in words, for a list of answers."""
    if ask.field.takes is Takes.OUTLINE:
        parts = outline_shown(value)
        if CORNERS in parts or not parts:
            return parts.get(CORNERS, "")
        return f"x {parts['x0']} – {parts['x1']}; y {parts['y0']} – {parts['y1']}"
    return shown(ask, value)


def _ends(text: str) -> tuple[str, ...]:
    ends = _RANGE.fullmatch(text)
    return (ends["low"], ends["high"]) if ends else (text,)


def _number(text: str) -> Any:
    for reads in (int, float):
        try:
            return reads(text)
        except ValueError:
            continue
    return text
