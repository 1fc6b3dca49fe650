"""A document laid out as a sheet: parts, and in them rows of field, what was written, metric."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from sillway.records.fields import FieldOf, Takes, fields_of
from sillway.records.measure import MeasureOf
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.web.templatetags.sheet import said

MODELS: Final[dict[str, type[BaseModel]]] = {"van": Van, "rider": Rider}
#: The part for fields that stand at the top of a record.
TOP: Final = "identity"


@dataclass(frozen=True, slots=True)
class Row:
    """One field.

    Attributes:
        path: where it stands.
        label: its name in words.
        typed: what was written.
        metric: that in mm, kg, km, N; empty where it is no measure.
        wanted: it must be given and is not.
    """

    path: str
    label: str
    typed: str
    metric: str = ""
    wanted: bool = False


@dataclass(frozen=True, slots=True)
class PartOf:
    """A part of a sheet; ``edit`` tells whether the form of single fields covers it."""

    name: str
    title: str
    rows: tuple[Row, ...]
    edit: bool


def words(name: str) -> str:
    """A field's name in words.

    >>> words("width_at_hinge")
    'width at hinge'
    """
    return name.replace("_", " ")


def single_fields(kind: str, part: str) -> list[FieldOf]:
    """The fields of a part that a plain form can hold. Empty for an unknown part."""
    found = []
    for one in fields_of(MODELS[kind]):
        where = one.path.split(".")
        top = where[0] if len(where) > 1 else TOP
        plain = not one.many and "*" not in where and one.takes is not Takes.PART
        if plain and top == part and one.path not in ("kind", "units", "way", "invented"):
            found.append(one)
    return found


def parts_of(kind: str, doc: dict[str, Any]) -> list[PartOf]:
    """The whole document as parts with rows, in the order of its model."""
    names = dict.fromkeys(
        [TOP, *(one.path for one in fields_of(MODELS[kind]) if "." not in one.path
                and (one.takes is Takes.PART or one.many))]
    )  # fmt: skip
    metric = doc.get("units") == "metric"
    found = []
    for name in names:
        singles = single_fields(kind, name)
        if name == TOP:
            rows = [_row(one, doc, metric) for one in singles]
        elif singles:
            rows = [_row(one, doc, metric) for one in singles]
            rows.extend(_loose(doc.get(name), name, {one.path for one in singles}))
        else:
            rows = list(_loose(doc.get(name), name, set()))
        found.append(PartOf(name, words(name), tuple(rows), bool(singles)))
    return found


def dig(doc: Any, path: str) -> Any:
    """What stands at a path, or None."""
    for step in path.split("."):
        doc = doc.get(step) if isinstance(doc, dict) else None
    return doc


def _row(one: FieldOf, doc: dict[str, Any], metric: bool) -> Row:
    given = dig(doc, one.path)
    label = words(one.path.split(".", 1)[-1].replace(".", ", "))
    typed = "" if given is None else said(given)
    return Row(one.path, label, typed, _metric(one, given, metric), one.required and given is None)


def _metric(one: FieldOf, given: Any, metric: bool) -> str:
    if one.measures is None or given is None:
        return ""
    ends = [given]
    if isinstance(given, dict):
        ends = [given[key] for key in ("value", "low", "high") if key in given]
    try:
        numbers = [MeasureOf(one.measures, one.signed).number(end, metric) for end in ends]
    except PydanticCustomError:
        return ""
    return " to ".join(f"{number:,.3g}" if one.unit == "rad" else f"{number:,.1f}"
                       for number in numbers) + f" {one.unit}"  # fmt: skip


def _loose(value: Any, path: str, done: set[str]) -> Iterator[Row]:
    """Whatever no plain form holds, as rows: entries of lists, and fields below them."""
    if path in done or value is None:
        return
    if isinstance(value, dict) and not {"value", "low", "corners", "x"} & set(value):
        for key, below in value.items():
            yield from _loose(below, f"{path}.{key}", done)
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for number, below in enumerate(value, start=1):
            name = below.get("id") or below.get("name") or below.get("wheel") or number
            yield from _loose(below, f"{path}.{name}", done)
    else:
        label = words(path.split(".", 1)[-1].replace(".", ", "))
        yield Row(path, label, said(value))


@cache
def _must(kind: str) -> tuple[str, ...]:
    """Fields outside of lists that a whole record must have, parts above their own fields."""
    model = MODELS[kind]
    needed: list[str] = []
    for one in fields_of(model):
        above = one.path.rpartition(".")[0]
        if one.required and "*" not in one.path and (not above or above in needed):
            needed.append(one.path)
    return tuple(needed)


def still_missing(kind: str, doc: dict[str, Any]) -> tuple[str, ...]:
    """What a record that is not whole still lacks, in words; a whole missing part once.

    Cheap, so that a list can show it: entries of lists are not looked into.
    """
    found: list[str] = []
    for path in _must(kind):
        if not any(path.startswith(f"{one}.") for one in found) and dig(doc, path) in (None, []):
            found.append(path)
    return tuple(words(path.replace(".", " ")) for path in found)
