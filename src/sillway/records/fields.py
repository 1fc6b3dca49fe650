"""What fields a record has: their paths, what each takes, and whether it must be given.

A path joins names with full stops; ``*`` stands for the number of an entry in a list
(``seats.*.in_use.outline``).
"""

from __future__ import annotations

import datetime as dt
import types
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from sillway import units
from sillway.records.measure import Measure, MeasureOf, Way
from sillway.records.outline import FORMS, Outline

EACH: Final = "*"
UNIT_OF: Final = {
    units.Kind.LENGTH: "mm",
    units.Kind.TREAD: "mm",
    units.Kind.MASS: "kg",
    units.Kind.DISTANCE: "km",
    units.Kind.FORCE: "N",
    units.Kind.SLOPE: "rad",
}


class Takes(StrEnum):
    """What sort of entry a field takes."""

    MEASURE = "measure"
    OUTLINE = "outline"
    CHOICE = "choice"
    YES_NO = "yes or no"
    NUMBER = "number"
    DAY = "day"
    WORDS = "words"
    PART = "part"


@dataclass(frozen=True, slots=True)
class FieldOf:
    """One field of a part.

    Attributes:
        path: where it stands in the record.
        part: name of the class it belongs to.
        name: its own name, the last of the path.
        takes: what sort of entry it takes, of each entry if ``many``.
        many: whether it is a list.
        required: whether its part cannot be without it.
        measures: for a measure, of what kind.
        signed: for a measure, whether it may be negative.
        choices: for a choice, the words to choose from.
        model: for a part, its class.
    """

    path: str
    part: str
    name: str
    takes: Takes
    many: bool
    required: bool
    measures: units.Kind | None = None
    signed: bool = False
    choices: tuple[str, ...] = ()
    model: type[BaseModel] | None = None

    @property
    def unit(self) -> str:
        """The unit it is kept in, or the empty word."""
        if self.takes is Takes.OUTLINE:
            return "mm"
        return UNIT_OF[self.measures] if self.measures is not None else ""

    @property
    def wanted(self) -> str:
        """What would do, for an error."""
        one = self._wanted_of_one()
        return f"a list, each entry {one}" if self.many else one

    def _wanted_of_one(self) -> str:
        if self.measures is not None:
            return units.WANTED[self.measures]
        if self.takes is Takes.OUTLINE:
            return FORMS
        if self.takes is Takes.CHOICE:
            return "one of: " + ", ".join(self.choices)
        if self.model is not None:
            return "its own fields: " + ", ".join(self.model.model_fields)
        return {
            Takes.YES_NO: "true or false",
            Takes.NUMBER: "a number",
            Takes.DAY: "a day such as 2026-11-25",
        }.get(self.takes, "a few words")


@cache
def fields_of(model: type[BaseModel], under: str = "") -> tuple[FieldOf, ...]:
    """Every field of a record, the fields of a part right after the part itself."""
    found: list[FieldOf] = []
    for name, info in model.model_fields.items():
        path = f"{under}.{name}" if under else name
        core, many, meta = _unwrap(info.annotation, list(info.metadata))
        one = _field(path, model.__name__, name, core, many, info.is_required(), meta)
        found.append(one)
        if one.model is not None:
            found.extend(fields_of(one.model, f"{path}.{EACH}" if many else path))
    return tuple(found)


@cache
def by_path(model: type[BaseModel]) -> dict[str, FieldOf]:
    """The fields of a record by path."""
    return {one.path: one for one in fields_of(model)}


def pattern_of(steps: tuple[str | int, ...]) -> str:
    """The path of a place in a record: names kept, numbers as ``*``.

    >>> pattern_of(("seats", 2, "in_use", "outline"))
    'seats.*.in_use.outline'
    """
    return ".".join(EACH if isinstance(step, int) else step for step in steps)


def _unwrap(annotation: Any, meta: list[Any]) -> tuple[Any, bool, list[Any]]:
    """Take off ``Annotated``, ``| None`` and one list; say whether there was a list."""
    many = False
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            annotation, *more = get_args(annotation)
            meta = [*meta, *more]
        elif origin in (Union, types.UnionType):
            annotation = next(arg for arg in get_args(annotation) if arg is not type(None))
        elif origin is tuple:
            annotation, many = get_args(annotation)[0], True
        else:
            return annotation, many, meta


def _field(
    path: str, part: str, name: str, core: Any, many: bool, required: bool, meta: list[Any]
) -> FieldOf:
    measure = next((one for one in meta if isinstance(one, MeasureOf)), None)
    if core is Measure and measure is not None:
        return FieldOf(
            path, part, name, Takes.MEASURE, many, required, measure.kind, measure.signed
        )  # fmt: skip
    if get_origin(core) is Literal:
        choices = tuple(str(one) for one in get_args(core))
        return FieldOf(path, part, name, Takes.CHOICE, many, required, choices=choices)
    if core is Way:
        ways = tuple(str(way) for way in Way)
        return FieldOf(path, part, name, Takes.CHOICE, many, required, choices=ways)
    if isinstance(core, type) and issubclass(core, BaseModel):
        return FieldOf(path, part, name, Takes.PART, many, required, model=core)
    if get_origin(core) is dict:
        # Words by name, on the lot's own cards only; no form and no sheet asks for them.
        return FieldOf(path, part, name, Takes.WORDS, True, required)
    sorts = {
        Outline: Takes.OUTLINE,
        bool: Takes.YES_NO,
        int: Takes.NUMBER,
        float: Takes.NUMBER,
        dt.date: Takes.DAY,
        str: Takes.WORDS,
    }
    return FieldOf(path, part, name, sorts[core], many, required)
