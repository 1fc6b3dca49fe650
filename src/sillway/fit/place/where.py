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
from sillway.fit.place.docking import (
    held_by,
    pin_ahead,
    pin_pose,
    standing_of,
    station_of,
)
from sillway.fit.place.footprint import outline_at
from sillway.fit.place.room import bounds, standing_room, upright
from sillway.fit.place.straps import FRONT, rise_of, straps_of
from sillway.fit.plane import moved_edges, polygons
from sillway.records.rider import Chair, Layer
from sillway.records.van import Docking, Place, Van

Box = tuple[float, float, float, float]

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
    turn = basis.number("place.heading")
    large = [p.polygon for p in body(basis, chair, layers, Side.BAD)]
    small = tuple(shared) if shared is not None else body(basis, chair, layers, Side.GOOD)
    sure = _room(_shape(basis, van, place, -1), large)
    could = _could(_shape(basis, van, place, 1), small, turn)
    good = could and PoseBox((could[0], could[2]), (could[1], could[3]), (-turn, turn))
    station = station_of(van, place)
    if station is not None and held_by(van, place, chair) == "docking":
        return _docked(basis, station, chair, sure, good)
    if sure is not None and sure[0] <= sure[2] and sure[1] <= sure[3]:
        bad = PoseBox((sure[0], sure[2]), (sure[1], sure[3]), (0.0, 0.0))
        xs, ys = bad.x, bad.y
    else:
        # Nowhere surely: in the middle, where what stands out stands out least.
        bad = None
        box = sure or could or bounds(place.zone.points_mm)
        xs = ((box[0] + box[2]) / 2,) * 2 if box[0] > box[2] or sure is None else (box[0], box[2])
        ys = ((box[1] + box[3]) / 2,) * 2 if box[1] > box[3] or sure is None else (box[1], box[3])
    y = min(max(_middle_y(van, place), ys[0]), ys[1])
    return Admissible(bad, good, (best_x(van, place, chair, basis, y, xs), y, 0.0))


def _docked(
    basis: Basis, station: Docking, chair: Chair, sure: Box | None, good: PoseBox | None
) -> Admissible:
    """The pin decides where the chair stands; it may arrive a little off the middle."""
    x, y, _ = pose = pin_pose(basis, station, chair)
    off = standing_of(basis, station, chair).high
    bad = None
    if sure is not None and sure[0] + off <= x <= sure[2] - off and sure[1] <= y <= sure[3]:
        bad = PoseBox((x, x), (y, y), (0.0, 0.0))
    if good is not None:
        pin, axle = pin_ahead(basis, chair)
        arm = max(abs(pin.high - axle.low), abs(pin.low - axle.high))
        wide = off + basis.number("docking.pin.side") + arm * math.sin(good.theta[1])
        xs = (max(good.x[0], x - wide), min(good.x[1], x + wide))
        ys = (max(good.y[0], y - wide), min(good.y[1], y + wide))
        good = PoseBox(xs, ys, good.theta) if xs[0] <= xs[1] and ys[0] <= ys[1] else None
    return Admissible(bad, good, pose)


def _shape(basis: Basis, van: Van, place: Place, sign: int) -> BaseGeometry:
    zone = outline_at(basis, place.zone, sign)
    return zone.intersection(outline_at(basis, van.cabin.floor, sign))


def _room(shape: BaseGeometry, rectangles: Sequence[Sequence[Point]]) -> Box | None:
    """A box of origins at which all rectangles are inside; runs backwards along an axis in which
    there is no room, None where that cannot be told."""
    if not rectangles:
        return _bounds_of(shape)
    flat = upright(shape)
    return _flat_room(flat, rectangles) if flat else _box_within(standing_room(rectangles, shape))


def _flat_room(flat: Box, rectangles: Sequence[Sequence[Point]]) -> Box:
    each = [bounds(r) for r in rectangles]
    return (
        flat[0] - min(b[0] for b in each), flat[1] - min(b[1] for b in each),
        flat[2] - max(b[2] for b in each), flat[3] - max(b[3] for b in each),
    )  # fmt: skip


def _could(shape: BaseGeometry, small: Sequence[Prism], turn: float) -> Box | None:
    """A box round all origins at which the body is inside, turned by up to so much."""
    if shape.is_empty:
        return None
    if not small:
        return _bounds_of(shape)
    flat = upright(shape)
    if flat is not None:
        room = _flat_room(flat, [_least(p.polygon, turn) for p in small])
        return room if room[0] <= room[2] and room[1] <= room[3] else None
    # No corner moves further by the turn than this; and rounding must not lose a pose.
    more = 2 * reach_mm(small) * math.sin(turn / 2) + _INSET_MM
    return _bounds_of(standing_room([p.polygon for p in small], moved_edges(shape, more)))


def _least(rectangle: Sequence[Point], turn: float) -> tuple[Point, Point]:
    """What a rectangle takes up at the least along each axis of the van, however it is turned.

    How far it stands out to one side is, for a turn t, e cos t + a sin t: with e how far it stands
    out unturned and a how far the nearer corner there is off the middle. That has one top, so it
    is least unturned or at the largest turn.
    """
    x0, y0, x1, y1 = bounds(rectangle)
    c, s = math.cos(turn), math.sin(turn)

    def least(e: float, a: float) -> float:
        return min(e, e * c + a * s)

    ahead, behind = least(x1, min(y1, -y0)), least(-x0, min(y1, -y0))
    left, right = least(y1, min(x1, -x0)), least(-y0, min(x1, -x0))
    return (-behind, -right), (ahead, left)


def _bounds_of(shape: BaseGeometry) -> Box | None:
    if shape.is_empty:
        return None
    x0, y0, x1, y1 = shape.bounds
    return float(x0), float(y0), float(x1), float(y1)


def _box_within(room: BaseGeometry) -> Box | None:
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
    x, rear = pose[0], degrees(basis, "strap.angle.rear")
    for front_rule in ("strap.angle.front.better", "strap.angle.front"):
        windows = {FRONT: degrees(basis, front_rule)}

        def worst(at: float, windows: dict[str, tuple[float, float]] = windows) -> float:
            rooms = []
            for s in straps:
                least, most = windows.get(s.end, rear)
                # Moving the chair ahead shortens the run of front straps, lengthens the others'.
                moved = (pose[0] - at) if s.end == FRONT else (at - pose[0])
                rise = rise_of(s.run.known().mid + moved, s.height.known().mid)
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
