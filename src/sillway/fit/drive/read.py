"""A bare manoeuvre question as JSON: read, answered, written back.

The scene is ``{"obstacles":[{"polygon","z"},…], "body":[…], "start":[x,y,theta], "goal":[x,y,theta]
or {"x":[a,b],"y":[a,b],"theta":[a,b]}, "bounds":[[x0,y0],[x1,y1]], "tolerance_mm": t,
"drive":{"kind":"spot"}}`` in mm and rad. The bounds are walls. Every edge of the body may be off by
the tolerance: moved out by it, corners mitred, for the yes; moved in for the no.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from sillway.errors import MISSING, BadInput
from sillway.fit.drive.scene import (
    Budget,
    Car,
    Drive,
    Point,
    PoseBox,
    Prism,
    Scene,
    Spot,
    Verdict,
    never,
)
from sillway.fit.plane import convex_parts, moved_edges

if TYPE_CHECKING:
    from sillway.fit.drive.answer import DriveAnswer, Pinch
    from sillway.fit.drive.subdivide import Shut

_LARGEST_MM = 1e7
# A part of a split polygon below this is rounding [mm²].
_SLIVER_MM2 = 1e-6
_FIELDS = {"obstacles", "body", "start", "goal", "bounds", "tolerance_mm", "drive"}


def drive_scene(scene: dict[str, Any], late: Callable[[], bool] = never) -> dict[str, Any]:
    """Answer a scene: verdict, clearance, path or proof, and what would settle a close call.

    Args:
        late: asked now and then; True ends the work with what there is.

    Raises:
        BadInput: names the field that cannot be used.
    """
    from sillway.fit.drive.answer import solve

    bad, good = read_scene(scene)
    answer = solve(bad, good, Budget(late=late))
    return write_answer(answer)


def read_scene(scene: dict[str, Any]) -> tuple[Scene, Scene]:
    """The scene with every measurement at its bad end, and at its good end.

    Without tolerance the two are the same object. A clockwise polygon is turned round; one that is
    not convex is split into convex parts.

    Raises:
        BadInput: names the field that cannot be used.
    """
    if not isinstance(scene, dict):
        raise BadInput("scene", scene, "an object with obstacles, body, start, goal and bounds")
    for field in scene:
        if field not in _FIELDS:
            raise BadInput(field, "this field", "only " + ", ".join(sorted(_FIELDS)))
    tolerance = _number("tolerance_mm", scene.get("tolerance_mm", 0.0))
    if tolerance < 0:
        raise BadInput("tolerance_mm", tolerance, "0 or more")
    bounds = _bounds(_needed(scene, "bounds"))
    start = _pose_or_box("start", _needed(scene, "start"))
    goal = _pose_or_box("goal", _needed(scene, "goal"))
    drive = _drive(scene.get("drive", {"kind": "spot"}))
    obstacles = tuple(
        part
        for i, row in enumerate(_list("obstacles", _needed(scene, "obstacles")))
        for part in _prisms(f"obstacles[{i}]", row, 0.0)
    )
    rows = _list("body", _needed(scene, "body"))
    if not rows:
        raise BadInput("body", "no prism", "at least one prism")

    def body(offset: float) -> tuple[Prism, ...]:
        return tuple(p for i, row in enumerate(rows) for p in _prisms(f"body[{i}]", row, offset))

    bad = Scene(obstacles, body(tolerance), start, goal, bounds, drive)
    if tolerance == 0:
        return bad, bad
    return bad, Scene(obstacles, body(-tolerance), start, goal, bounds, drive)


def write_answer(answer: DriveAnswer) -> dict[str, Any]:
    """The answer in the form that ``sillway drive`` prints."""
    out: dict[str, Any] = {"verdict": str(answer.verdict)}
    found = answer.certificate if answer.verdict is Verdict.FITS else None
    if found:
        spot = found.narrowest
        out |= {
            "clearance_mm": found.claimed_clearance_mm,
            "path": [list(pose) for pose in found.path],
            "reversals": found.reversals,
            "turning_rad": found.turning_rad,
            "length_mm": found.length_mm,
            "narrowest": {
                "pose": list(spot.pose),
                "body": spot.body,
                "obstacle": spot.obstacle,
                "faces": spot.obstacle_name,
                "distance_mm": spot.distance_mm,
            },
        }
        if found.arcs:
            out["arcs"] = {str(k): list(c) for k, c in found.arcs.items()}
    if answer.shut:
        out["proof"] = _proof(answer.shut) | {"pinch": _pinch(answer.pinch)}
    if answer.verdict is Verdict.CLOSE:
        out["why"] = answer.why
        out["pinch"] = _pinch(answer.pinch)
        out["grey_band_mm"] = _finite(answer.grey_mm) if answer.grey_mm else None
    out["settle"] = [{"of": s.of, "index": s.index, "name": s.name} for s in answer.settle]
    return out


def _proof(shut: Shut) -> dict[str, Any]:
    return {
        "resolution_mm": shut.resolution_mm,
        "boxes": shut.tree.boxes,
        "flood": len(shut.flood),
        "blocked": shut.blocked,
    }


def _pinch(pinch: Pinch | None) -> dict[str, Any] | None:
    if pinch is None:
        return None
    return {
        "pose": list(pinch.pose),
        "body": pinch.body,
        "obstacle": pinch.obstacle,
        "faces": pinch.obstacle_name,
        "spare_mm": _finite(pinch.spare_mm),
    }


def _finite(values: Iterable[float]) -> list[float | None]:
    """JSON knows no infinity: a bound that was not found is null."""
    return [v if math.isfinite(v) else None for v in values]


# --- reading ---------------------------------------------------------------------------------


def _needed(row: dict[str, Any], field: str, where: str = "") -> Any:
    name = f"{where}.{field}" if where else field
    if field not in row:
        wants = {
            "polygon": "at least three corners [[x, y], …] in mm",
            "z": "[z0, z1] in mm",
            "min_turn_radius_mm": "the smallest turning radius in mm",
        }
        raise BadInput(name, MISSING, wants.get(field, f"the scene's {field}"))
    return row[field]


def _list(field: str, value: Any, length: int | None = None) -> list[Any]:
    if not isinstance(value, list | tuple):
        raise BadInput(field, value, "a list")
    if length is not None and len(value) != length:
        raise BadInput(field, value, f"a list of {length}")
    return list(value)


def _number(field: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadInput(field, value, "a number")
    # An integer may be too long for a float: compare first.
    if not abs(value) <= _LARGEST_MM:
        raise BadInput(field, value, "a number, at most ten kilometres in mm")
    return float(value)


def _interval(field: str, value: Any) -> tuple[float, float]:
    low, high = (_number(field, v) for v in _list(field, value, 2))
    if low > high:
        raise BadInput(field, value, "the lower end first")
    return low, high


def _point(field: str, value: Any) -> Point:
    x, y = (_number(field, v) for v in _list(field, value, 2))
    return x, y


def _bounds(value: Any) -> tuple[Point, Point]:
    low, high = (_point(f"bounds[{i}]", p) for i, p in enumerate(_list("bounds", value, 2)))
    if not (low[0] < high[0] and low[1] < high[1]):
        raise BadInput("bounds", value, "two corners, the lower left one first")
    return low, high


def _pose_or_box(field: str, value: Any) -> PoseBox:
    if isinstance(value, dict):
        for axis in value:
            if axis not in ("x", "y", "theta"):
                raise BadInput(f"{field}.{axis}", "this field", "only x, y and theta")
        x, y, theta = (
            _interval(f"{field}.{axis}", _needed(value, axis, field))
            for axis in ("x", "y", "theta")
        )
        if theta[1] - theta[0] > 2 * math.pi + 1e-9:
            raise BadInput(f"{field}.theta", list(theta), "at most one whole turn")
        return PoseBox(x, y, theta)
    if not isinstance(value, list | tuple):
        raise BadInput(field, value, "a pose [x, y, theta] or a box of poses")
    x1, y1, t1 = (_number(field, v) for v in _list(field, value, 3))
    return PoseBox((x1, x1), (y1, y1), (t1, t1))


def _drive(value: Any) -> Drive:
    if not isinstance(value, dict):
        raise BadInput("drive", value, '{"kind": "spot"} or {"kind": "car", …}')
    kind = value.get("kind")
    if kind == "spot":
        return Spot()
    if kind == "car":
        radius = _number("drive.min_turn_radius_mm", _needed(value, "min_turn_radius_mm", "drive"))
        if radius <= 0:
            raise BadInput("drive.min_turn_radius_mm", radius, "more than 0 mm")
        return Car(radius)
    raise BadInput("drive.kind", kind, "spot or car")


def _prisms(field: str, row: Any, offset: float) -> list[Prism]:
    """The convex prisms of one written prism, its edges moved outwards by ``offset``."""
    if not isinstance(row, dict):
        raise BadInput(field, row, "an object with polygon and z")
    corners = [
        _point(f"{field}.polygon[{i}]", p)
        for i, p in enumerate(_list(f"{field}.polygon", _needed(row, "polygon", field)))
    ]
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners.pop()
    if len(corners) < 3:
        raise BadInput(f"{field}.polygon", corners, "at least three corners")
    z = _interval(f"{field}.z", _needed(row, "z", field))
    if z[0] == z[1]:
        raise BadInput(f"{field}.z", list(z), "a lower and a higher number")
    name = row.get("name", "")
    if not isinstance(name, str):
        raise BadInput(f"{field}.name", name, "a text")
    shape = Polygon(corners)
    if not shape.is_valid or shape.area <= _SLIVER_MM2:
        raise BadInput(f"{field}.polygon", corners, "an outline that does not cross itself")
    if offset:
        shape = moved_edges(shape, offset)
        if not isinstance(shape, Polygon) or shape.is_empty or shape.interiors:
            raise BadInput("tolerance_mm", abs(offset), f"less than what {field} can lose or gain")
    return [Prism(part, z, name) for part in convex_parts(shape)]
