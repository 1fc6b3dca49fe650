"""The two ends of a measure, by its own tolerance or by the rule of its way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from sillway import rules
from sillway.records.measure import Measure, Way
from sillway.records.outline import Outline
from sillway.rules import Value
from sillway.units import Kind

_RULE_OF: Final = {
    Kind.LENGTH: "tolerance.length",
    Kind.MASS: "tolerance.mass",
    Kind.FORCE: "tolerance.force",
    Kind.SLOPE: "tolerance.slope",
    Kind.TREAD: "tolerance.tread",
    Kind.DISTANCE: "tolerance.distance",
}


@dataclass(frozen=True, slots=True)
class Ends:
    """A measure as an interval, in its inside unit, with what was typed."""

    low: float
    high: float
    typed: str

    def __add__(self, other: Ends) -> Ends:
        typed = f"{self.typed} + {other.typed}" if self.typed else other.typed
        return Ends(self.low + other.low, self.high + other.high, typed)


NOTHING: Final = Ends(0.0, 0.0, "")


@cache
def newest(rule_id: str) -> Value:
    """The newest value of a rule. Slips of the pen are judged by today's rules, on any day."""
    return rules.values_of(rule_id)[-1].si()


def tolerance(way: Way, kind: Kind = Kind.LENGTH) -> float:
    """How far a measure taken in this way may be off, in the inside unit."""
    table = newest(_RULE_OF[kind])
    assert not isinstance(table, float | tuple | str)
    found = table[str(way)]
    assert isinstance(found, float)
    return found


def ends(measure: Measure, kind: Kind = Kind.LENGTH) -> Ends:
    """The measure with its tolerance applied."""
    half = tolerance(measure.way, kind) if measure.tolerance is None else measure.tolerance
    return Ends(measure.value - half, measure.value + half, measure.typed)


def edge_tolerance_mm(outline: Outline) -> float:
    """How far an edge of an outline may be off."""
    return tolerance(outline.way) if outline.tolerance_mm is None else outline.tolerance_mm
