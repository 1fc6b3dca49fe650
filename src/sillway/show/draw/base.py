"""What stands still in a plan, and the small plans of the key frames."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sillway.fit.drive.scene import Pose, Prism
from sillway.fit.result import FitAnswer
from sillway.records.van import Seat, SeatState, Van
from sillway.show.draw import motion
from sillway.show.draw.dims import arrow
from sillway.show.draw.frame import Plan, outline, posed, ramp_outline, ramp_run_mm, way_in
from sillway.show.draw.svg import Drawing, Uv


def base(d: Drawing, view: Plan, van: Van, answer: FitAnswer) -> None:
    """What stands still: floor, door, ramp, solids, seats by state, places."""
    d.polygon(view.all(van.cabin.floor.points_mm), "thick")
    ramp = view.all(ramp_outline(van))
    d.polygon(ramp, "medium", "paper")
    way = way_in(van)
    half = van.door.width.value / 2
    jamb = 60.0
    for side in (1.0, -1.0):
        d.line(
            view.at(way.point(-jamb, side * half)), view.at(way.point(jamb, side * half)), "thick"
        )
    run = ramp_run_mm(van)
    tail, tip = view.at(way.point(-0.8 * run, 0)), view.at(way.point(-0.2 * run, 0))
    d.line(tail, tip, "thin")
    arrow(d, tip, unit(tail, tip))
    for solid in van.cabin.solids:
        shape = view.all(solid.outline.points_mm)
        d.hatch(shape, 45, 1.1)
        d.hatch(shape, -45, 1.1)
        d.polygon(shape, "thick")
    for place in van.places:
        d.polygon(view.all(place.zone.points_mm), "chain")
    for seat in van.seats:
        _seat(d, view, seat, seat_state(answer, seat))


def seat_state(answer: FitAnswer, seat: Seat) -> SeatState:
    """The state the answer puts a seat in; as usual where it says nothing."""
    said = answer.arrangement.seats.get(seat.id) if answer.arrangement else None
    return next((s for s in seat.states() if s == said), seat.states()[0])


def _seat(d: Drawing, view: Plan, seat: Seat, state: SeatState) -> None:
    usual = view.all(seat.in_use.outline.points_mm)
    if state == "out":
        d.polygon(usual, "phantom")
    elif state == "folded" and seat.folded is not None:
        d.polygon(usual, "phantom")
        shape = view.all(seat.folded.outline.points_mm)
        d.hatch(shape, 0, 1.6)
        d.polygon(shape, "medium")
    else:
        d.hatch(usual, 45, 3.0)
        d.polygon(usual, "medium")


def chair_body(answer: FitAnswer) -> Sequence[Prism]:
    """The chair to draw: as measured, else as used in the certificate."""
    if answer.body:
        return answer.body
    return answer.certificate.body if answer.certificate else ()


def heading(d: Drawing, view: Plan, body: Sequence[Prism], pose: Pose) -> None:
    front = max(x for prism in body for x, _ in prism.polygon)
    tail, tip = view.at(posed((front - 260, 0), pose)), view.at(posed((front - 40, 0), pose))
    d.line(tail, tip, "medium")
    arrow(d, tip, unit(tail, tip))


def unit(a: Uv, b: Uv) -> Uv:
    length = math.dist(a, b) or 1.0
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length)


def key_frame(answer: FitAnswer, van: Van, key: motion.Key, scale: int) -> Drawing:
    """A small plan with the chair at one key pose, without dimensions."""
    view = Plan(scale)
    d = Drawing(f"key-{key.number}", f"Key frame {key.number}", key.says)
    base(d, view, van, answer)
    body = chair_body(answer)
    if body:
        shape = view.all(outline(body, key.pose))
        d.polygon(shape, "thick", "paper")
        heading(d, view, body, key.pose)
    return d
