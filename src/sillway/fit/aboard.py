"""Who and what is aboard: masses and where along the van they are, as intervals."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from sillway import rules
from sillway.fit.cite import assumed_range, cite
from sillway.fit.drive.scene import Pose, PoseBox
from sillway.fit.known import Basis, Known
from sillway.fit.place.beside import ATTENDANT
from sillway.fit.place.footprint import edges
from sillway.fit.place.masses import chair_mass, on_chair_masses, rider_mass
from sillway.records.measure import Way
from sillway.records.rider import Chair, Rider, Walker
from sillway.records.van import Seat, Van


@dataclass(frozen=True, slots=True)
class Item:
    """A mass at a place along the van.

    Attributes:
        mass: in kg; both ends negative for a seat that is out.
        x: in mm, van frame.
        person: somebody who could as well sit on another seat.
    """

    name: str
    mass: Known
    x: Known
    person: bool = False


def minus(known: Known) -> Known:
    """The same, taken off."""
    return Known(
        known.name, -known.high, -known.low, known.unit, known.way, known.typed, known.source
    )


def seat_x(basis: Basis, seat: Seat) -> Known:
    """Where along the van the middle of a seat is."""
    xs = [p[0] for p in seat.in_use.outline.points_mm]
    off = edges(basis, f"seats[{seat.id}].in_use", seat.in_use.outline)
    middle = (min(xs) + max(xs)) / 2
    return Known(off.name, middle - off.high, middle + off.high, "mm", off.way, f"{middle:.0f} mm")


def anywhere(van: Van, name: str, xs: Iterable[Known] = ()) -> Known:
    """A place along the van nobody told: over the seats that are left, else over the floor."""
    ends = [(x.low, x.high) for x in xs]
    if not ends:
        corners = [p[0] for p in van.cabin.floor.points_mm]
        ends = [(min(corners), max(corners))]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    return Known(name, low, high, "mm", Way.ASSUMED, "anywhere aboard")


def seat_mass(basis: Basis, seat: Seat) -> Known:
    """What a seat weighs, else what a seat or bench may weigh."""
    rule = "assumed.seat.mass" if seat.sits == 1 else "assumed.bench.mass"
    return basis.known_or(f"seats[{seat.id}].mass", seat.mass, rule, "kg")


def seats_out(van: Van, seat_states: Mapping[str, str], basis: Basis) -> list[Item]:
    """The seats that are taken out of the weighed van, as negative masses."""
    return [
        Item(f"seat {seat.id} out", minus(seat_mass(basis, seat)), seat_x(basis, seat))
        for seat in van.seats
        if seat_states.get(seat.id) == "out"
    ]


def _centre_x(basis: Basis, chair: Chair, spot: PoseBox) -> Known:
    """Where along the van the centre of mass is, wherever in the spot the chair stands."""
    if chair.mass_centre is not None:
        name = "chair.mass_centre.from_wall"
        wall = basis.known(name, chair.mass_centre.from_wall)
        axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
        low, high = wall.low - axle.high, wall.high - axle.low
        way, typed, source = wall.way, wall.typed, ""
    else:
        name = "chair.mass_centre"
        rule_id = f"assumed.com.ahead.{chair.drive.replace(' ', '_')}"
        low, high = rules.interval(rule_id, basis.on)
        way, typed, source = Way.ASSUMED, f"assumed ({rule_id})", cite(basis, rule_id)
    first, last = spot.theta
    # Where a whole turn lies between, the cosine has its ends there.
    turns = [math.cos(t) for t in (first, last)]
    turns += [1.0] if math.floor(last / math.tau) >= math.ceil(first / math.tau) else []
    back = (first - math.pi, last - math.pi)
    turns += [-1.0] if math.floor(back[1] / math.tau) >= math.ceil(back[0] / math.tau) else []
    ahead = [c * a for c in turns for a in (low, high)]
    return Known(
        name, spot.x[0] + min(ahead), spot.x[1] + max(ahead), "mm", way, typed, source
    )  # fmt: skip


def _walker_mass(basis: Basis, walker: Walker) -> Known:
    rule = "assumed.driver.mass" if walker.drives else "assumed.walker.mass"
    return basis.known_or(f"walkers[{walker.name}].mass", walker.mass, rule, "kg")


def party(
    van: Van,
    rider: Rider,
    pose: Pose,
    seat_states: Mapping[str, str],
    walkers: Mapping[str, str],
    basis: Basis,
    spots: Mapping[str, PoseBox] | None = None,
) -> list[Item]:
    """All that comes aboard: chair and rider at the pose, equipment, attendant, animal, walkers.

    Args:
        spots: where each chair may stand, by its rider's name; of one not named the main rider's
            stands at the pose, another's anywhere over the floor.
        walkers: seat id by walker's name, and by ``attendant`` for the attendant. Who is not
            named sits anywhere among the seats in use; a driver not named sits on the driver's.
            Who is seated but not in the record (a driver nobody named) weighs what one may weigh.
    """
    spots = spots or {}
    here = PoseBox((pose[0], pose[0]), (pose[1], pose[1]), (pose[2], pose[2]))
    centre = _centre_x(basis, rider.chair, spots.get(rider.name, here))
    out = [
        Item("chair", chair_mass(basis, rider.chair), centre),
        Item("rider", rider_mass(basis, rider.body), centre),
    ]
    out += [Item(m.name, m, centre) for m in on_chair_masses(basis, rider.equipment)]
    for thing in rider.equipment:
        if thing.rides == "in the cabin":
            path = f"equipment[{thing.name}]"
            x = anywhere(van, f"{path}.x") if thing.x is None else basis.known(f"{path}.x", thing.x)
            out.append(Item(thing.name, basis.known(f"{path}.mass", thing.mass, "kg"), x))
    by_id = {seat.id: seat for seat in van.seats}
    free = [s for s in van.seats if seat_states.get(s.id, "in use") == "in use"]

    def sits(name: str, drives: bool) -> Known:
        seat = by_id.get(walkers.get(name, ""))
        if seat is None and drives:
            seat = next((s for s in free if s.for_driver), None)
        if seat is not None:
            return seat_x(basis, seat)
        return anywhere(
            van, f"seat of {name}", [seat_x(basis, s) for s in free if not s.for_driver]
        )

    for walker in rider.walkers:
        where = sits(walker.name, walker.drives)
        mass = _walker_mass(basis, walker)
        out.append(Item(walker.name, mass, where, person=not walker.drives))
    known = {ATTENDANT, *(walker.name for walker in rider.walkers)}
    for name, seat_id in walkers.items():
        # Somebody seated whom the record does not name, such as whoever drives.
        if name not in known and (seat := by_id.get(seat_id)) is not None:
            rule = "assumed.driver.mass" if seat.for_driver else "assumed.walker.mass"
            mass = basis.assumed(f"mass of the {name}", rule, "kg")
            out.append(Item(name, mass, seat_x(basis, seat), person=not seat.for_driver))
    if rider.attendant is not None:
        given = rider.attendant.mass
        mass = basis.known_or("attendant.mass", given, "assumed.attendant.mass", "kg")
        out.append(Item(ATTENDANT, mass, sits(ATTENDANT, drives=False), person=True))
    if rider.service_animal is not None:
        animal = rider.service_animal
        mass = basis.known_or("service_animal.mass", animal.mass, "assumed.animal.mass", "kg")
        out.append(Item("service animal", mass, anywhere(van, "place of the animal")))
    for other in rider.other_chairs:
        where = anywhere(van, f"place of {other.name}")
        if (spot := spots.get(other.name)) is not None:
            where = _of(other.name, _centre_x(basis, other.chair, spot))
        chair, person = chair_mass(basis, other.chair), rider_mass(basis, other.body)
        out.append(Item(f"chair of {other.name}", _of(other.name, chair), where))
        out.append(Item(other.name, _of(other.name, person), where))
    return out


def _of(name: str, known: Known) -> Known:
    """A measure of another chair, told apart from the main rider's."""
    return replace(known, name=f"other_chairs[{name}].{known.name}")


@dataclass(frozen=True, slots=True)
class Curb:
    """The empty van on its axles, as converted. [kg]"""

    front: Known
    rear: Known
    total: Known


def curb_of(van: Van, basis: Basis) -> Curb:
    """The weighed van: by axle where a ticket says, else a total shared as rule data assumes."""
    r = van.ratings
    front = rear = None
    if r.curb_front is not None:
        front = basis.known("ratings.curb_front", r.curb_front, "kg")
    if r.curb_rear is not None:
        rear = basis.known("ratings.curb_rear", r.curb_rear, "kg")
    if r.curb_total is not None:
        total = basis.known("ratings.curb_total", r.curb_total, "kg")
    elif front and rear:
        total = Known(
            "ratings.curb_front + curb_rear", front.low + rear.low, front.high + rear.high,
            "kg", front.way, f"{front.typed} + {rear.typed}",
        )  # fmt: skip
    else:
        total = basis.assumed("ratings.curb_total", "assumed.curb.mass", "kg")
    if front and rear:
        return Curb(front, rear, total)
    if front or rear:
        one = front or rear
        assert one is not None
        name = "ratings.curb_rear" if front else "ratings.curb_front"
        way = Way.ASSUMED if total.assumed else total.way
        rest = Known(
            name, max(total.low - one.high, 0.0), max(total.high - one.low, 0.0), "kg", way,
            f"{total.typed} less {one.typed}", total.source,
        )  # fmt: skip
        return Curb(front or rest, rear or rest, total)
    share = assumed_range(basis, "share", "assumed.curb.front", "")
    split = {}
    for name, low, high in (
        ("ratings.curb_front", share.low, share.high),
        ("ratings.curb_rear", 1 - share.high, 1 - share.low),
    ):
        split[name] = Known(
            name, total.low * low, total.high * high, "kg", Way.ASSUMED, share.typed, share.source
        )
    return Curb(split["ratings.curb_front"], split["ratings.curb_rear"], total)
