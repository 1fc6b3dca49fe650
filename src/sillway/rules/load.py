"""Read the TOML files of rules, refuse what is not whole, and look a rule up by its day.

A file holds::

    [rule."ramp.width.clear"]
    question = "Is the ramp as wide as a public vehicle's must be?"
    kind = "yardstick"

    [[rule."ramp.width.clear".values]]
    value = 30                  # as printed
    unit = "in"
    value_si = 760              # only where the source prints it too
    in_force = 1991-10-07
    source = "49 CFR 38.23(c)(2)"
    provenance = "seen"
    checked = 2026-11-25
    note = "…"                  # may be left out
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

from sillway.errors import BadInput
from sillway.rules.model import Cell, Interval, Rule, Value
from sillway.rules.parse import Fault, rules_in


class RuleError(BadInput):
    """A rule cannot be given: unknown, not yet in force, of another shape, or badly written.

    Attributes:
        rule_id: the rule asked for, or that is badly written.
        says: the sentence, without the file.
    """

    def __init__(self, rule_id: str, says: str, source: str = "") -> None:
        self.rule_id = rule_id
        self.says = says
        super().__init__(rule_id, rule_id, "a rule that holds on that day", source)

    def sentence(self) -> str:
        """The one line a user sees, with the rule and the file."""
        where = f"{self.source}: " if self.source else ""
        return f"{where}{self.says}"

    def at(self, source: str) -> RuleError:
        """The same error, told with the file it came from."""
        return RuleError(self.rule_id, self.says, source)


@dataclass(frozen=True, slots=True)
class Book:
    """All rules read: id -> its values, oldest first."""

    history: Mapping[str, tuple[Rule, ...]]

    def values_of(self, rule_id: str) -> tuple[Rule, ...]:
        """Every value the rule has had, oldest first.

        A table's row is named like a rule of its own: ``tolerance.length.tape``,
        ``assumed.chair.mass.rear-wheel_drive``; case, apostrophes, hyphens and blanks do not count.

        Raises:
            RuleError: for an unknown id.
        """
        found = self.history.get(rule_id)
        if found is None:
            found = self._row(rule_id)
        if not found:
            raise RuleError(rule_id, f"There is no rule named {rule_id}.")
        return found

    def _row(self, rule_id: str) -> tuple[Rule, ...]:
        table_id, _, row = rule_id.rpartition(".")
        rows = (one.row(row) for one in self.history.get(table_id, ()))
        return tuple(one for one in rows if one is not None)

    def rule(self, rule_id: str, on: date) -> Rule:
        """The rule as it stands on that day.

        Raises:
            RuleError: for an unknown id, or a day before its first value.
        """
        found = self.values_of(rule_id)
        for candidate in reversed(found):
            if candidate.in_force <= on:
                return candidate
        first = found[0]
        raise RuleError(
            rule_id,
            f"{rule_id} has no value in force on {on.isoformat()} "
            f"(first: {first.in_force.isoformat()}, {first.source}).",
        )

    def __iter__(self) -> Iterator[Rule]:
        """Every value of every rule, by id and then by day."""
        for rule_id in sorted(self.history):
            yield from self.history[rule_id]


def read_folder(folder: Path) -> Book:
    """All ``*.toml`` files in a folder as one book.

    Raises:
        RuleError: names rule and file, for anything missing, doubled, unknown or unreadable.
    """
    return _gather({path.name: _read(path) for path in sorted(folder.glob("*.toml"))})


def read_file(path: Path) -> Book:
    """One TOML file as a book. Raises as ``read_folder``."""
    return _gather({path.name: _read(path)})


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise RuleError("", "This file cannot be read as UTF-8 text.", path.name) from error


def _gather(texts: Mapping[str, str]) -> Book:
    history: dict[str, tuple[Rule, ...]] = {}
    for name, content in texts.items():
        try:
            found = rules_in(content, name)
        except tomllib.TOMLDecodeError as error:
            raise RuleError("", f"This is not TOML: {error}.", name) from error
        except Fault as fault:
            raise RuleError(fault.rule_id, str(fault), name) from fault
        for rule_id, values in found.items():
            if rule_id in history:
                other = history[rule_id][0].file
                raise RuleError(rule_id, f"{rule_id} stands in {other} already; keep one.", name)
            history[rule_id] = values
    return Book(MappingProxyType(history))


@cache
def book() -> Book:
    """The book of this package, read once, when first asked for."""
    here = files("sillway.rules")
    names = sorted(item.name for item in here.iterdir() if item.name.endswith(".toml"))
    return _gather({name: here.joinpath(name).read_text(encoding="utf-8") for name in names})


def rule(rule_id: str, on: date) -> Rule:
    """The rule as it stands on the day the caller names.

    Raises:
        RuleError: for an unknown id, or a day before its first value.

    >>> rule("ramp.slope.road", date(2026, 1, 1)).value
    6.0
    >>> rule("ramp.slope.road", date(1970, 1, 1))
    Traceback (most recent call last):
    ...
    sillway.rules.load.RuleError: ramp.slope.road has no value in force on 1970-01-01 \
(first: 2017-01-13, 36 CFR 1192 App. A T402.8.1).
    """
    return book().rule(rule_id, on)


def values_of(rule_id: str) -> tuple[Rule, ...]:
    """Every value the rule has had, oldest first. Raises RuleError for an unknown id."""
    return book().values_of(rule_id)


def all_rules() -> list[Rule]:
    """Every value of every rule, by id and then by day."""
    return list(book())


def ids() -> list[str]:
    """The names of all rules, sorted."""
    return sorted(book().history)


@lru_cache(maxsize=4096)  # one fit asks some hundred rules, again and again, for one day
def _si(rule_id: str, on: date) -> Value:
    return rule(rule_id, on).si()


def number(rule_id: str, on: date) -> float:
    """The rule's single figure in mm, kg, N or rad. Raises RuleError if it is not one figure."""
    value = _si(rule_id, on)
    if isinstance(value, float):
        return value
    raise _other_shape(rule_id, "one figure")


def interval(rule_id: str, on: date) -> Interval:
    """The rule's (low, high) in mm, kg, N or rad. Raises RuleError if it is not a pair."""
    value = _si(rule_id, on)
    if isinstance(value, tuple):
        return value
    raise _other_shape(rule_id, "a range")


def table(rule_id: str, on: date) -> Mapping[str, Cell]:
    """The rule's table in mm, kg, N or rad, by row name. Raises RuleError if it is not one."""
    value = _si(rule_id, on)
    if isinstance(value, Mapping):
        return value
    raise _other_shape(rule_id, "a table")


def text(rule_id: str, on: date) -> str:
    """The rule's words. Raises RuleError if it is a figure."""
    value = _si(rule_id, on)
    if isinstance(value, str):
        return value
    raise _other_shape(rule_id, "words")


def _other_shape(rule_id: str, asked: str) -> RuleError:
    return RuleError(rule_id, f"{rule_id} is not {asked}.")
