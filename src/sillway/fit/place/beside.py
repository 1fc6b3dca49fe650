"""Who and what rides beside the chair, what the rider sees, and another way out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from shapely import Polygon, union_all
from shapely.geometry.base import BaseGeometry

from sillway.fit.body import Side, body
from sillway.fit.check import Check, CheckClass, Finding, Settle, not_assessed, yes_no
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Point, Pose, Prism
from sillway.fit.judge import judge, judge_all
from sillway.fit.known import Basis, Known
from sillway.fit.place.clear import things_in
from sillway.fit.place.footprint import edges, outline_at
from sillway.fit.place.person import eye_height, head_back, head_front
from sillway.fit.place.room import free_for, to_van
from sillway.fit.plane import moved_edges
from sillway.records.rider import Attendant, Body, Chair, Layer, ServiceAnimal
from sillway.records.van import Seat, Van
from sillway.units import show_length

ATTENDANT = "attendant"
PRACTICE = CheckClass.PRACTICE


def seat_middles(seat: Seat) -> tuple[Point, ...]:
    """Where the people on a seat or bench sit: evenly across it, at its middle along the van."""
    xs = [p[0] for p in seat.in_use.outline.points_mm]
    ys = [p[1] for p in seat.in_use.outline.points_mm]
    x, left, width = (min(xs) + max(xs)) / 2, min(ys), max(ys) - min(ys)
    return tuple((x, left + width * (i + 0.5) / seat.sits) for i in range(seat.sits))


def view_check(van: Van, body_: Body, layers: Sequence[Layer], basis: Basis) -> Check:
    """Whether the eye is within the window band."""
    eye = eye_height(basis, body_, layers)
    band = van.cabin.windows
    low = basis.known_or("cabin.windows.low", band.low if band else None, "assumed.window.bottom")
    high = basis.known_or("cabin.windows.high", band.high if band else None, "assumed.window.top")
    return judge_all(
        "place.view", "Does the rider see out of the side windows?", PRACTICE,
        [lambda e, lo, hi: e - lo, lambda e, lo, hi: hi - e], [eye, low, high], "mm",
        needed=f"eyes between {show_length(low.mid)} and {show_length(high.mid)}",
        measured=f"eyes at {show_length(eye.mid)}", source=cite(basis, "view.window"),
        who="rider", note="Sit in the van before buying and look out.",
    )  # fmt: skip


def attendant_check(
    van: Van,
    chair: Chair,
    body_: Body,
    layers: Sequence[Layer],
    pose: Pose,
    attendant: Attendant,
    seat_states: Mapping[str, str],
    walkers: Mapping[str, str],
    basis: Basis,
) -> Check:
    """Whether a seat in use is within an attendant's reach of the rider.

    Args:
        walkers: who sits on which seat; the attendant stands in it as ``attendant``. If not, any
            seat that still has room is looked at.
    """
    question = "Does the attendant sit within reach of the rider?"
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    front, back = head_front(basis, body_, layers), head_back(basis, body_, layers)
    rider = to_van(pose, ((front.mid + back.mid) / 2 - axle.mid, 0.0))
    reach = basis.known_or("attendant.reach", attendant.reach, "assumed.attendant.reach")
    own = walkers.get(ATTENDANT)
    taken: dict[str, int] = {}
    for name, seat_id in walkers.items():
        if name != ATTENDANT:
            taken[seat_id] = taken.get(seat_id, 0) + 1
    best: tuple[float, Seat] | None = None
    for seat in van.seats:
        here = own == seat.id or (
            own is None and not seat.for_driver and taken.get(seat.id, 0) < seat.sits
        )
        if here and seat_states.get(seat.id, "in use") == "in use":
            near = min(math.dist(rider, middle) for middle in seat_middles(seat))
            if best is None or near < best[0]:
                best = (near, seat)
    if best is None:
        return yes_no(
            "place.attendant", question, PRACTICE, False, needed="a free seat near the rider",
            measured="no seat is free", source=cite(basis, "attendant.reach"),
            who="rider and attendant",
        )  # fmt: skip
    off = edges(basis, f"seats[{best[1].id}].in_use", best[1].in_use.outline)
    # A place known to within t along and across is known to within t * sqrt(2) in distance.
    wide = math.sqrt(2) * off.high + front.half_width + axle.half_width
    apart = Known(
        f"seat {best[1].id} from the rider", best[0] - wide, best[0] + wide, "mm", off.way,
        f"{best[0]:.0f} mm",
    )  # fmt: skip
    return judge(
        "place.attendant", question, PRACTICE, lambda r, d: r - d, [reach, apart], "mm",
        needed=f"within {show_length(reach.mid)}, middle to middle",
        measured=f"{show_length(apart.mid)} from seat {best[1].id}",
        source=cite(basis, "attendant.reach"), who="rider and attendant",
    )  # fmt: skip


def animal_check(
    van: Van,
    chair: Chair,
    layers: Sequence[Layer],
    pose: Pose,
    animal: ServiceAnimal,
    seat_states: Mapping[str, str],
    basis: Basis,
    others: Sequence[Prism] = (),
) -> Check:
    """Whether a free upright rectangle of floor is left for the animal.

    Free is floor on which nothing stands lower than the animal's own width (it cannot lie under
    less); the chair and its rider are never stepped under.
    """
    length = basis.known("service_animal.length", animal.length)
    width = basis.known("service_animal.width", animal.width)
    bad = free_for(
        (length.high, width.high),
        _free(van, chair, layers, pose, seat_states, basis, others, -1, width.high),
    )
    good = free_for(
        (length.low, width.low),
        _free(van, chair, layers, pose, seat_states, basis, others, 1, width.low),
    )
    finding = Finding.HOLDS if bad else Finding.CLOSE if good else Finding.FAILS
    words = {
        Finding.HOLDS: "there is",
        Finding.CLOSE: "only if the measures turn out well",
        Finding.FAILS: "there is not",
    }
    used = (length, width)
    settle = tuple(Settle(k.name, f"measure {k.name} again", k.typed) for k in used)
    return Check(
        "place.animal", "Is there floor left for the service animal?", PRACTICE, finding, None,
        f"{show_length(length.mid)} by {show_length(width.mid)} of floor", words[finding], used,
        cite(basis, "physics.solid"), settle if finding is Finding.CLOSE else (), "rider",
    )  # fmt: skip


def _free(
    van: Van,
    chair: Chair,
    layers: Sequence[Layer],
    pose: Pose,
    seat_states: Mapping[str, str],
    basis: Basis,
    others: Sequence[Prism],
    sign: int,
    under_mm: float,
) -> BaseGeometry:
    side = Side.BAD if sign < 0 else Side.GOOD
    taken = [
        Polygon([to_van(pose, p) for p in prism.polygon])
        for prism in body(basis, chair, layers, side)
    ]
    taken += [
        moved_edges(Polygon(t.outline.points_mm), -sign * edges(basis, "", t.outline).high)
        for t in things_in(van, seat_states, basis)
        if t.bottom < under_mm
    ]
    taken += [Polygon(p.polygon) for p in others if p.z[0] < under_mm]
    return outline_at(basis, van.cabin.floor, sign).difference(union_all(taken))


def way_out_check(van: Van, basis: Basis) -> Check:
    """Whether two ways out open by hand, so that one is left if the ramp's door is blocked."""
    question = "Is there a second way out that opens by hand?"
    needed = "two doors or hatches that open from inside by hand"
    by_hand = [w.name for w in van.ways_out if w.opens_by_hand]
    unknown = [w.name for w in van.ways_out if w.opens_by_hand is None]
    source, who = cite(basis, "place.way_out"), "rider and helper"
    if len(by_hand) < 2 and (unknown or not van.ways_out):
        return not_assessed(
            "place.way_out", question, PRACTICE,
            measures=[f"ways_out[{name}].opens_by_hand" for name in unknown] or ["ways_out"],
            needed=needed, source=source, who=who,
        )  # fmt: skip
    return yes_no(
        "place.way_out", question, PRACTICE, len(by_hand) >= 2, needed=needed,
        measured=", ".join(by_hand) or "none", source=source, who=who,
    )  # fmt: skip
