"""Three-way merge of JSON documents, field by field. Pure."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

# A field that is not there. Told apart from null, which is an answer.
ABSENT: Final = type(
    "Absent", (), {"__repr__": lambda self: "absent", "__bool__": lambda s: False}
)()
# What tells the entries of a list apart.
_KEYS: Final = ("id", "wheel", "name")
# A measure is one answer: the value of one person must not meet the way of another.
_MEASURE: Final = {"value", "low", "high", "way", "tolerance"}

Side = Literal["mine", "theirs"]


@dataclass(frozen=True, slots=True)
class Clash:
    """One field that both changed, each to something else."""

    field: str
    base: Any
    mine: Any
    theirs: Any


@dataclass(frozen=True, slots=True)
class Merge:
    """The merged document; where there are clashes it holds my side."""

    content: Any
    clashes: tuple[Clash, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """One field before and after."""

    field: str
    before: Any
    after: Any


def merge(base: Any, mine: Any, theirs: Any, choices: Mapping[str, Side] | None = None) -> Merge:
    """Join two changes of one document.

    A field changed on one side only takes that change; changed alike on both, it is kept once;
    changed to different things, it is a clash unless ``choices`` names a side for it.

    >>> merge({"a": 1, "b": 2}, {"a": 5, "b": 2}, {"a": 1, "b": 7}).content
    {'a': 5, 'b': 7}
    >>> merge({"a": 1}, {"a": 2}, {"a": 3}).clashes[0].field
    'a'
    """
    clashes: list[Clash] = []
    content = _join(base, mine, theirs, "", choices or {}, clashes)
    return Merge(content, tuple(clashes))


def changes(before: Any, after: Any) -> tuple[Change, ...]:
    """Every field that differs, in the order of the document.

    >>> changes({"a": {"b": 1}}, {"a": {"b": 2}})
    (Change(field='a.b', before=1, after=2),)
    """
    found: list[Change] = []
    _walk(before, after, "", found)
    return tuple(found)


def same(one: Any, other: Any) -> bool:
    """Whether two JSON values are the same, true and 1 told apart.

    >>> same(True, 1), same({"a": 1, "b": 2}, {"b": 2, "a": 1})
    (False, True)
    """
    if one is ABSENT or other is ABSENT:
        return one is other
    return json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)


def _join(
    base: Any, mine: Any, theirs: Any, field: str, choices: Mapping[str, Side], out: list[Clash]
) -> Any:
    if same(mine, theirs) or same(theirs, base):
        return mine
    if same(mine, base):
        return theirs
    parts = [_parts(one) for one in (base, mine, theirs)]
    if parts[1] is not None and parts[2] is not None and _alike(mine, theirs):
        known = parts[0] if parts[0] is not None and _alike(base, mine) else {}
        joined = {}
        for key in [*parts[2], *(k for k in parts[1] if k not in parts[2])]:
            old, own, other = (part.get(key, ABSENT) for part in (known, parts[1], parts[2]))
            value = _join(old, own, other, _below(field, key, mine), choices, out)
            if value is not ABSENT:
                joined[key] = value
        return list(joined.values()) if isinstance(mine, list) else joined
    side = choices.get(field)
    if side is None:
        out.append(Clash(field, base, mine, theirs))
    return theirs if side == "theirs" else mine


def _walk(before: Any, after: Any, field: str, out: list[Change]) -> None:
    if same(before, after):
        return
    old, new = _parts(before), _parts(after)
    if old is not None and new is not None and _alike(before, after):
        for key in [*old, *(k for k in new if k not in old)]:
            name = _below(field, key, after)
            _walk(old.get(key, ABSENT), new.get(key, ABSENT), name, out)
        moved = isinstance(after, list) and list(old) != list(new) and set(old) == set(new)
        if moved:
            out.append(Change(f"{field} (order)", list(old), list(new)))
        return
    out.append(Change(field, before, after))


def _parts(value: Any) -> dict[str, Any] | None:
    """A value's own fields, if it can be taken apart."""
    if isinstance(value, dict):
        return None if value and set(value) <= _MEASURE else value
    if isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
        for key in _KEYS:
            names = [one.get(key) for one in value]
            if all(isinstance(name, str) for name in names) and len(set(names)) == len(names):
                return dict(zip(names, value, strict=True))
    return None


def _alike(one: Any, other: Any) -> bool:
    return isinstance(one, list) == isinstance(other, list)


def _below(field: str, key: str, whole: Any) -> str:
    if isinstance(whole, list):
        return f"{field}[{key}]"
    return f"{field}.{key}" if field else key
