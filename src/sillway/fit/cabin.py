"""The cabin in plan as prisms, and the scenes that the drive engine is asked.

Bad side: large body in a small cabin, entering straight along the ramp's axis. Good side: what
all postures share, in a large cabin with thin walls, from anywhere outside: a superset of what
the chair could do, so that a no for it is a no.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from sillway.fit.body import Side, reach_mm
from sillway.fit.drive.scene import Car, Drive, Point, Pose, PoseBox, Prism, Scene, Spot
from sillway.fit.known import Basis, Known
from sillway.fit.plane import convex_parts, corners, moved_edges, rectangle
from sillway.records.outline import Outline
from sillway.records.rider import Chair
from sillway.records.van import Seat, SeatShape, Van

# Floor edges for wheels live in a z-range of their own, below every body and obstacle.
BELOW_FLOOR = (-2.0, -1.0)
FORWARDS, BACKING = "forwards", "backing"
# Cut lines run this far past an edge, so that two cuts always overlap. [mm]
_OVERLAP_MM = 1.0
# Plan room kept round the body outside the van; more only makes the apron larger. [mm]
_ROOM_MM = 100.0


@dataclass(frozen=True, slots=True)
class Entry:
    """The doorway as an axis: a point on the sill, and the direction of travel inwards."""

    sill: Point
    heading: float
    width: Known
    centre: Known
    height: Known

    def at(self, inwards: float, left: float = 0.0) -> Point:
        """The plan point so far inwards of the sill and so far to the left of the axis."""
        c, s = math.cos(self.heading), math.sin(self.heading)
        return (self.sill[0] + inwards * c - left * s, self.sill[1] + inwards * s + left * c)

    def band(self, inwards0: float, inwards1: float, side: Side) -> Polygon:
        """The doorway's clear width between two distances from the sill."""
        off = self.centre.half_width
        half = self.width.low / 2 - off if side is Side.BAD else self.width.high / 2 + off
        if half <= 0:
            return Polygon()
        return Polygon(
            [self.at(a, b) for a, b in (
                (inwards0, -half), (inwards1, -half), (inwards1, half), (inwards0, half)
            )]
        )  # fmt: skip


def entry_of(basis: Basis, van: Van) -> Entry:
    """Where and in which direction the chair comes in."""
    floor = Polygon(van.cabin.floor.points_mm)
    x0, y0, x1, y1 = floor.bounds
    width = basis.known("door.width", van.door.width)
    height = basis.known("door.height", van.door.height)
    rear = van.conversion.entry == "rear"
    if van.door.centre is None:
        middle = 0.0 if rear else (x0 + x1) / 2
        centre = Known("door.centre", middle, middle, "mm", van.way, "the middle")
    else:
        centre = basis.known("door.centre", van.door.centre)
    if rear:
        return Entry((x0, centre.mid), 0.0, width, centre, height)
    right = van.conversion.side == "right"
    sill_y = y0 if right else y1
    return Entry(
        (centre.mid, sill_y), math.pi / 2 if right else -math.pi / 2, width, centre, height
    )


def _tolerance(basis: Basis, outline: Outline) -> float:
    if outline.tolerance_mm is not None:
        return outline.tolerance_mm
    return basis.way_tolerance(outline.way, "mm")


def floor_tolerance(basis: Basis, van: Van) -> float:
    """How far the floor's edges may be off. [mm]"""
    return _tolerance(basis, van.cabin.floor)


def floor_shape(basis: Basis, van: Van, side: Side) -> BaseGeometry:
    """The cabin floor: shrunk at the bad end, grown at the good end."""
    off = floor_tolerance(basis, van)
    sign = {Side.BAD: -1, Side.GOOD: 1, Side.MIDDLE: 0}[side]
    return moved_edges(Polygon(van.cabin.floor.points_mm), sign * off)


def _grown(basis: Basis, outline: Outline, side: Side) -> list[tuple[Point, ...]]:
    off = _tolerance(basis, outline)
    sign = {Side.BAD: 1, Side.GOOD: -1, Side.MIDDLE: 0}[side]
    return convex_parts(moved_edges(Polygon(outline.points_mm), sign * off))


def walls(basis: Basis, van: Van, entry: Entry, side: Side) -> list[Prism]:
    """Everything round the floor but the doorway, from floor to roof."""
    jamb = basis.assumed("door.jamb", "assumed.door.jamb")
    top = basis.known("outside.height", van.outside.height).high
    floor = floor_shape(basis, van, side)
    if side is Side.GOOD:
        thick = jamb.low
        shell = moved_edges(floor, thick)
    else:
        x0, y0, x1, y1 = floor.bounds
        half = basis.known("outside.width", van.outside.width).high / 2
        deep = jamb.high
        shell = box(x0 - deep, min(y0 - deep, -half), x1 + deep, max(y1 + deep, half))
        thick = max(deep, half)
    slack = 2 * floor_tolerance(basis, van) + _OVERLAP_MM
    doorway = entry.band(-thick - slack, slack, side)
    solid = shell.difference(floor).difference(doorway)
    # The sill itself is open floor: nothing of the shell may stand across the doorway.
    return [Prism(part, (0.0, top), "wall and door.width") for part in convex_parts(solid)]


def header(basis: Basis, van: Van, entry: Entry) -> Prism | None:
    """The header over the doorway at its lowest; bad side only, the climb judges it exactly."""
    jamb = basis.assumed("door.jamb", "assumed.door.jamb")
    top = basis.known("outside.height", van.outside.height).high
    band = entry.band(-jamb.high, _OVERLAP_MM, Side.BAD)
    if band.is_empty or entry.height.low >= top:
        return None
    return Prism(corners(band), (entry.height.low, top), "door.height")


def ceilings(basis: Basis, van: Van, side: Side) -> list[Prism]:
    """The ceiling over the whole floor and its lower zones."""
    top = basis.known("outside.height", van.outside.height).high
    height = basis.known("cabin.height", van.cabin.height)
    z0 = height.low if side is Side.BAD else height.high
    out = []
    if z0 < top:
        x0, y0, x1, y1 = floor_shape(basis, van, Side.GOOD).bounds
        out.append(Prism(rectangle(x0, y0, x1, y1), (z0, top), "cabin.height"))
    for zone in van.cabin.ceilings:
        known = basis.known(f"cabin.ceilings[{zone.name}].height", zone.height)
        low = known.low if side is Side.BAD else known.high
        if low < top:
            out += [Prism(p, (low, top), f"ceiling {zone.name}")
                    for p in _grown(basis, zone.outline, side)]  # fmt: skip
    return out


def solids(basis: Basis, van: Van, side: Side) -> list[Prism]:
    """Fixed things in the cabin; without a bottom they stand on the floor, without a top they
    reach the roof."""
    roof = basis.known("outside.height", van.outside.height).high
    out = []
    for solid in van.cabin.solids:
        z0, z1 = _z_range(basis, f"cabin.solids[{solid.name}]", solid.bottom, solid.top, side)
        z = (z0, roof if z1 is None else z1)
        if z[0] < z[1]:
            out += [Prism(p, z, solid.name) for p in _grown(basis, solid.outline, side)]
    return out


def _z_range(
    basis: Basis, path: str, bottom: object, top: object, side: Side
) -> tuple[float, float | None]:
    bad = side is Side.BAD
    z0, z1 = 0.0, None
    if bottom is not None:
        known = basis.known(f"{path}.bottom", bottom)  # type: ignore[arg-type]
        z0 = max(known.low if bad else known.high, 0.0)
    if top is not None:
        known = basis.known(f"{path}.top", top)  # type: ignore[arg-type]
        z1 = known.high if bad else known.low
    return z0, z1


def seat_prisms(basis: Basis, seat: Seat, state: str, side: Side) -> list[Prism]:
    """What a seat takes up in a state."""
    shape: SeatShape | None = {"in use": seat.in_use, "folded": seat.folded}.get(state)
    if shape is None:
        return []
    z0, z1 = _z_range(basis, f"seats[{seat.id}].{state}", shape.bottom, shape.top, side)
    if z1 is None:
        assumed = basis.assumed(f"seats[{seat.id}].top", "assumed.seat.top")
        z1 = assumed.high if side is Side.BAD else assumed.low
    if z0 >= z1:
        return []
    return [Prism(p, (z0, z1), f"seat {seat.id}") for p in _grown(basis, shape.outline, side)]


def floor_edges(basis: Basis, van: Van, bounds: tuple[Point, Point]) -> list[Prism]:
    """Where there is no floor for a wheel, at the bad end, as prisms below the floor."""
    (x0, y0), (x1, y1) = bounds
    missing = box(x0, y0, x1, y1).difference(floor_shape(basis, van, Side.BAD))
    return [Prism(part, BELOW_FLOOR, "edge of the floor") for part in convex_parts(missing)]


def drive_of(basis: Basis, chair: Chair) -> Drive:
    """How the chair steers; a scooter's radius at its bad end."""
    if chair.steering.kind == "like a car" and chair.steering.smallest_radius is not None:
        radius = basis.known("chair.steering.smallest_radius", chair.steering.smallest_radius)
        return Car(radius.high)
    return Spot()


@dataclass(frozen=True, slots=True)
class WayIn:
    """A straight way over the sill: from outside to where every wheel stands on the floor."""

    direction: str
    outside: Pose
    inside: Pose


def way_in(
    basis: Basis, entry: Entry, bad: tuple[Prism, ...], wheels: Prism, direction: str, off_mm: float
) -> WayIn:
    """Poses at both ends of the straight way over the sill along the ramp's axis.

    Args:
        bad: the body at its largest, chair frame.
        wheels: rectangle round the wheels, chair frame.
        off_mm: tolerance of the floor's edge.
    """
    jamb = basis.assumed("door.jamb", "assumed.door.jamb").high
    room = basis.number("drive.entry.room") + off_mm
    front = max(x for p in bad for x, _ in p.polygon)
    back = min(x for p in bad for x, _ in p.polygon)
    wheels_back, wheels_front = wheels.polygon[0][0], wheels.polygon[2][0]
    if direction == FORWARDS:
        heading = entry.heading
        s_out, s_in = -(front + jamb + _ROOM_MM), room - wheels_back
    else:
        heading = entry.heading + math.pi
        s_out, s_in = -(jamb + _ROOM_MM - back), room + wheels_front
    # Headings into (-pi, pi], so that the place's heading 0 is reached by the shorter turn.
    heading = math.remainder(heading, 2 * math.pi)
    (ox, oy), (ix, iy) = entry.at(s_out), entry.at(s_in)
    return WayIn(direction, (ox, oy, heading), (ix, iy, heading))


def bounds_of(
    basis: Basis, van: Van, entry: Entry, reach: float
) -> tuple[tuple[Point, Point], PoseBox]:
    """The domain of a no, apron included, and the poses outside from where every way may start."""
    jamb = basis.assumed("door.jamb", "assumed.door.jamb")
    half = entry.width.high / 2
    start0 = -(jamb.low + 2 * reach + 2 * _ROOM_MM)
    start1 = -(jamb.low + reach + _ROOM_MM)
    side = half + reach + _ROOM_MM
    outside = Polygon([entry.at(a, b) for a, b in (
        (start0 - reach - _ROOM_MM, -side), (0, -side), (0, side),
        (start0 - reach - _ROOM_MM, side))])  # fmt: skip
    inside = moved_edges(floor_shape(basis, van, Side.GOOD), jamb.high + _ROOM_MM)
    x0, y0, x1, y1 = unary_union([outside, inside]).bounds
    starts = Polygon([entry.at(start0, -half), entry.at(start1, half), entry.at(start0, half)])
    sx0, sy0, sx1, sy1 = starts.bounds
    start = PoseBox((sx0, sx1), (sy0, sy1), (-math.pi, math.pi))
    return ((x0, y0), (x1, y1)), start


@dataclass(frozen=True, slots=True)
class Room:
    """The cabin as prisms at one end of the tolerances, made once and put together per question.

    Attributes:
        fixed: walls, ceilings and solids.
        seats: what each seat takes up in each of its states.
    """

    fixed: tuple[Prism, ...]
    seats: Mapping[tuple[str, str], tuple[Prism, ...]]

    def prisms(self, states: Mapping[str, str]) -> tuple[Prism, ...]:
        """All that stands in the chair's way for these seat states."""
        standing = (prism for item in states.items() for prism in self.seats[item])
        return (*self.fixed, *standing)


def room_of(basis: Basis, van: Van, entry: Entry, side: Side) -> Room:
    """The cabin at one end of its tolerances. The header counts at the bad end only: for a no it
    is judged exactly on the climb."""
    fixed = walls(basis, van, entry, side) + ceilings(basis, van, side) + solids(basis, van, side)
    if side is Side.BAD and (lintel := header(basis, van, entry)) is not None:
        fixed.append(lintel)
    seats: dict[tuple[str, str], tuple[Prism, ...]] = {
        (seat.id, state): tuple(seat_prisms(basis, seat, state, side))
        for seat in van.seats
        for state in seat.states()
    }
    return Room(tuple(fixed), seats)


def assumptions(basis: Basis, van: Van) -> tuple[Known, ...]:
    """What the plan view takes for granted where the record is silent."""
    out = [basis.assumed("door.jamb", "assumed.door.jamb")]
    for seat in van.seats:
        shapes = [seat.in_use, *([seat.folded] if seat.folded else [])]
        if any(shape.top is None for shape in shapes):
            out.append(basis.assumed(f"seats[{seat.id}].top", "assumed.seat.top"))
    return tuple(out)


def good_scene(
    basis: Basis, van: Van, entry: Entry, obstacles: tuple[Prism, ...], common: tuple[Prism, ...],
    goal: PoseBox,
) -> Scene:  # fmt: skip
    """The scene whose no covers every pose of the goal, both directions and all postures."""
    bounds, start = bounds_of(basis, van, entry, reach_mm(common))
    return Scene(obstacles, common, start, goal, bounds, Spot())


def bad_scene(
    basis: Basis, van: Van, entry: Entry, obstacles: tuple[Prism, ...], bad: tuple[Prism, ...],
    start: Pose, goal: Pose, drive: Drive,
) -> Scene:  # fmt: skip
    """The scene whose drive is a certificate: from all wheels on the floor to the place."""
    bounds, _ = bounds_of(basis, van, entry, reach_mm(bad))
    return Scene(obstacles, bad, at(start), at(goal), bounds, drive)


def at(pose: Pose) -> PoseBox:
    """A single pose as a box without extent."""
    x, y, theta = pose
    return PoseBox((x, x), (y, y), (theta, theta))
