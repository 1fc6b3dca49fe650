"""How much room a rectangle has inside an outline, exactly, and where it may stand.

Room is told as growth: by how much all four edges of the rectangle can move outwards (mitred
corners) until it meets the outline; negative where it already crosses it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from shapely import MultiPoint, Polygon, affinity, union_all
from shapely.geometry.base import BaseGeometry

from sillway.fit.drive.scene import Point, Pose
from sillway.fit.plane import corners, polygons

# A nanometre: far below any measure, above the rounding of coordinates of a few metres.
_ROUNDING_MM = 1e-6


def to_chair(pose: Pose, point: Point) -> Point:
    """A point of the van as the chair sees it.

    >>> to_chair((100.0, 0.0, 0.0), (250.0, -40.0))
    (150.0, -40.0)
    """
    c, s = math.cos(pose[2]), math.sin(pose[2])
    dx, dy = point[0] - pose[0], point[1] - pose[1]
    return dx * c + dy * s, dy * c - dx * s


def to_van(pose: Pose, point: Point) -> Point:
    """A point of the chair as the van sees it."""
    c, s = math.cos(pose[2]), math.sin(pose[2])
    return pose[0] + point[0] * c - point[1] * s, pose[1] + point[0] * s + point[1] * c


def growth(rectangle: Sequence[Point], pose: Pose, shape: BaseGeometry) -> float:
    """By how much a rectangle of the chair may grow inside a shape of the van. [mm]

    Args:
        rectangle: corners in the chair frame, edges along its axes.
        pose: of the chair in the van.
        shape: a polygon or several, of which the rectangle has to be in one.
    """
    x0, y0, x1, y1 = bounds(rectangle)
    flat = upright(shape) if pose[2] == 0.0 else None
    if flat is not None:
        x, y, _ = pose
        return min(x + x0 - flat[0], flat[2] - x - x1, y + y0 - flat[1], flat[3] - y - y1)
    centre, half = ((x0 + x1) / 2, (y0 + y1) / 2), ((x1 - x0) / 2, (y1 - y0) / 2)
    rooms = [_growth(centre, half, pose, polygon) for polygon in polygons(shape)]
    # Nowhere to stand at all: no better than being shrunk to nothing and still outside.
    return max(rooms, default=-half[0] - half[1])


def _growth(centre: Point, half: Point, pose: Pose, polygon: Polygon) -> float:
    least = math.inf
    for ring in (polygon.exterior, *polygon.interiors):
        local = [
            (x - centre[0], y - centre[1])
            for x, y in (to_chair(pose, (px, py)) for px, py in ring.coords)
        ]
        least = min([least, *(_to_edge(a, b, half) for a, b in itertools.pairwise(local))])
    cx, cy = to_van(pose, centre)
    if polygon.covers(MultiPoint([(cx, cy)])):
        return least
    # The centre is outside: shrinking to a point is not enough.
    return -min(half) - max(0.0, least + min(half))


def _to_edge(a: Point, b: Point, half: Point) -> float:
    """Growth at which a rectangle about the origin meets the segment a-b.

    It is the least of the largest of four straight functions along the segment, so it lies at an
    end or where two of them cross.
    """
    lines = [
        (a[0] - half[0], b[0] - a[0]),
        (-a[0] - half[0], a[0] - b[0]),
        (a[1] - half[1], b[1] - a[1]),
        (-a[1] - half[1], a[1] - b[1]),
    ]
    at = [0.0, 1.0]
    for (p, u), (q, v) in itertools.combinations(lines, 2):
        if u != v and 0.0 < (t := (q - p) / (u - v)) < 1.0:
            at.append(t)
    return min(max(p + u * t for p, u in lines) for t in at)


def standing_room(rectangles: Sequence[Sequence[Point]], shape: BaseGeometry) -> BaseGeometry:
    """Where the body origin may stand, facing straight ahead, so that all rectangles are inside.

    Exact but for a part without area, which is lost unless the shape is an upright rectangle.
    """
    room: BaseGeometry | None = None
    for rectangle in _outermost(rectangles):
        one = _standing(rectangle, shape)
        room = one if room is None else room.intersection(one)
    return Polygon() if room is None else room


def _outermost(rectangles: Sequence[Sequence[Point]]) -> list[Sequence[Point]]:
    def inside(a: Sequence[Point], b: Sequence[Point]) -> bool:
        (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = bounds(a), bounds(b)
        return ax0 >= bx0 and ay0 >= by0 and ax1 <= bx1 and ay1 <= by1

    kept: list[Sequence[Point]] = []
    for rectangle in rectangles:
        if not any(inside(rectangle, other) for other in kept):
            kept = [other for other in kept if not inside(other, rectangle)] + [rectangle]
    return kept


def bounds(points: Sequence[Point]) -> tuple[float, float, float, float]:
    """Least x, least y, largest x, largest y."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def upright(shape: BaseGeometry) -> tuple[float, float, float, float] | None:
    """The bounds of a shape that is one upright rectangle, else None."""
    parts = polygons(shape)
    if len(parts) != 1 or parts[0].interiors:
        return None
    x0, y0, x1, y1 = (float(v) for v in parts[0].bounds)
    on_bounds = all((x in (x0, x1)) and (y in (y0, y1)) for x, y in corners(parts[0].simplify(0.0)))
    return (x0, y0, x1, y1) if on_bounds else None


def _standing(rectangle: Sequence[Point], shape: BaseGeometry) -> BaseGeometry:
    x0, y0, x1, y1 = bounds(rectangle)
    centre, half = ((x0 + x1) / 2, (y0 + y1) / 2), ((x1 - x0) / 2, (y1 - y0) / 2)
    allowed = union_all([_centres(polygon, half) for polygon in polygons(shape)])
    return affinity.translate(allowed, -centre[0], -centre[1])


def _centres(polygon: Polygon, half: Point) -> BaseGeometry:
    blocked = []
    for ring in (polygon.exterior, *polygon.interiors):
        for a, b in itertools.pairwise(ring.coords):
            swept = MultiPoint(
                [(x + i * half[0], y + j * half[1]) for x, y in (a, b)
                 for i in (-1, 1) for j in (-1, 1)]
            )  # fmt: skip
            blocked.append(swept.convex_hull)
    return polygon.difference(union_all(blocked))


def free_for(size: Point, shape: BaseGeometry) -> bool:
    """Whether an upright rectangle of this size, either way round, finds room in a shape."""
    # Less by rounding, so that a rectangle that just fits is found.
    half = (size[0] / 2 - _ROUNDING_MM, size[1] / 2 - _ROUNDING_MM)
    return any(
        not _centres(polygon, way).is_empty
        for polygon in polygons(shape)
        for way in (half, (half[1], half[0]))
    )
