"""The row sheet: a record as plain CSV, one field a row.

Columns: ``field,value,way,tolerance,note``; ``way``, ``tolerance`` and ``note`` may be left out.
A field is a dotted path; entries of a list are counted from 1 (``seats.1.id``). Rows without a
value and rows that begin with ``#`` are passed over; ``note`` is for the people who fill it in.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from dataclasses import dataclass
from typing import Any, Final

from pydantic import BaseModel

from sillway.errors import MISSING, BadInput, shorten
from sillway.records.fields import EACH, FieldOf, Takes, by_path

COLUMNS: Final = ("field", "value", "way", "tolerance", "note")
_RANGE = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+)", re.IGNORECASE)
_BOX = re.compile(r"x\s+(?P<x>[^,;]+?\s+to\s+[^,;]+)[,;]\s*y\s+(?P<y>[^,;]+?\s+to\s+[^,;]+)")


@dataclass(frozen=True, slots=True)
class Row:
    """One row that holds a value, and its number in the file, the first line being 1."""

    number: int
    field: str
    value: str
    way: str
    tolerance: str

    @property
    def told(self) -> str:
        """How an error names it."""
        return f"row {self.number} ({shorten(self.field)})"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A record as read from rows, and which row each field came from."""

    record: dict[str, Any]
    row_of: dict[str, Row]

    def where(self, place: str) -> str:
        """The row of a place named as in JSON (``seats[0].id``), else the place counted from 1."""
        counted = re.sub(r"\[(\d+)\]", lambda hit: f".{int(hit[1]) + 1}", place)
        path = counted
        while path:
            if path in self.row_of:
                return self.row_of[path].told
            path = path.rpartition(".")[0]
        return counted


def kind_of(text: str) -> str:
    """The kind of record a sheet says it is, or the empty word. Raises BadInput."""
    return next((row.value for row in _rows(text) if row.field == "kind"), MISSING)


def parse(text: str, model: type[BaseModel]) -> Sheet:
    """Read a row sheet.

    Raises:
        BadInput: for a bad header, an unknown or doubled field, or a gap in the count of a list.
    """
    tree: dict[str | int, Any] = {}
    row_of: dict[str, Row] = {}
    for row in _rows(text):
        if row.field in row_of:
            raise BadInput(row.told, row.value, f"each field once; see {row_of[row.field].told}")
        steps = _steps(row)
        field = _known(row, steps, model)
        _put(tree, steps, _entry(row, field, single=isinstance(steps[-1], int)), row)
        row_of[row.field] = row
    record = _listed(tree, "")
    if not isinstance(record, dict) or not record:
        raise BadInput("file", "no row with a value", "a van or rider record")
    return Sheet(record, row_of)


def _rows(text: str) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True)
    header: list[str] | None = None
    found: list[Row] = []
    try:
        for cells in reader:
            cells = [cell.strip() for cell in cells]
            if not any(cells) or cells[0].startswith("#"):
                continue
            if header is None:
                header = _header(cells)
                continue
            if len(cells) > len(header):
                raise BadInput(
                    f"row {reader.line_num}",
                    ",".join(cells),
                    f"{len(header)} cells; put quotes around a cell that holds a comma",
                )
            by_name = dict(zip(header, cells, strict=False))
            if by_name.get("value"):
                found.append(
                    Row(
                        reader.line_num,
                        by_name["field"],
                        by_name["value"],
                        by_name.get("way", ""),
                        by_name.get("tolerance", ""),
                    )
                )
    except csv.Error as error:
        raise BadInput(f"row {reader.line_num}", str(error), "whole CSV") from None
    return found


def _header(cells: list[str]) -> list[str]:
    header = [cell.lower() for cell in cells]
    fine = {"field", "value"} <= set(header) <= set(COLUMNS) and len(set(header)) == len(header)
    if not fine:
        raise BadInput("row 1", ",".join(cells), "the columns " + ",".join(COLUMNS))
    return header


def _steps(row: Row) -> tuple[str | int, ...]:
    steps = tuple(
        int(step) if re.fullmatch(r"[0-9]{1,3}", step) else step for step in row.field.split(".")
    )
    if 0 in steps:
        raise BadInput(row.told, row.field, "entries of a list counted from 1")
    return steps


def _known(row: Row, steps: tuple[str | int, ...], model: type[BaseModel]) -> FieldOf:
    fields = by_path(model)
    path = ".".join(EACH if isinstance(step, int) else step for step in steps)
    field = fields.get(path)
    if field is None and isinstance(steps[-1], int):
        # One entry of a list of plain values, such as ramp.spans.2.
        whole = fields.get(path.removesuffix(f".{EACH}"))
        field = whole if whole is not None and whole.many else None
    if field is None or field.takes is Takes.PART:
        known = [one.path for one in fields.values() if one.takes is not Takes.PART]
        close = difflib.get_close_matches(path, known, n=1)
        hint = f"; did you mean {close[0].replace(EACH, '1')}?" if close else ""
        raise BadInput(row.told, row.field, f"a field of this record{hint}")
    return field


def _entry(row: Row, field: FieldOf, *, single: bool) -> Any:
    if field.takes is Takes.MEASURE:
        if field.many and not single:
            return [_measure(row, part.strip()) for part in row.value.split(";") if part.strip()]
        return _measure(row, row.value)
    if field.takes is Takes.OUTLINE:
        return _outline(row)
    if row.way or row.tolerance:
        raise BadInput(
            row.told, row.way or row.tolerance, "a way and a tolerance for measures only"
        )
    if field.many and not single:
        return [part.strip() for part in row.value.split(";") if part.strip()]
    if field.takes is Takes.CHOICE:
        return row.value.lower()
    return row.value


def _measure(row: Row, value: str) -> Any:
    extra = _extra(row)
    both = _RANGE.fullmatch(value)
    if both is not None:
        if row.tolerance:
            raise BadInput(row.told, row.tolerance, "a range or a tolerance, not both")
        return {"low": both["low"], "high": both["high"], **extra}
    return {"value": value, **extra} if extra else value


def _outline(row: Row) -> Any:
    extra = _extra(row)
    box = _BOX.fullmatch(row.value.lower())
    if box is not None:
        ends = {axis: [end.strip() for end in box[axis].split(" to ")] for axis in ("x", "y")}
        return {**ends, **extra}
    return {"corners": row.value, **extra} if extra else row.value


def _extra(row: Row) -> dict[str, str]:
    named = {"way": row.way.lower(), "tolerance": row.tolerance}
    return {key: value for key, value in named.items() if value}


def _put(tree: dict[str | int, Any], steps: tuple[str | int, ...], entry: Any, row: Row) -> None:
    here = tree
    for step in steps[:-1]:
        here = here.setdefault(step, {})
        if not isinstance(here, dict):
            raise BadInput(row.told, row.value, "a field once, whole or entry by entry")
    if steps[-1] in here:
        raise BadInput(row.told, row.value, "a field once, whole or entry by entry")
    # A range is itself a dict; wrapped, so that it is not mistaken for a part.
    here[steps[-1]] = _Leaf(entry)


@dataclass(frozen=True, slots=True)
class _Leaf:
    entry: Any


def _listed(tree: Any, path: str) -> Any:
    """Turn counted entries into lists, which must count 1, 2, 3 without a gap."""
    if isinstance(tree, _Leaf):
        return tree.entry
    parts = {
        key: _listed(value, f"{path}.{key}" if path else str(key)) for key, value in tree.items()
    }
    counted = [key for key in parts if isinstance(key, int)]
    if not counted:
        return parts
    if sorted(counted) != list(range(1, len(parts) + 1)):
        raise BadInput(path, max(counted), "entries counted 1, 2, 3 without a gap")
    return [parts[key] for key in sorted(counted)]
