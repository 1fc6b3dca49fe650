"""A row sheet to fill: every field of a record with a blank value and where the tape goes."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Final

from pydantic import BaseModel

from sillway.errors import BadInput
from sillway.records.fields import FieldOf, Takes, fields_of
from sillway.records.rider import Rider
from sillway.records.rows import COLUMNS
from sillway.records.van import Van
from sillway.records.words import meaning

_MODELS: Final[dict[str, type[BaseModel]]] = {"van": Van, "rider": Rider}
_HELP: Final = (
    "# Fill in the column value; leave empty what you do not know. Keep the header row.",
    "# A measure: 34 1/2 in, 4' 7-1/4\", 71.5 cm, 312 lb; unsure: 34 to 35. A bare number is in the"
    " record's units.",
    "# way: tape, reported, scale ticket, maker's drawing, label, assumed; tolerance: 1/4 in.",
    "# For a second entry of a list copy its rows and count on: seats.2.id after seats.1.id.",
    "# A list of plain entries stands in one cell, with semicolons between.",
)
# Blank entries laid out where a list usually has several.
_BLANKS: Final = {
    "layers": 6, "contacts": 3, "tires": 4, "seats": 4, "solids": 4, "strap_anchors": 4,
    "belt_anchors": 3, "walkers": 2,
}  # fmt: skip


def template(kind: str) -> str:
    """A row sheet for a van or a rider, with notes, ready to fill and read back.

    Raises:
        BadInput: for any other kind.
    """
    model = _MODELS.get(kind)
    if model is None:
        raise BadInput("kind", kind, "van or rider")
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in _HELP:
        writer.writerow([line])
    for row in _rows(model, "", ""):
        writer.writerow(row)
    return out.getvalue()


def _rows(model: type[BaseModel], under: str, counted: str) -> Iterator[list[str]]:
    """Rows of one part and of the parts in it; ``counted`` is ``under`` with its numbers."""
    for field in fields_of(model):
        if "." in field.path:
            continue
        path = f"{counted}{field.name}"
        need = _need(field, under)
        if field.model is None:
            value = model.__name__.lower() if field.name == "kind" and not counted else ""
            yield [path, value, "", "", _note(field, need)]
            continue
        count = f", counted from {path}.1" if field.many else ""
        yield [f"# {path}: {meaning(field)} ({need}{count})"]
        if field.name == "other_chairs":
            yield [f"# Rows as for the rider: {path}.1.name, {path}.1.chair.length and so on."]
            continue
        begun = "" if field.required else path
        inner = begun or under
        if not field.many:
            yield from _rows(field.model, inner, f"{path}.")
            continue
        for number in range(1, _BLANKS.get(field.name, 1) + 1):
            yield from _rows(field.model, inner, f"{path}.{number}.")


def _note(field: FieldOf, need: str) -> str:
    parts = [f"{need[0].upper()}{need[1:]}.", meaning(field)]
    if field.takes is Takes.CHOICE and field.name != "kind":
        parts.append("One of: " + ", ".join(field.choices) + ".")
    elif field.takes is Takes.YES_NO:
        parts.append("Yes or no.")
    elif field.takes is Takes.OUTLINE:
        parts.append("As x 0 to 100; y -30 to 30, or corners x, y; x, y; x, y.")
    elif field.takes is Takes.DAY:
        parts.append("As 2026-11-25.")
    return " ".join(parts)


def _need(field: FieldOf, begun: str) -> str:
    """Required, optional, or required once the part named ``begun`` is begun."""
    if not field.required:
        return "optional"
    return f"required with any of {begun}" if begun else "required"
