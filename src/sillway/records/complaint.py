"""From what the record models refuse to one sentence for the person who wrote the record."""

from __future__ import annotations

import difflib
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from sillway.errors import MISSING, BadInput
from sillway.records.fields import by_path, pattern_of

# Errors whose context says what would do; {} is filled from it.
_WANTED: Final = {
    "literal_error": "{expected}",
    "enum": "{expected}",
    "greater_than": "a number above {gt}",
    "greater_than_equal": "a number of at least {ge}",
    "less_than": "a number below {lt}",
    "less_than_equal": "a number of at most {le}",
    "string_too_long": "at most {max_length} characters",
    "string_too_short": "at least {min_length} character",
    "string_pattern_mismatch": "words on one line",
    "too_long": "at most {max_length} entries",
    "too_short": "at least {min_length} entry",
    "finite_number": "a finite number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
}
_TELLING: Final = {"extra_forbidden": 0, "missing": 2}


def dotted(steps: tuple[str | int, ...]) -> str:
    """A place in a record as the person names it.

    >>> dotted(("seats", 2, "in_use", "outline"))
    'seats[2].in_use.outline'
    """
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{_plain(step)}" for step in steps)
    return text.removeprefix(".") or "record"


def complaint(error: ValidationError, model: type[BaseModel]) -> BadInput:
    """The most telling error of a record, and how many more there are."""
    found = error.errors(include_url=False)
    # A misspelt field leaves its right name missing; the misspelling tells more.
    first = min(found, key=lambda one: _TELLING.get(one["type"], 1))
    steps = first["loc"]
    context: dict[str, Any] = first.get("ctx", {})
    field = by_path(model).get(pattern_of(steps))
    given = first["input"]
    if first["type"] == "measure":
        given, wanted = context["given"], context["wanted"]
    elif first["type"] == "missing":
        given, wanted = MISSING, field.wanted if field else "a value"
    elif first["type"] == "extra_forbidden":
        wanted = _nearest(model, steps)
    elif first["type"] in _WANTED:
        wanted = _WANTED[first["type"]].format(**context)
    else:
        wanted = field.wanted if field else "something else"
    if len(found) > 1:
        wanted += f" (and {len(found) - 1} more)"
    return BadInput(dotted(steps), "null" if given is None else given, wanted)


def _nearest(model: type[BaseModel], steps: tuple[str | int, ...]) -> str:
    above = pattern_of(steps[:-1])
    start = f"{above}." if above else ""
    known = [
        path.removeprefix(start)
        for path in by_path(model)
        if path.startswith(start) and "." not in path.removeprefix(start)
    ]
    close = difflib.get_close_matches(str(steps[-1]), known, n=1)
    if close:
        return f"a known field; did you mean {close[0]}?"
    return "one of the known fields: " + ", ".join(known)


def _plain(name: object, most: int = 40) -> str:
    text = "".join(sign if sign.isprintable() else "?" for sign in str(name))
    return text if len(text) <= most else text[: most - 1] + "…"
