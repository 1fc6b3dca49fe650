"""Records to test with: the demo lot, and ways to bend and break it."""

from __future__ import annotations

import copy
import csv
import io
import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from pydantic import BaseModel

from sillway.errors import BadInput
from sillway.records import rows
from sillway.records.fields import Takes, by_path
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.van import Van

DEMO = Path(__file__).parent.parent / "demo"
MODELS: dict[str, type[BaseModel]] = {"van": Van, "rider": Rider}
Steps = tuple[str | int, ...]


@cache
def _given(folder: str) -> dict[str, dict[str, Any]]:
    found = {}
    for path in sorted((DEMO / folder).iterdir()):
        text = path.read_text(encoding="utf-8")
        if path.suffix == ".json":
            found[path.stem] = json.loads(text)
        else:
            found[path.stem] = rows.parse(text, MODELS[folder.removesuffix("s")]).record
    return found


def given_vans() -> dict[str, dict[str, Any]]:
    """The demo vans by file name, as JSON gives them; yours to change."""
    return copy.deepcopy(_given("vans"))


def given_riders() -> dict[str, dict[str, Any]]:
    """The demo riders by file name, as JSON gives them; yours to change."""
    return copy.deepcopy(_given("riders"))


def places_in(record: object, at: Steps = ()) -> Iterator[Steps]:
    """Every place in a record, parts and leaves."""
    if at:
        yield at
    if isinstance(record, dict):
        for key, value in record.items():
            yield from places_in(value, (*at, key))
    elif isinstance(record, list):
        for count, value in enumerate(record):
            yield from places_in(value, (*at, count))


def put(record: dict[str, Any], steps: Steps, value: object) -> dict[str, Any]:
    """The record with another value in one place."""
    changed: dict[str, Any] = copy.deepcopy(record)
    here: Any = changed
    for step in steps[:-1]:
        here = here[step]
    here[steps[-1]] = value
    return changed


def without(record: dict[str, Any], steps: Steps) -> dict[str, Any]:
    """The record without one place."""
    changed: dict[str, Any] = copy.deepcopy(record)
    here: Any = changed
    for step in steps[:-1]:
        here = here[step]
    del here[steps[-1]]
    return changed


def sheet(record: dict[str, Any], model: type[BaseModel]) -> str:
    """The record as a row sheet."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(["field", "value", "way", "tolerance"])
    writer.writerows(_cells(record, "", "", model))
    return out.getvalue()


def _cells(
    value: Any, path: str, pattern: str, model: type[BaseModel]
) -> Iterator[tuple[str, str, str, str]]:
    field = by_path(model).get(pattern)
    if field is not None and field.takes is Takes.MEASURE and isinstance(value, dict):
        shown = str(value["value"]) if "value" in value else f"{value['low']} to {value['high']}"
        yield path, shown, value.get("way", ""), str(value.get("tolerance", ""))
    elif field is not None and field.takes is Takes.OUTLINE and isinstance(value, dict):
        (x0, x1), (y0, y1) = value["x"], value["y"]
        yield path, f"x {x0} to {x1}; y {y0} to {y1}", "", ""
    elif isinstance(value, dict):
        for key, entry in value.items():
            inner = f"{path}.{key}".removeprefix("."), f"{pattern}.{key}".removeprefix(".")
            yield from _cells(entry, *inner, model)
    elif isinstance(value, list) and field is not None and field.takes is Takes.PART:
        for count, entry in enumerate(value, 1):
            yield from _cells(entry, f"{path}.{count}", f"{pattern}.*", model)
    elif isinstance(value, list):
        yield path, "; ".join(str(entry) for entry in value), "", ""
    elif isinstance(value, bool):
        yield path, "yes" if value else "no", "", ""
    else:
        yield path, str(value), "", ""


def outcome(job: Callable[..., Any], *args: Any, **kwargs: Any) -> tuple[Any, BadInput | None]:
    """What a call gave, or how it refused. Anything but BadInput goes through."""
    try:
        return job(*args, **kwargs), None
    except BadInput as error:
        return None, error


_KEYS = st.text(max_size=8) | st.sampled_from(["value", "low", "high", "x", "y", "way"])
JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["34 1/2 in", "-3 in", "9 m", "NaN", "1e400", "0", "tape", "\ud800", "\x00"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(_KEYS, inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@st.composite
def bent_records(draw: st.DrawFn, kind: str) -> dict[str, Any]:
    """A demo record in which one to three places are dropped, doubled, renamed or replaced."""
    pool = given_vans() if kind == "van" else given_riders()
    record = pool[draw(st.sampled_from(sorted(pool)))]
    for _ in range(draw(st.integers(1, 3))):
        all_places = list(places_in(record))
        if not all_places:
            break
        steps = draw(st.sampled_from(all_places))
        how = draw(st.sampled_from(["drop", "replace", "rename"]))
        if how == "drop":
            record = without(record, steps)
        elif how == "replace":
            record = put(record, steps, draw(JSON_VALUES))
        else:
            record = put(record, (*steps[:-1], f"{steps[-1]}x"), 1) if _named(steps) else record
    return record


def _named(steps: Steps) -> bool:
    return isinstance(steps[-1], str)


@st.composite
def vans(draw: st.DrawFn) -> Van:
    """A demo van, its ramp, doorway and ceiling up to 4 in off, that does not contradict itself."""
    pool = given_vans()
    given = pool[draw(st.sampled_from(sorted(pool)))]
    return _shifted(
        draw, given, (("ramp", "rise"), ("ramp", "length"), ("door", "width"), ("door", "height"))
    )


@st.composite
def riders(draw: st.DrawFn) -> Rider:
    """A demo rider, masses and eye height up to 4 units off, that does not contradict itself."""
    pool = given_riders()
    given = pool[draw(st.sampled_from(sorted(pool)))]
    shifts = [
        s for s in (("chair", "mass"), ("body", "mass"), ("body", "eye_height")) if _has(given, s)
    ]
    return _shifted(draw, given, tuple(shifts))


def _has(given: dict[str, Any], steps: Steps) -> bool:
    return steps in set(places_in(given))


def _shifted(draw: st.DrawFn, given: dict[str, Any], places: tuple[Steps, ...]) -> Any:
    from sillway.records.measure import Measure

    model, read = (Van, van_from) if given["kind"] == "van" else (Rider, rider_from)
    record = read(given)
    for steps in places:
        measure: Any = record
        for step in steps:
            measure = getattr(measure, str(step))
        assert isinstance(measure, Measure)
        unit = {"mm": "in", "kg": "lb"}[by_path(model)[".".join(map(str, steps))].unit]
        per = 25.4 if unit == "in" else 0.45359237
        shifted = measure.value / per + draw(st.integers(-16, 16)) / 4
        bent = put(given, steps, f"{shifted:.3f} {unit}")
        try:
            read(bent)
        except BadInput:
            continue
        given = bent
    return read(given)
