"""Places in a document by path; ``list[name]`` is the entry of that name in a list. Pure."""

from __future__ import annotations

import re
from typing import Any, Final

#: What tells the entries of a list apart, the first that they have.
KEYS: Final = ("id", "wheel", "name")
_STEP: Final = re.compile(r"(?P<name>[a-z_]+)(?:\[(?P<key>[^\]]*)\])?(?:\.|$)")
_KEY_OF: Final = {"tires": "wheel", "layers": "name", "contacts": "name", "ceilings": "name",
                  "solids": "name", "sets": "name", "ways_out": "name"}  # fmt: skip


def key_of(path: str) -> str:
    """The field that tells the entries of a list apart.

    >>> key_of("chair.layers"), key_of("seats")
    ('name', 'id')
    """
    return _KEY_OF.get(path.split(".")[-1], "id")


def get(doc: Any, path: str) -> Any:
    """What stands at a path, or None.

    >>> get({"seats": [{"id": "left", "row": 2}]}, "seats[left].row")
    2
    """
    for name, key in _steps(path):
        doc = doc.get(name) if isinstance(doc, dict) else None
        if key is not None:
            doc = _entry(doc, name, key)
    return doc


def put(doc: dict[str, Any], path: str, value: Any) -> None:
    """Set what stands at a path; None takes it out, and every part left with nothing in it.

    >>> doc = {}
    >>> put(doc, "tires[left front].size", "235/60R17")
    >>> doc
    {'tires': [{'wheel': 'left front', 'size': '235/60R17'}]}
    >>> put(doc, "tires[left front].size", None)
    >>> doc
    {}
    """
    _put(doc, _steps(path), value)


def _put(part: dict[str, Any], steps: list[tuple[str, str | None]], value: Any) -> None:
    (name, key), rest = steps[0], steps[1:]
    if key is not None:
        _put_entry(part, name, key, rest, value)
        return
    if not rest:
        if value is None:
            part.pop(name, None)
        else:
            part[name] = value
        return
    below = part.get(name)
    below = below if isinstance(below, dict) else {}
    _put(below, rest, value)
    if below:
        part[name] = below
    else:
        part.pop(name, None)


def _put_entry(
    part: dict[str, Any], name: str, key: str, rest: list[tuple[str, str | None]], value: Any
) -> None:
    entries = part.get(name)
    entries = entries if isinstance(entries, list) else []
    entry = _entry(entries, name, key)
    if entry is None:
        if value is None:
            return
        entry = {key_of(name): key}
        entries.append(entry)
    if rest:
        _put(entry, rest, value)
    if not rest or set(entry) <= {key_of(name)}:
        entries.remove(entry)
        if rest == [] and value is not None:
            entries.append(value)
    if entries:
        part[name] = entries
    else:
        part.pop(name, None)


def _entry(entries: Any, name: str, key: str) -> Any:
    if not isinstance(entries, list):
        return None
    field = key_of(name)
    return next((e for e in entries if isinstance(e, dict) and e.get(field) == key), None)


def _steps(path: str) -> list[tuple[str, str | None]]:
    return [(one["name"], one["key"]) for one in _STEP.finditer(path)]
