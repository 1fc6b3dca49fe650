"""Which column is which field: what is suggested, and what may be chosen."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Final

from pydantic import BaseModel

from sillway.errors import BadInput
from sillway.records.fields import EACH, FieldOf, Takes, by_path
from sillway.records.flat import EXTRAS
from sillway.store.kinds import kind_of
from sillway.web.sheet import MODELS

CARD: Final = "card."
#: Records a sheet can bring in, and the fields by which a row finds its own.
KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "van": ("stock_number",),
    "rider": ("name",),
}
# Not for a column: the sheet's own form says them.
_SET_ELSEWHERE: Final = frozenset({"kind", "units"})
# A name as close as this is a slip of the pen; below it, another word.
_CLOSE: Final = 0.86


def field_of(kind: str, path: str) -> FieldOf | None:
    """The field a path names: ``seats.2.id``, ``door.width.way``, ``card.phone``; else None."""
    model: type[BaseModel] = MODELS[kind]
    if path.startswith(CARD):
        model, path = kind_of(kind).card, path.removeprefix(CARD)
        return _cards(model).get(path)
    fields = by_path(model)
    steps = path.split(".")
    if any(re.fullmatch(r"0\d*", step) for step in steps) or path in _SET_ELSEWHERE:
        return None
    pattern = ".".join(EACH if re.fullmatch(r"[1-9]\d{0,2}", step) else step for step in steps)
    field = fields.get(pattern)
    if field is None and pattern.endswith(f".{EACH}"):
        whole = fields.get(pattern.removesuffix(f".{EACH}"))
        field = whole if whole is not None and whole.many else None
    return None if field is None or field.takes is Takes.PART else field


def split(kind: str, path: str) -> tuple[str, str] | None:
    """A path as field and part of its entry: ``value``, ``way`` or ``tolerance``; None if unknown.

    >>> split("van", "door.width.way"), split("van", "door.width"), split("van", "door.colour")
    (('door.width', 'way'), ('door.width', 'value'), None)
    """
    if field_of(kind, path) is not None:
        return path, "value"
    above, _, last = path.rpartition(".")
    if last in EXTRAS and above and not above.startswith(CARD):
        field = field_of(kind, above)
        if field is not None and field.takes in (Takes.MEASURE, Takes.OUTLINE):
            return above, last
    return None


def choices(kind: str) -> list[str]:
    """Every field a column can be, entries of lists as the first one."""
    card = [CARD + name for name in _cards(kind_of(kind).card)]
    return card + [
        one.path.replace(EACH, "1")
        for one in by_path(MODELS[kind]).values()
        if one.takes is not Takes.PART and one.path not in _SET_ELSEWHERE
    ]


def suggested(kind: str, header: Sequence[str]) -> list[str]:
    """For each column the field it most likely is, or the empty word. No field twice."""
    taken: set[str] = set()
    found = []
    for name in header:
        path = _one(kind, name)
        if path in taken:
            path = ""
        taken.add(path)
        found.append(path)
    return found


def checked(kind: str, header: Sequence[str], chosen: Sequence[str]) -> list[str]:
    """The choice of fields, one a column, the empty word for a column that is left out.

    Raises:
        BadInput: an unknown field, one twice, or none by which a row finds its record.
    """
    taken: dict[str, str] = {}
    for name, path in zip(header, chosen, strict=True):
        if not path:
            continue
        told = f"column {name}"
        if split(kind, path) is None:
            close = difflib.get_close_matches(path, choices(kind), n=1)
            hint = f", such as {close[0]}" if close else ""
            raise BadInput(told, path, f"a field of this record{hint}, or nothing")
        if path in taken:
            raise BadInput(told, path, f"each field once; column {taken[path]} is it already")
        taken[path] = name
    for key in KEYS[kind]:
        if key not in taken:
            raise BadInput("columns", ", ".join(taken), f"a column for {key}: it finds the record")
    return list(chosen)


@cache
def _cards(model: type[BaseModel]) -> dict[str, FieldOf]:
    # Only plain fields of a card: what the pages keep there for themselves has no column.
    found = {}
    for name, info in model.model_fields.items():
        if "dict" not in str(info.annotation) and "tuple" not in str(info.annotation):
            found[name] = FieldOf(name, model.__name__, name, Takes.WORDS, False, False)
    return found


@cache
def _names(kind: str) -> dict[str, str]:
    text = files("sillway.web.imports").joinpath("names.toml").read_text("utf-8")
    spelt = {_key(path.replace(EACH, "1")): path for path in choices(kind)}
    for path, names in tomllib.loads(text)[kind].items():
        spelt.update({_key(name): path for name in names})
    return spelt


def _one(kind: str, name: str) -> str:
    exact = name.strip()
    if split(kind, exact) is not None:
        return exact
    names = _names(kind)
    key = _key(name)
    close = difflib.get_close_matches(key, names, n=1, cutoff=_CLOSE) if len(key) > 3 else []
    return names.get(key) or (names[close[0]] if close else "")


def _key(name: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", name.casefold()))
