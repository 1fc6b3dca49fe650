"""From the text of one TOML file to its rules. Anything not whole is a ``Fault``."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from itertools import pairwise
from types import MappingProxyType

from sillway.rules.convert import UNITS
from sillway.rules.model import KINDS, PROVENANCES, Cell, Rule, Value

HEAD_KEYS = ("question", "kind", "values")
VALUE_KEYS = (
    "value",
    "unit",
    "value_si",
    "in_force",
    "source",
    "provenance",
    "checked",
    "note",
)


class Fault(ValueError):  # noqa: N818 - named for what it tells the reader
    """What is wrong with one rule, as a sentence that names it."""

    def __init__(self, rule_id: str, says: str) -> None:
        self.rule_id = rule_id
        super().__init__(f"{rule_id} {says}" if rule_id else says)


def rules_in(content: str, file: str) -> dict[str, tuple[Rule, ...]]:
    """The rules of one file: id -> values, oldest first.

    Raises:
        Fault: for the first thing that is missing, unknown or doubled.
        tomllib.TOMLDecodeError: if the text is not TOML.
    """
    data = tomllib.loads(content)
    unknown = sorted(set(data) - {"rule"})
    if unknown:
        raise Fault("", f"There is an unknown key {unknown[0]!r}; a file holds only [rule.…].")
    heads = data.get("rule", {})
    if not isinstance(heads, dict) or not heads:
        raise Fault("", "There is no rule in this file.")
    try:
        return {rule_id: _rule(rule_id, head, file) for rule_id, head in heads.items()}
    except Fault as fault:
        line = _line_of(fault.rule_id, content)
        raise Fault(fault.rule_id, str(fault).removeprefix(f"{fault.rule_id} ") + line) from None


def _line_of(rule_id: str, content: str) -> str:
    for count, line in enumerate(content.splitlines(), start=1):
        if f'"{rule_id}"' in line:
            return f" (line {count})"
    return ""


def _rule(rule_id: str, head: object, file: str) -> tuple[Rule, ...]:
    if not isinstance(head, dict):
        raise Fault(rule_id, "is not a table; quote its whole id.")
    _only(rule_id, head, HEAD_KEYS)
    question = _words(rule_id, head, "question")
    kind = _words(rule_id, head, "kind")
    if kind not in KINDS:
        raise Fault(rule_id, f"has the unknown kind {kind!r}; use one of {', '.join(KINDS)}.")
    rows = head.get("values")
    if not isinstance(rows, list) or not rows:
        raise Fault(rule_id, "has no values.")
    found = [_value(rule_id, question, kind, row, file) for row in rows]
    found.sort(key=lambda one: one.in_force)
    for earlier, later in pairwise(found):
        if earlier.in_force == later.in_force:
            raise Fault(rule_id, f"has two values for one day, {later.in_force.isoformat()}.")
    return tuple(found)


def _value(rule_id: str, question: str, kind: str, row: object, file: str) -> Rule:
    if not isinstance(row, dict):
        raise Fault(rule_id, "has a value that is not a table.")
    _only(rule_id, row, VALUE_KEYS)
    unit = _words(rule_id, row, "unit")
    if unit not in UNITS:
        raise Fault(rule_id, f"has the unknown unit {unit!r}; use one of {', '.join(UNITS)}.")
    provenance = _words(rule_id, row, "provenance")
    if provenance not in PROVENANCES:
        raise Fault(
            rule_id,
            f"has the unknown provenance {provenance!r}; use one of {', '.join(PROVENANCES)}.",
        )
    if "value" not in row:
        raise Fault(rule_id, "has no value.")
    value = _figure(rule_id, row["value"])
    _fits_unit(rule_id, value, unit)
    metric = _figure(rule_id, row["value_si"]) if "value_si" in row else None
    if metric is not None and _shape(metric) != _shape(value):
        raise Fault(rule_id, "has a value_si of another shape than its value.")
    note = row.get("note", "")
    if not isinstance(note, str):
        raise Fault(rule_id, "has a note that is not words.")
    return Rule(
        id=rule_id,
        question=question,
        kind=kind,
        value=value,
        unit=unit,
        value_si=metric,
        source=_words(rule_id, row, "source"),
        in_force=_day(rule_id, row, "in_force"),
        provenance=provenance,
        checked=_day(rule_id, row, "checked"),
        note=note,
        file=file,
    )


def _only(rule_id: str, given: Mapping[str, object], known: tuple[str, ...]) -> None:
    for key in given:
        if key not in known:
            raise Fault(rule_id, f"has the unknown key {key!r}; known are {', '.join(known)}.")


def _words(rule_id: str, given: Mapping[str, object], key: str) -> str:
    found = given.get(key)
    if found is None:
        raise Fault(rule_id, f"has no {key}.")
    if not isinstance(found, str) or not found.strip():
        raise Fault(rule_id, f"has a {key} that is not words.")
    return found


def _day(rule_id: str, given: Mapping[str, object], key: str) -> date:
    found = given.get(key)
    if found is None:
        raise Fault(rule_id, f"has no {key} date.")
    if not isinstance(found, date) or isinstance(found, datetime):
        raise Fault(rule_id, f"has a {key} that is not a day such as 2026-11-25.")
    return found


def _figure(rule_id: str, given: object) -> Value:
    if isinstance(given, dict):
        if not given:
            raise Fault(rule_id, "has an empty table.")
        return MappingProxyType({str(key): _cell(rule_id, cell) for key, cell in given.items()})
    return _cell(rule_id, given)


def _cell(rule_id: str, given: object) -> Cell:
    if isinstance(given, str):
        if not given.strip():
            raise Fault(rule_id, "has empty words for a value.")
        return given
    if isinstance(given, list):
        if len(given) != 2:
            raise Fault(rule_id, "has a range that is not [low, high].")
        low, high = (_one(rule_id, end) for end in given)
        if low > high:
            raise Fault(rule_id, f"has a range that runs backwards, {low:g} to {high:g}.")
        return low, high
    return _one(rule_id, given)


def _one(rule_id: str, given: object) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise Fault(rule_id, f"has a value {given!r} that is no number, range, table or words.")
    try:
        figure = float(given)
    except OverflowError:
        figure = math.inf
    if not math.isfinite(figure):
        raise Fault(rule_id, "has a value that is not finite.")
    return figure


def _fits_unit(rule_id: str, value: Value, unit: str) -> None:
    cells = value.values() if isinstance(value, Mapping) else [value]
    for cell in cells:
        if isinstance(cell, str) != (unit == "text"):
            raise Fault(rule_id, f"has a value that does not go with the unit {unit!r}.")


def _shape(value: Value) -> object:
    if isinstance(value, Mapping):
        return {key: type(cell) for key, cell in value.items()}
    return type(value)
