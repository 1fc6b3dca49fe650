"""What one rule is on one day: its words, its figure, and what stands behind the figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Final

from sillway.rules.convert import to_si, unit_si

Interval = tuple[float, float]
Cell = float | Interval | str
Value = Cell | Mapping[str, Cell]

KINDS: Final = {
    "physical": "decides the verdict: the laws of mechanics and of solid bodies",
    "rating": "decides the verdict: what a maker or the law rated the thing for",
    "practice": "outside its range the answer becomes conditional",
    "yardstick": "shown for comparison, never changes a verdict",
    "tolerance": "how far a measurement of this way may be off",
    "assumed": "the interval taken where a measure is missing",
    "constant": "a defined or tabulated quantity",
    "wording": "words we say, or where one word gives way to the next",
    "sanity": "outside this range an entry is taken for a slip of the pen",
    "trade": "a habit of the trade, for comparison",
}
PROVENANCES: Final = ("seen", "from memory", "common practice, no source")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule as it stands from ``in_force`` on.

    Attributes:
        id: its name for ever, words joined by full stops.
        question: what it answers, in plain words, one sentence.
        kind: one of ``KINDS``; tells what a breach does.
        value: as printed in the source: a number, a (low, high) pair, words, or a table of these.
        unit: the unit of ``value`` as printed, one of ``convert.UNITS``.
        value_si: the metric figure where the source prints one too, in mm, kg, N or rad.
        source: the clause, or who says so.
        in_force: first day it holds.
        provenance: one of ``PROVENANCES``: whether we saw the text.
        checked: the last day somebody looked.
        note: what else a reader should know.
        file: the TOML file it stands in.
    """

    id: str
    question: str
    kind: str
    value: Value
    unit: str
    value_si: Value | None
    source: str
    in_force: date
    provenance: str
    checked: date
    note: str
    file: str

    def si(self) -> Value:
        """The value in mm, kg, N or rad: the metric figure printed in the source, else exact."""
        if self.value_si is not None:
            return self.value_si
        if isinstance(self.value, Mapping):
            rows = {key: _cell_si(cell, self.unit) for key, cell in self.value.items()}
            return MappingProxyType(rows)
        return _cell_si(self.value, self.unit)

    def row(self, name: str) -> Rule | None:
        """One row of a table as a rule of its own; None if there is no such row."""
        if not isinstance(self.value, Mapping):
            return None
        for key, cell in self.value.items():
            if _plain(key) == _plain(name):
                metric = self.value_si[key] if isinstance(self.value_si, Mapping) else None
                return replace(self, id=f"{self.id}.{name}", value=cell, value_si=metric)
        return None

    @property
    def unit_si(self) -> str:
        """The unit of ``si()``."""
        return unit_si(self.unit)


def _plain(name: str) -> str:
    return name.lower().replace("'", "").replace("-", "_").replace(" ", "_")


def _cell_si(cell: Cell, unit: str) -> Cell:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, tuple):
        low, high = sorted((to_si(cell[0], unit), to_si(cell[1], unit)))
        return low, high
    return to_si(cell, unit)
