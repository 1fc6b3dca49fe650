"""Where things stand: from van and chair frames to paper, and the way in seen from the side."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from sillway.fit.drive.scene import Point, Pose, Prism
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.draw.svg import Drawing, Uv

# Scales a draughtsman would pick, as one in how many.
# Height and width that a letter page leaves beside margins, heading and caption.
SHEET_MM: Final = (202.0, 178.0)
SCALES: Final = (5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 75, 100, 150, 200)


def scale_for(size_mm: float, room_mm: float) -> int:
    """The largest usual scale, as one in how many, at which ``size_mm`` takes ``room_mm``.

    >>> scale_for(3000, 125)
    25
    """
    return next((n for n in SCALES if size_mm / n <= room_mm), SCALES[-1])


def fitting(scale: int, draw: Callable[[int], Drawing]) -> Drawing:
    """Draw at this scale, or at the next smaller ones until sheet and caption hold it."""
    drawing = draw(scale)
    for smaller in SCALES[SCALES.index(scale) + 1 :]:
        if drawing.height_mm <= SHEET_MM[0] and drawing.width_mm <= SHEET_MM[1]:
            break
        drawing = draw(smaller)
    return drawing


@dataclass(frozen=True, slots=True)
class Plan:
    """Plan view, front of the van up: x forward runs up the paper, y left runs left."""

    scale: int

    def at(self, point: Point) -> Uv:
        """A point of the van frame on paper."""
        return (-point[1] / self.scale, -point[0] / self.scale)

    def all(self, points: Sequence[Point]) -> list[Uv]:
        """Points of the van frame on paper."""
        return [self.at(p) for p in points]


@dataclass(frozen=True, slots=True)
class Elevation:
    """Side view: s, the way in, runs right; heights run up."""

    scale: int

    def at(self, point: Point) -> Uv:
        """A point (s, z) on paper."""
        return (point[0] / self.scale, -point[1] / self.scale)

    def all(self, points: Sequence[Point]) -> list[Uv]:
        """Points (s, z) on paper."""
        return [self.at(p) for p in points]


@dataclass(frozen=True, slots=True)
class WayIn:
    """The middle of the sill, and which way leads in. Van frame [mm]; unit vector."""

    sill: Point
    inward: Point

    def s(self, point: Point) -> float:
        """How far inside the sill a point lies."""
        return (point[0] - self.sill[0]) * self.inward[0] + (point[1] - self.sill[1]) * self.inward[
            1
        ]

    def point(self, s: float, left: float) -> Point:
        """The point s inside the sill and ``left`` to the left of somebody looking in."""
        (sx, sy), (ix, iy) = self.sill, self.inward
        return (sx + s * ix - left * iy, sy + s * iy + left * ix)


def way_in(van: Van) -> WayIn:
    """Where the ramp meets the floor."""
    floor = van.cabin.floor.points_mm
    centre = van.door.centre.value if van.door.centre is not None else None
    if van.conversion.entry == "rear":
        return WayIn((min(x for x, _ in floor), centre or 0.0), (1.0, 0.0))
    xs = [x for x, _ in floor]
    at_x = centre if centre is not None else (min(xs) + max(xs)) / 2
    right = van.conversion.side == "right"
    edge = _edge_at(floor, at_x, lowest=right)
    return WayIn((at_x, edge), (0.0, 1.0) if right else (0.0, -1.0))


def _edge_at(floor: Sequence[Point], x: float, *, lowest: bool) -> float:
    ys = []
    for a, b in zip(floor, (*floor[1:], floor[0]), strict=True):
        if min(a[0], b[0]) <= x <= max(a[0], b[0]):
            if a[0] == b[0]:
                ys += [a[1], b[1]]
            else:
                ys.append(a[1] + (x - a[0]) * (b[1] - a[1]) / (b[0] - a[0]))
    ys = ys or [y for _, y in floor]
    return min(ys) if lowest else max(ys)


def ramp_run_mm(van: Van) -> float:
    """How far out the ramp reaches in plan, standing."""
    length, rise = van.ramp.length.value, van.ramp.rise.value
    return math.sqrt(max(length**2 - rise**2, 0.0))


def ramp_outline(van: Van) -> tuple[Point, Point, Point, Point]:
    """The ramp in plan: hinge left, hinge right, foot right, foot left (looking in)."""
    way, run = way_in(van), ramp_run_mm(van)
    hinge = van.ramp.width_at_hinge.value / 2
    foot = (van.ramp.width_at_foot or van.ramp.width_at_hinge).value / 2
    return (
        way.point(0, hinge), way.point(0, -hinge), way.point(-run, -foot), way.point(-run, foot),
    )  # fmt: skip


def posed(point: Point, pose: Pose) -> Point:
    """A point of the chair frame in the van frame."""
    x, y, heading = pose
    c, s = math.cos(heading), math.sin(heading)
    return (x + point[0] * c - point[1] * s, y + point[0] * s + point[1] * c)


def outline(body: Sequence[Prism], pose: Pose) -> list[Point]:
    """The outline in plan of all layers together at a pose (the largest piece, if several)."""
    from shapely import MultiPolygon, Polygon, unary_union

    union = unary_union([Polygon(prism.polygon) for prism in body])
    if isinstance(union, MultiPolygon):
        union = max(union.geoms, key=lambda part: part.area)
    return [posed((x, y), pose) for x, y in list(union.exterior.coords)[:-1]]


def flanks(body: Sequence[Prism], pose: Pose, way: WayIn) -> list[tuple[float, float]]:
    """For each layer how far it reaches out and in of the body origin, along the way in."""
    out = []
    for prism in body:
        along = [way.s(posed(p, pose)) - way.s(pose[:2]) for p in prism.polygon]
        out.append((min(along), max(along)))
    return out


@dataclass(frozen=True, slots=True)
class ChairPoints:
    """Securement points and docking pin of the chair, chair frame. [mm]"""

    front: tuple[Point, ...]
    rear: tuple[Point, ...]
    pin: Point | None


def chair_points(rider: Rider) -> ChairPoints:
    """Where straps are hooked to the chair."""
    chair = rider.chair
    axle = chair.drive_axle_from_wall.value
    pairs: list[tuple[Point, ...]] = []
    for point in (chair.securement.front_points, chair.securement.rear_points):
        if point is None:
            pairs.append(())
            continue
        x, half = point.from_wall.value - axle, point.apart.value / 2
        pairs.append(((x, half), (x, -half)))
    pin = chair.securement.pin_from_wall
    return ChairPoints(pairs[0], pairs[1], None if pin is None else (pin.value - axle, 0.0))
