"""What is known of a measure: an interval, where it came from, and whether it was assumed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from sillway import rules
from sillway.records.measure import Measure, Way

# Measures of these inside units have a default tolerance for each way, as rule data.
_TOLERANCE_RULES = {
    "mm": "tolerance.length",
    "kg": "tolerance.mass",
    "N": "tolerance.force",
    "rad": "tolerance.slope",
}


@dataclass(frozen=True, slots=True)
class Known:
    """A value as an interval in the inside unit.

    Attributes:
        name: the measure as the records name it (``ramp.length``).
        low, high: its ends, tolerance applied.
        unit: inside unit.
        way: how it was come by.
        typed: what was written, or the assumed range in words.
        source: where an assumed range comes from.
    """

    name: str
    low: float
    high: float
    unit: str
    way: Way
    typed: str
    source: str = ""

    @property
    def mid(self) -> float:
        """The middle of the interval."""
        return (self.low + self.high) / 2

    @property
    def half_width(self) -> float:
        """How far it may be off."""
        return (self.high - self.low) / 2

    @property
    def assumed(self) -> bool:
        """Whether nobody measured it."""
        return self.way is Way.ASSUMED

    def at_least(self, least: float) -> Known:
        """The same, for a size that cannot be smaller, whatever its tolerance says.

        >>> Known("clearance", -3.0, 23.0, "mm", Way.REPORTED, "10 mm").at_least(0.0).low
        0.0
        """
        if self.low >= least:
            return self
        return replace(self, low=least, high=max(self.high, least))


def exact(name: str, value: float, unit: str, typed: str = "") -> Known:
    """A value without tolerance: a count, or a limit of a rule."""
    return Known(name, value, value, unit, Way.LABEL, typed or f"{value:g} {unit}")


@dataclass(frozen=True, slots=True)
class Basis:
    """The day whose rules hold; turns measures into what is known of them."""

    on: dt.date

    def tolerance(self, measure: Measure, unit: str) -> float:
        """How far the measure may be off, by its own word or by the rule of its way.

        Raises:
            RuleError: if no rule holds on that day.
        """
        if measure.tolerance is not None:
            return measure.tolerance
        return self.way_tolerance(measure.way, unit)

    def way_tolerance(self, way: Way, unit: str) -> float:
        """How far a measure taken in this way may be off."""
        by_way = rules.table(_TOLERANCE_RULES[unit], self.on)
        half_width = by_way[str(way)]
        assert isinstance(half_width, float)
        return half_width

    def number(self, rule_id: str) -> float:
        """A rule's value on the day, in mm, kg, N or rad."""
        return rules.number(rule_id, self.on)

    def known(self, name: str, measure: Measure, unit: str = "mm") -> Known:
        """A measure with its tolerance applied."""
        tolerance = self.tolerance(measure, unit)
        low, high = measure.value - tolerance, measure.value + tolerance
        return Known(name, low, high, unit, measure.way, measure.typed)

    def assumed(self, name: str, rule_id: str, unit: str = "mm") -> Known:
        """The range that rule data assumes where nothing was measured."""
        low, high = rules.interval(rule_id, self.on)
        rule = rules.rule(rule_id, self.on)
        typed = f"assumed ({rule_id})"
        return Known(name, low, high, unit, Way.ASSUMED, typed, rule.source)

    def known_or(self, name: str, measure: Measure | None, rule_id: str, unit: str = "mm") -> Known:
        """The measure if there is one, else the assumed range."""
        if measure is None:
            return self.assumed(name, rule_id, unit)
        return self.known(name, measure, unit)
