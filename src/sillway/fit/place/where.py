"""Where in its place a chair may stand: the poses a no has to cover, and the one a yes takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString
from shapely import Point as PlanPoint
from shapely.geometry.base import BaseGeometry

from sillway.fit.body import Side, body, reach_mm
from sillway.fit.cite import degrees
from sillway.fit.drive.scene import Point, Pose, PoseBox, Prism
from sillway.fit.known import Basis
from sillway.fit.place.docking import held_by, pin_pose, standing_of, station_of
from sillway.fit.place.footprint import outline_at
from sillway.fit.place.room import bounds, standing_room, upright
from sillway.fit.place.straps import FRONT, straps_of
from sillway.fit.plane import moved_edges, polygons
from sillway.records.rider import Chair, Layer
from sillway.records.van import Place, Van

# Steps of the golden section: 60 leave less than a nanometre of any cabin.
_STEPS = 60
_GOLDEN = (math.sqrt(5) - 1) / 2
# Kept inside the box of sure poses against rounding; far below any tolerance. [mm]
_INSET_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Admissible:
    """Poses at which the chair stands in its place, facing straight ahead.

    Attributes:
        bad: all of these surely do, with every measure at its bad end; None if none is sure.
        good: every pose that could, with every measure at its good end and the heading off by
            as much as rule ``place.heading`` allows; None if there is none: that is a proof of no.
        preferred: in ``bad`` if there is one: where the straps run best, or the pin locks.
    """

    bad: PoseBox | None
    good: PoseBox | None
    preferred: Pose


def admissible(
    van: Van,
    place: Place,
    chair: Chair,
    basis: Basis,
    layers: Sequence[Layer],
    shared: Sequence[Prism] | None = None,
) -> Admissible:
    """Where the chair with these layers may stand in the place.

    Args:
        shared: what every posture takes up at the good end (`body.common_body`), where a no has
            to cover them all; else that of these layers.
    """
    docking = held_by(van, place, chair) == "docking"
    station = station_of(van, place)
    turn = basis.number("place.heading")
    large = body(basis, chair, layers, Side.BAD)
    small = tuple(shared) if shared is not None else body(basis, chair, layers, Side.GOOD)
    sure = _room(basis, van, place, large, -1)
    grown = 2 * reach_mm(small) * math.sin(turn / 2) if small else 0.0
    # Turned by so much, no corner moves further than this; and rounding must not lose a pose.
    could = _room(basis, van, place, small, 1, grown + _INSET_MM)
    good = (
        None
        if could is None
        else PoseBox((could[0], could[2]), (could[1], could[3]), (-turn, turn))
    )
    if docking and station is not None:
        return _docked(basis, station_pose=pin_pose(basis, station, chair), sure=sure, good=good,
                       off=standing_of(basis, station, chair).high,
                       side=basis.number("docking.pin.side"))  # fmt: skip
    box = sure or could
    if box is None:
        x0, y0, x1, y1 = bounds(place.zone.points_mm)
        box = ((x0 + x1) / 2, (y0 + y1) / 2) * 2
    x0, y0, x1, y1 = box
    y = min(max(_middle_y(van, place), y0), y1)
    preferred = (best_x(van, place, chair, basis, y, (x0, x1)), y, 0.0)
    bad = None if sure is None else PoseBox((x0, x1), (y0, y1), (0.0, 0.0))
    return Admissible(bad, good, preferred)


def _docked(
    basis: Basis,
    station_pose: Pose,
    sure: tuple[float, float, float, float] | None,
    good: PoseBox | None,
    off: float,
    side: float,
) -> Admissible:
    x, y, _ = station_pose
    bad = None
    if sure is not None and sure[0] + off <= x <= sure[2] - off and sure[1] <= y <= sure[3]:
        bad = PoseBox((x, x), (y, y), (0.0, 0.0))
    if good is not None:
        xs = (max(good.x[0], x - off - side), min(good.x[1], x + off + side))
        ys = (max(good.y[0], y - off - side), min(good.y[1], y + off + side))
        good = PoseBox(xs, ys, good.theta) if xs[0] <= xs[1] and ys[0] <= ys[1] else None
    return Admissible(bad, good, station_pose)


def _room(
    basis: Basis, van: Van, place: Place, prisms: Sequence[Prism], sign: int, more: float = 0.0
) -> tuple[float, float, float, float] | None:
    """A box of origins: inside the true room on the bad side, round it on the good side."""
    zone = moved_edges(outline_at(basis, place.zone, sign), more)
    floor = moved_edges(outline_at(basis, van.cabin.floor, sign), more)
    shape = zone.intersection(floor)
    rectangles = [p.polygon for p in prisms]
    if not rectangles:
        return _bounds_of(shape)
    flat = upright(shape)
    if flat is not None:
        x0 = flat[0] - min(bounds(r)[0] for r in rectangles)
        y0 = flat[1] - min(bounds(r)[1] for r in rectangles)
        x1 = flat[2] - max(bounds(r)[2] for r in rectangles)
        y1 = flat[3] - max(bounds(r)[3] for r in rectangles)
        return (x0, y0, x1, y1) if x0 <= x1 and y0 <= y1 else None
    # One zone and one floor are asked apart: the chair has to be inside both.
    room = standing_room(rectangles, zone).intersection(standing_room(rectangles, floor))
    return _bounds_of(room) if sign > 0 else _box_within(room)


def _bounds_of(shape: BaseGeometry) -> tuple[float, float, float, float] | None:
    if shape.is_empty:
        return None
    x0, y0, x1, y1 = shape.bounds
    return float(x0), float(y0), float(x1), float(y1)


def _box_within(room: BaseGeometry) -> tuple[float, float, float, float] | None:
    """A large upright box inside a room: of all boxes on its corners' lines and its middle's."""
    parts = polygons(room)
    if not parts:
        return None
    part = max(parts, key=lambda p: p.area)
    inner = part.representative_point()
    # A few lines are enough: the room of one chair in one place has few corners.
    xs = _lines([c[0] for c in part.exterior.coords] + [inner.x])
    ys = _lines([c[1] for c in part.exterior.coords] + [inner.y])
    tried = [
        (x0, y0, x1, y1)
        for i, x0 in enumerate(xs) for x1 in xs[i + 1 :]
        for j, y0 in enumerate(ys) for y1 in ys[j + 1 :]
    ]  # fmt: skip
    if tried:
        x0s, y0s, x1s, y1s = (list(side) for side in zip(*tried, strict=True))
        boxes = shapely.box(x0s, y0s, x1s, y1s)
        shapely.prepare(part)
        inside = shapely.covers(part.buffer(_INSET_MM), boxes)
        held = [t for t, ok in zip(tried, inside, strict=True) if ok]
        if held:
            x0, y0, x1, y1 = max(held, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
            return (x0 + _INSET_MM, y0 + _INSET_MM, x1 - _INSET_MM, y1 - _INSET_MM)
    along = LineString([(part.bounds[0], inner.y), (part.bounds[2], inner.y)]).intersection(part)
    piece = next((g for g in getattr(along, "geoms", [along]) if g.covers(PlanPoint(inner))), None)
    if piece is None:
        return inner.x, inner.y, inner.x, inner.y
    return float(piece.bounds[0]), inner.y, float(piece.bounds[2]), inner.y


def _lines(values: Sequence[float], most: int = 9) -> list[float]:
    distinct = sorted(set(values))
    if len(distinct) <= most:
        return distinct
    step = (len(distinct) - 1) / (most - 1)
    return [distinct[round(i * step)] for i in range(most)]


def _middle_y(van: Van, place: Place) -> float:
    """The middle of the place's strap anchors across the van, else of its zone."""
    ids = {*place.front_anchors, *place.rear_anchors}
    ys = [a.y.value for a in van.securement.strap_anchors if a.id in ids]
    if len(ys) < 2:
        _, y0, _, y1 = bounds(place.zone.points_mm)
        return (y0 + y1) / 2
    return (min(ys) + max(ys)) / 2


def best_x(van: Van, place: Place, chair: Chair, basis: Basis, y: float, along: Point) -> float:
    """The x in a range at which the straps sit best in their windows of rise.

    Each strap's margin rises to one top and falls off again as the chair moves, so does the least
    of several: a golden section finds it. The front straps' better window is tried first.
    """
    low, high = along
    pose = ((low + high) / 2, y, 0.0)
    straps = straps_of(van, place, chair, pose, basis)
    if not straps or low >= high:
        return pose[0]
    x = pose[0]
    for front_rule in ("strap.angle.front.better", "strap.angle.front"):
        windows = {FRONT: degrees(basis, front_rule)}

        def worst(at: float, windows: dict[str, tuple[float, float]] = windows) -> float:
            rooms = []
            for s in straps:
                a, down, wall, axle, up = (k.mid for k in s.used)
                least, most = windows.get(s.end, degrees(basis, "strap.angle.rear"))
                rise = s.rise(a - (at - pose[0]), down, wall, axle, up)
                rooms.append(min(rise - least, most - rise))
            return min(rooms)

        x = _top(worst, low, high)
        if worst(x) >= 0:
            break
    return x


def _top(of: Callable[[float], float], low: float, high: float) -> float:
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = of(a), of(b)
    for _ in range(_STEPS):
        if at_a < at_b:
            low, a, at_a = a, b, at_b
            b = low + _GOLDEN * (high - low)
            at_b = of(b)
        else:
            high, b, at_b = b, a, at_a
            a = high - _GOLDEN * (high - low)
            at_a = of(a)
    return (low + high) / 2
