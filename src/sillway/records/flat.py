"""A record as one row: dotted column names and cells, the other way round from ``rows``.

A measure's way and tolerance stand in columns of their own, ``door.width.way`` and
``door.width.tolerance``. Entries of lists are counted from 1.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from pydantic import BaseModel

from sillway.records.fields import EACH, FieldOf, Takes, by_path

#: What may stand behind the path of a measure or outline as a column of its own.
EXTRAS: Final = ("way", "tolerance")


def flat(doc: dict[str, Any], model: type[BaseModel]) -> dict[str, str]:
    """Every column of a record that has something in it, in the order of the record.

    >>> from sillway.records.van import Van
    >>> flat({"door": {"width": {"value": "37 in", "way": "tape"}}}, Van)
    {'door.width': '37 in', 'door.width.way': 'tape'}
    """
    return dict(_walk(doc, "", "", by_path(model)))


def cells(value: Any, field: FieldOf) -> tuple[str, str, str]:
    """The cell of one plain value, measure or outline, with its way and tolerance."""
    extra = ["", ""]
    if isinstance(value, dict):
        extra = [str(value.get(name, "")) for name in EXTRAS]
        if "value" in value:
            value = value["value"]
        elif "low" in value:
            value = f"{value['low']} to {value['high']}"
        elif "corners" in value:
            value = value["corners"]
        elif "x" in value:
            value = "; ".join(
                f"{axis} {value[axis][0]} to {value[axis][1]}" for axis in ("x", "y")
            )  # fmt: skip
    if isinstance(value, list) and field.takes is Takes.OUTLINE:
        value = "; ".join(", ".join(str(end) for end in corner) for corner in value)
    if isinstance(value, bool):
        value = "yes" if value else "no"
    return str(value), extra[0], extra[1]


def _walk(
    part: dict[str, Any], shown: str, pattern: str, fields: dict[str, FieldOf]
) -> Iterator[tuple[str, str]]:
    for name, value in part.items():
        field = fields.get(f"{pattern}{name}")
        if field is None or value is None:
            continue
        path, below = f"{shown}{name}", f"{pattern}{name}"
        if field.takes is Takes.PART and field.many:
            for number, entry in enumerate(value, start=1):
                yield from _walk(entry, f"{path}.{number}.", f"{below}.{EACH}.", fields)
        elif field.takes is Takes.PART:
            yield from _walk(value, f"{path}.", f"{below}.", fields)
        elif field.many:
            yield from _several(value, path, field)
        else:
            yield from _one(value, path, field)


def _one(value: Any, path: str, field: FieldOf) -> Iterator[tuple[str, str]]:
    text, *extra = cells(value, field)
    yield path, text
    for name, more in zip(EXTRAS, extra, strict=True):
        if more:
            yield f"{path}.{name}", more


def _several(values: list[Any], path: str, field: FieldOf) -> Iterator[tuple[str, str]]:
    texts = [cells(value, field)[0] for value in values]
    plain = all(not isinstance(value, dict) and ";" not in str(value) for value in values)
    if plain and all(text.strip() for text in texts):
        if texts:
            yield path, "; ".join(texts)
        return
    for number, value in enumerate(values, start=1):
        yield from _one(value, f"{path}.{number}", field)
