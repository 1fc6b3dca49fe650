"""Clear zones ahead of and behind the head, and the space yardstick of the place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely import Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from sillway.fit.check import Check, CheckClass, Margin
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Pose, Prism
from sillway.fit.judge import check_of, judge
from sillway.fit.known import Basis, Known
from sillway.fit.place.belts import has_shoulder_belt, hip_of
from sillway.fit.place.footprint import edges
from sillway.fit.place.person import head_back, head_front, top_layer, top_of_head
from sillway.fit.place.room import free_for, upright
from sillway.fit.plane import moved_edges
from sillway.records.measure import Way
from sillway.records.outline import Outline
from sillway.records.rider import Body, Chair, Layer
from sillway.records.van import Place, Seat, Van
from sillway.units import show_length

WHO = "seating clinician"
# Looked at this far from the head; no cabin is longer. [mm]
_FAR_MM = 20_000.0
# A touch thinner than this is an edge shared, not a thing in the way. [mm²]
_TOUCH_MM2 = 1e-6


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that stands in the cabin in plan, with its height range. [mm]"""

    name: str
    outline: Outline
    bottom: float
    top: float


def _range(
    basis: Basis, name: str, bottom: object, top: object, roof: float
) -> tuple[float, float]:
    low = basis.known(f"{name}.bottom", bottom).low if bottom is not None else 0.0  # type: ignore[arg-type]
    high = basis.known(f"{name}.top", top).high if top is not None else roof  # type: ignore[arg-type]
    return low, high


def seat_thing(basis: Basis, seat: Seat, state: str, roof: float) -> Thing | None:
    """A seat as it stands in a state; None if it is out."""
    shape = {"in use": seat.in_use, "folded": seat.folded}.get(state)
    if shape is None:
        return None
    name = f"seat {seat.id}"
    return Thing(name, shape.outline, *_range(basis, name, shape.bottom, shape.top, roof))


def things_in(van: Van, seat_states: Mapping[str, str], basis: Basis) -> list[Thing]:
    """Fixed solids, and seats in their states; a height not measured reaches to the roof."""
    roof = basis.known("cabin.height", van.cabin.height).high
    out = [
        Thing(s.name, s.outline, *_range(basis, s.name, s.bottom, s.top, roof))
        for s in van.cabin.solids
    ]
    seats = (seat_thing(basis, s, seat_states.get(s.id, "in use"), roof) for s in van.seats)
    return out + [thing for thing in seats if thing is not None]


def _as_thing(prism: Prism) -> Thing:
    """A prism that already has its tolerances in it."""
    outline = Outline(prism.polygon, Way.DRAWING, "", 0.0)
    return Thing(prism.name, outline, *prism.z)


def _in_chair(shape: BaseGeometry, pose: Pose) -> BaseGeometry:
    moved = affinity.translate(shape, -pose[0], -pose[1])
    return affinity.rotate(moved, -pose[2], origin=(0.0, 0.0), use_radians=True)


def _nearest(
    things: Sequence[Thing],
    floor: Outline,
    basis: Basis,
    pose: Pose,
    middle: float,
    half_width: float,
    z: tuple[float, float],
    sign: int,
) -> Known:
    """The nearest thing ahead of (sign 1) or behind (-1) the head, as a distance from the body
    origin along the chair; the end of the floor counts as a wall."""
    ends = sorted((middle, middle + sign * _FAR_MM))
    strip = box(ends[0], -half_width, ends[1], half_width)
    found: list[tuple[float, Known]] = []

    def take(shape: BaseGeometry, known: Known) -> None:
        hit = shape.intersection(strip)
        if hit.area > _TOUCH_MM2:
            x0, _, x1, _ = hit.bounds
            found.append((float(x0 if sign > 0 else -x1), known))

    for thing in things:
        if thing.top > z[0] and thing.bottom < z[1]:
            shape = _in_chair(Polygon(thing.outline.points_mm), pose)
            take(shape, edges(basis, thing.name, thing.outline))
    inside = _in_chair(Polygon(floor.points_mm), pose)
    take(strip.difference(inside), edges(basis, "end of the floor", floor))
    at, known = min(found, key=lambda one: one[0])
    return Known(
        known.name, at - known.high, at + known.high, "mm", known.way, f"{known.name} at {at:.0f}"
    )


def clear_checks(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    layers: Sequence[Layer],
    pose: Pose,
    basis: Basis,
    seat_states: Mapping[str, str],
    others: Sequence[Prism] = (),
) -> tuple[Check, ...]:
    """Clear room ahead of and behind the head, as wide as the highest layer, from hip to head.

    Args:
        others: what else stands in the van, at its largest.
    """
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    front, back = head_front(basis, body, layers), head_back(basis, body, layers)
    width = basis.known("head width", top_layer(layers).width)
    z = (hip_of(basis, chair, body).up.low, top_of_head(basis, layers).high)
    things = [*things_in(van, seat_states, basis), *(_as_thing(p) for p in others)]
    middle = (front.mid + back.mid) / 2 - axle.mid
    belt = has_shoulder_belt(van, place)
    out = []
    for tail, rule_id, sign, head in (
        ("front", "place.zone.front" if belt else "place.zone.front.lap", 1, front),
        ("rear", "place.zone.rear", -1, back),
    ):
        near = _nearest(things, van.cabin.floor, basis, pose, middle, width.high / 2, z, sign)
        limit = basis.number(rule_id)

        def room(at: float, head_mm: float, axle_mm: float, sign: int = sign) -> float:
            return at - sign * (head_mm - axle_mm)

        way = "ahead of" if sign > 0 else "behind"
        out.append(
            judge(
                f"place.zone.{tail}", f"Is there clear room {way} the head?",
                CheckClass.PRACTICE, lambda *a, r=room, limit=limit: r(*a) - limit,
                [near, head, axle], "mm", needed=show_length(limit),
                measured=f"{show_length(room(near.mid, head.mid, axle.mid))} to {near.name}",
                source=cite(basis, rule_id), who=WHO,
            )
        )  # fmt: skip
    return tuple(out)


def space_check(place: Place, basis: Basis) -> Check:
    """The place beside the floor space that public vehicles keep for a chair."""
    length, width = basis.number("place.space.length"), basis.number("place.space.width")
    off = edges(basis, f"places[{place.id}].zone", place.zone)
    zone = Polygon(place.zone.points_mm)
    rectangle = upright(zone)
    if rectangle is not None:
        x0, y0, x1, y1 = rectangle
        spare = min(x1 - x0 - length, y1 - y0 - width)
        margin = Margin(spare - 2 * off.high, spare + 2 * off.high, "mm")
        measured = f"{show_length(x1 - x0)} by {show_length(y1 - y0)}"
    else:
        least, most = (
            _spare(moved_edges(zone, sign * off.high), length, width) for sign in (-1, 1)
        )
        margin = Margin(least, most, "mm")
        measured = f"room for it with {show_length(margin.worst)} to spare at the least"
    return check_of(
        "place.space", "Is the place as large as a public vehicle must keep for a chair?",
        CheckClass.YARDSTICK, margin, [off], [off],
        needed=f"{show_length(length)} by {show_length(width)}", measured=measured,
        source=cite(basis, "place.space.length", "place.space.width"),
    )  # fmt: skip


def _spare(zone: BaseGeometry, length: float, width: float) -> float:
    """By how much the larger size may still grow, or has to shrink, to find room; by halving."""
    low, high = -min(length, width), _FAR_MM
    # Forty halvings of 20 m leave less than a micrometre.
    for _ in range(40):
        middle = (low + high) / 2
        if free_for((length + middle, width + middle), zone):
            low = middle
        else:
            high = middle
    return low
