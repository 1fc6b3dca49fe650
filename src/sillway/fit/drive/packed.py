"""A scene as flat arrays for the compiled kernel, checked on the way in."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sillway.errors import BadInput
from sillway.fit.drive.scene import Car, Point, PoseBox, Prism, Scene

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Slack taken off every bound, per mm of the largest magnitude M in the scene. One bound is a sum of
# at most 20 products of rounded numbers below 4 M, so it errs by less than 200 ulp of M, 5e-14 M;
# sine, cosine and a heading below 100 rad add less than 3e-14 M, and a polygon straightened to its
# hull less than 1e-10 M. The guard is more than five times the sum of all of it, yet 5e-6 mm in a
# cabin of 5 m.
GUARD_PER_MM = 1e-9
STRAIGHTEN_PER_MM = 1e-10
LARGEST_MM = 1e7
LARGEST_TURN_RAD = 100.0


class Packed(NamedTuple):
    """What the kernel reads; pass it as ``*packed``.

    Attributes:
        geo: a row per edge: vertex x, y; outward unit normal x, y; offset along it; distance of the
            vertex from the frame's origin; edge length. Polygons follow one another.
        poly: first and past-last row of each polygon: body layers, the plan hull of all of them,
            obstacles.
        ball: per polygon: centre x, y and radius of an enclosing circle; xmin, ymin, xmax, ymax.
        pairs: polygon rows (body layer, obstacle) that can touch; walls are (hull, -1 .. -4) for
            x = xmin, x = xmax, y = ymin, y = ymax.
        room: xmin, ymin, xmax, ymax of the bounds, the floating guard [mm], the body's reach from
            its origin [mm].
    """

    geo: Floats
    poly: Ints
    ball: Floats
    pairs: Ints
    room: Floats


def pack(scene: Scene) -> Packed:
    """Check a scene and flatten it.

    Raises:
        BadInput: a polygon that is not convex or has no area, a z-range or bounds in the wrong
            order, a number that is not finite, no body.
    """
    if not scene.body:
        raise BadInput("body", "no prism", "at least one prism")
    (x0, y0), (x1, y1) = scene.bounds
    _finite("bounds", (x0, y0, x1, y1))
    if not (x0 < x1 and y0 < y1):
        raise BadInput("bounds", scene.bounds, "two corners, the lower left one first")
    for name, box in (("start", scene.start), ("goal", scene.goal)):
        _check_box(name, box)
    if isinstance(scene.drive, Car):
        radius = scene.drive.min_turn_radius_mm
        if not (math.isfinite(radius) and radius >= 0):
            raise BadInput("drive.min_turn_radius_mm", radius, "a radius of 0 mm or more")
    body = [convex(f"body[{i}]", prism) for i, prism in enumerate(scene.body)]
    obstacles = [convex(f"obstacles[{i}]", prism) for i, prism in enumerate(scene.obstacles)]
    hull = _hull([p for polygon in body for p in polygon])
    polygons = [*body, hull, *obstacles]
    first = len(body) + 1
    pairs = [(len(body), -1 - wall) for wall in range(4)]
    for j, obstacle in enumerate(scene.obstacles):
        meets = [i for i, prism in enumerate(scene.body) if _overlap(prism.z, obstacle.z)]
        pairs += [(i, first + j) for i in _outermost(meets, body)]
    return _flatten(polygons, first, pairs, (x0, y0, x1, y1))


def convex(field: str, prism: Prism) -> list[Point]:
    """The prism's polygon, counter-clockwise, without points in the middle of an edge.

    >>> convex("body[0]", Prism(((0, 0), (0, 2), (2, 2), (2, 1), (2, 0)), (0, 1)))
    [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]

    Raises:
        BadInput: it is not convex, has no area, or its z-range is empty.
    """
    points = [(float(x), float(y)) for x, y in prism.polygon]
    _finite(f"{field}.polygon", [v for point in points for v in point])
    _finite(f"{field}.z", prism.z)
    if not prism.z[0] < prism.z[1]:
        raise BadInput(f"{field}.z", prism.z, "a lower and a higher number")
    hull = _hull(points)
    size = max((abs(v) for point in points for v in point), default=0.0)
    if len(hull) < 3 or _area(hull) <= STRAIGHTEN_PER_MM * size * size:
        raise BadInput(f"{field}.polygon", prism.polygon, "at least three corners round an area")
    slack = STRAIGHTEN_PER_MM * size
    bent = any(_depth(hull, point) > slack for point in points)
    if bent or abs(abs(_area(points)) - _area(hull)) > slack * size:
        raise BadInput(f"{field}.polygon", prism.polygon, "a convex polygon, corner after corner")
    return hull


def _finite(field: str, values: tuple[float, ...] | list[float]) -> None:
    for value in values:
        if not (math.isfinite(value) and abs(value) <= LARGEST_MM):
            raise BadInput(field, value, "lengths in mm below ten kilometres")


def _check_box(name: str, box: PoseBox) -> None:
    for axis, (low, high) in (("x", box.x), ("y", box.y), ("theta", box.theta)):
        _finite(f"{name}.{axis}", (low, high))
        if low > high:
            raise BadInput(f"{name}.{axis}", (low, high), "the lower end first")
    if max(abs(v) for v in box.theta) > LARGEST_TURN_RAD:
        raise BadInput(f"{name}.theta", box.theta, "headings in rad within a few turns")


def _overlap(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return a[0] < b[1] and b[0] < a[1]


def _outermost(meets: list[int], body: list[list[Point]]) -> list[int]:
    """The layers that are not inside another one that meets the same obstacle."""
    left = list(meets)
    for i in meets:
        others = [j for j in left if j != i]
        if any(all(_depth(body[j], point) >= 0 for point in body[i]) for j in others):
            left.remove(i)
    return left


def _depth(polygon: list[Point], point: Point) -> float:
    """How deep a point lies inside a counter-clockwise polygon (negative: outside)."""
    best = math.inf
    for (ax, ay), (bx, by) in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
        ex, ey = bx - ax, by - ay
        best = min(best, (ex * (point[1] - ay) - ey * (point[0] - ax)) / math.hypot(ex, ey))
    return best


def _area(polygon: list[Point]) -> float:
    turned = [*polygon[1:], *polygon[:1]]
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(polygon, turned, strict=True)) / 2


def _hull(points: list[Point]) -> list[Point]:
    """Convex hull, counter-clockwise, by monotone chains."""

    def chain(ordered: list[Point]) -> list[Point]:
        out: list[Point] = []
        for p in ordered:
            while len(out) > 1 and not _left(out[-2], out[-1], p):
                out.pop()
            out.append(p)
        return out[:-1]

    ordered = sorted(set(points))
    return chain(ordered) + chain(ordered[::-1])


def _left(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0


def _flatten(
    polygons: list[list[Point]],
    first: int,
    pairs: list[tuple[int, int]],
    room: tuple[float, float, float, float],
) -> Packed:
    rows: list[tuple[float, ...]] = []
    slices: list[tuple[int, int]] = []
    balls: list[tuple[float, ...]] = []
    for polygon in polygons:
        begin = len(rows)
        for (ax, ay), (bx, by) in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
            length = math.hypot(bx - ax, by - ay)
            nx, ny = (by - ay) / length, (ax - bx) / length
            rows.append((ax, ay, nx, ny, nx * ax + ny * ay, math.hypot(ax, ay), length))
        slices.append((begin, len(rows)))
        xs, ys = [p[0] for p in polygon], [p[1] for p in polygon]
        cx, cy = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        radius = max(math.hypot(x - cx, y - cy) for x, y in polygon)
        balls.append((cx, cy, radius, min(xs), min(ys), max(xs), max(ys)))
    reach = max(row[5] for row in rows[: slices[first - 1][1]])
    largest = max(abs(v) for v in (*room, *(v for row in rows for v in row[:2]))) + reach
    return Packed(
        np.array(rows, dtype=np.float64),
        np.array(slices, dtype=np.int64),
        np.array(balls, dtype=np.float64),
        np.array(pairs, dtype=np.int64),
        np.array([*room, GUARD_PER_MM * largest, reach], dtype=np.float64),
    )
