"""A rider of whom little is told yet: what was told stands, the rest is an assumed range.

The chair is drawn in four layers (wheels, feet, elbows, head), each measure a range wide enough
for any chair of its kind (rules ``assumed.sketch.*``). An answer replaces its range, and what
follows from it is narrowed. A record measured in other layers is left as it is.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, get_args

from pydantic_core import PydanticCustomError

from sillway import rules
from sillway.errors import BadInput
from sillway.records.measure import MeasureOf, Way
from sillway.records.rider import DriveKind
from sillway.units import WANTED, Kind

DRIVES: Final[tuple[str, ...]] = get_args(DriveKind)
LAYERS: Final = ("wheels", "feet", "elbows", "head")
SCOOTER: Final = "scooter"
# Stands in for the kind while nobody has told it: no helper is counted for it, which is the good
# end, and every range is taken over all kinds.
_ANY: Final = "rear-wheel drive"
_NOBODY: Final = "?"

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Asked:
    """A measure that a caller can tell.

    Attributes:
        id: short name.
        paths: where the answer goes; an entry of a list is named by its own name.
        measure: the first path as the checks name it.
        kind: what is measured.
        for_drive: the only kind of chair it is asked of; empty for all.
    """

    id: str
    paths: tuple[str, ...]
    measure: str
    kind: Kind = Kind.LENGTH
    for_drive: str = ""

    @property
    def layered(self) -> bool:
        """Whether it belongs to the four layers."""
        return any(".layers." in path for path in self.paths)


ASKED: Final[tuple[Asked, ...]] = (
    Asked("head", ("chair.layers.head.top",), "chair.layers[head].top"),
    Asked("wheels", ("chair.layers.wheels.width",), "chair.layers[wheels].width"),
    Asked("elbows", ("chair.layers.elbows.width",), "chair.layers[elbows].width"),
    Asked("length", ("chair.length", "chair.layers.feet.front"), "chair.length"),
    Asked("chair_mass", ("chair.mass",), "chair.mass", Kind.MASS),
    Asked("rider_mass", ("body.mass",), "body.mass", Kind.MASS),
    Asked("radius", ("chair.steering.smallest_radius",), "chair.steering.smallest_radius",
          for_drive=SCOOTER),
    Asked("axle", ("chair.drive_axle_from_wall",), "chair.drive_axle_from_wall"),
    Asked("clearance", ("chair.ground_clearance",), "chair.ground_clearance"),
)  # fmt: skip


def dig(doc: Any, path: str) -> Any:
    """What stands at a path, entries of lists by name; None if nothing does.

    >>> dig({"chair": {"layers": [{"name": "head", "top": "51 in"}]}}, "chair.layers.head.top")
    '51 in'
    """
    for step in path.split("."):
        if isinstance(doc, list):
            doc = next((one for one in doc if isinstance(one, dict) and one.get("name") == step),
                       None)  # fmt: skip
        else:
            doc = doc.get(step) if isinstance(doc, dict) else None
    return doc


def told(doc: Mapping[str, Any], asked: Asked) -> Any:
    """The answer as it was given; None while it is open or only assumed."""
    given = dig(doc, asked.paths[0])
    return None if assumed(given) else given


def assumed(given: Any) -> bool:
    """Whether an entry says that nobody measured it."""
    return isinstance(given, dict) and given.get("way") == str(Way.ASSUMED)


def is_sketch(doc: Mapping[str, Any]) -> bool:
    """Whether the layers are the four of a sketch, or none were measured yet."""
    layers = dig(doc, "chair.layers")
    if not layers:
        return True
    if not isinstance(layers, list):
        return False
    return [one.get("name") for one in layers if isinstance(one, dict)] == list(LAYERS)


def tell(doc: Mapping[str, Any], asked: Asked, given: Any, on: dt.date) -> dict[str, Any]:
    """The document with one answer in it (None takes it back), the rest grown around it.

    Raises:
        BadInput: the answer is no such measure.
    """
    out = copy.deepcopy(dict(doc))
    if given is not None:
        _ends(given, asked.kind, _metric(doc), asked.id)
    elif asked.layered and not is_sketch(doc):
        return out
    for path in asked.paths:
        if is_sketch(doc) or ".layers." not in path:
            _put(out, path, given)
    return grow(out, on)


def tell_drive(doc: Mapping[str, Any], drive: str, on: dt.date) -> dict[str, Any]:
    """The document with the kind of chair.

    Raises:
        BadInput: no such kind.
    """
    if drive not in DRIVES:
        raise BadInput("chair.drive", drive, "one of: " + ", ".join(DRIVES))
    out = copy.deepcopy(dict(doc))
    _put(out, "chair.drive", drive)
    if drive != SCOOTER and dig(out, "chair.steering.kind") == "like a car":
        out["chair"]["steering"] = {"kind": "on the spot"}
    return grow(out, on)


def grow(doc: Mapping[str, Any], on: dt.date) -> dict[str, Any]:
    """The document with every required measure: told ones stay, assumed ones are drawn anew."""
    out = copy.deepcopy(dict(doc))
    out.setdefault("kind", "rider")
    if not is_sketch(out):
        return out
    chair = out.setdefault("chair", {})
    drive, metric = chair.get("drive"), _metric(out)
    if not chair.get("layers"):
        chair["layers"] = [{"name": name} for name in LAYERS]
    length = _set(out, "chair.length", _sketch("length", drive, on), metric)
    for path, name in (
        ("chair.drive_axle_from_wall", "axle"),
        ("chair.layers.wheels.width", "wheels.width"),
        ("chair.layers.wheels.top", "wheels.top"),
        ("chair.layers.wheels.back", "wheels.back"),
        ("chair.layers.wheels.front", "wheels.front"),
        ("chair.layers.feet.width", "feet.width"),
        ("chair.layers.feet.bottom", "feet.bottom"),
        ("chair.layers.feet.top", "feet.top"),
        ("chair.layers.feet.back", "feet.back"),
        ("chair.layers.elbows.width", "elbows.width"),
        ("chair.layers.elbows.bottom", "elbows.bottom"),
        ("chair.layers.elbows.back", "elbows.back"),
        ("chair.layers.elbows.front", "elbows.front"),
    ):
        low, high = _sketch(name, drive, on)
        if name.endswith((".front", ".back", "axle")):
            # Nothing reaches past the whole length.
            low, high = min(low, length[0]), min(high, length[1])
        _set(out, path, (low, high), metric)
    _set(out, "chair.layers.feet.front", length, metric)
    wheels = next(one for one in chair["layers"] if one["name"] == "wheels")
    wheels.setdefault("bottom", 0)
    _head(out, drive, length, metric, on)
    if drive == SCOOTER:
        _put(out, "chair.steering.kind", "like a car")
        _set(out, "chair.steering.smallest_radius", rules.interval("assumed.turn.radius", on),
             metric)  # fmt: skip
    return out


def whole(doc: Mapping[str, Any], on: dt.date) -> dict[str, Any]:
    """The document as one that can be read and screened, whatever is still open."""
    out = grow(doc, on)
    out["name"] = out.get("name") or _NOBODY
    chair = out.setdefault("chair", {})
    if not chair.get("drive"):
        chair["drive"] = _ANY
        _set(out, "chair.mass", _over_kinds("assumed.chair.mass", None, on), False, "kg")
    return out


def _head(doc: dict[str, Any], drive: str | None, length: Range, metric: bool, on: dt.date) -> None:
    low, high = _set(doc, "chair.layers.head.top", _sketch("head.top", drive, on), metric)
    below = rules.interval("assumed.head.below", on)
    shoulders = (max(low - below[1], 0.0), high - below[0])
    # The shoulders end where the head begins.
    _set(doc, "chair.layers.elbows.top", shoulders, metric)
    _set(doc, "chair.layers.head.bottom", shoulders, metric)
    _set(doc, "chair.layers.head.width", rules.interval("assumed.head.width", on), metric)
    for part in ("back", "front"):
        a, b = rules.interval(f"assumed.head.{part}", on)
        if drive == "stretcher" or drive is None:
            a, b = 0.0, length[1]
        at = (min(a, length[0]), min(b, length[1]))
        _set(doc, f"chair.layers.head.{part}", at, metric)


def _set(doc: dict[str, Any], path: str, ends: Range, metric: bool, unit: str = "mm") -> Range:
    """Put a range where nothing was told; answers the ends that hold there now."""
    given = dig(doc, path)
    if given is not None and not assumed(given):
        return _ends(given, Kind.LENGTH if unit == "mm" else Kind.MASS, metric, path)
    low, high = ends
    _put(doc, path, {"low": f"{low:.0f} {unit}", "high": f"{high:.0f} {unit}",
                     "way": str(Way.ASSUMED)})  # fmt: skip
    return ends


def _ends(given: Any, kind: Kind, metric: bool, field: str) -> Range:
    measure = MeasureOf(kind)
    ends = [given]
    if isinstance(given, dict):
        ends = [given[key] for key in ("value", "low", "high") if key in given]
    if not ends:
        raise BadInput(field, given, WANTED[kind])
    try:
        values = [measure.number(end, metric) for end in ends]
    except PydanticCustomError:
        raise BadInput(field, _typed(given), WANTED[kind]) from None
    return min(values), max(values)


def _typed(given: Any) -> str:
    if isinstance(given, dict):
        return " to ".join(str(given[key]) for key in ("value", "low", "high") if key in given)
    return str(given)


def _sketch(name: str, drive: str | None, on: dt.date) -> Range:
    return _over_kinds(f"assumed.sketch.{name}", drive, on)


def _over_kinds(rule_id: str, drive: str | None, on: dt.date) -> Range:
    if drive in DRIVES:
        return rules.interval(f"{rule_id}.{str(drive).replace(' ', '_')}", on)
    each = list(_ranges(rule_id, on))
    return min(a for a, _ in each), max(b for _, b in each)


def _ranges(rule_id: str, on: dt.date) -> Iterator[Range]:
    for cell in rules.table(rule_id, on).values():
        assert isinstance(cell, tuple)
        yield cell


def _metric(doc: Mapping[str, Any]) -> bool:
    return doc.get("units") == "metric"


def _put(doc: dict[str, Any], path: str, value: Any) -> None:
    *above, name = path.split(".")
    part: Any = doc
    for step in above:
        if isinstance(part, list):
            below = next((one for one in part if one.get("name") == step), None)
            if below is None:
                below = {"name": step}
                part.append(below)
        else:
            below = part.get(step)
            if not isinstance(below, dict | list):
                below = [{"name": one} for one in LAYERS] if step == "layers" else {}
                part[step] = below
        part = below
    if value is None:
        part.pop(name, None)
    else:
        part[name] = value
