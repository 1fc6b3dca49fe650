"""The plan: cabin from above with seats, place, straps and the way in. Front of the van up."""

from __future__ import annotations

import itertools
import math
import string
from collections.abc import Iterator, Sequence
from typing import Final

from sillway.fit.drive.scene import Point
from sillway.fit.result import FitAnswer, Narrowest
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.draw import motion
from sillway.show.draw.base import base, chair_body, heading, seat_state
from sillway.show.draw.dims import Side, box_of, gap, label
from sillway.show.draw.frame import (
    Plan,
    chair_points,
    fitting,
    outline,
    posed,
    ramp_outline,
    ramp_run_mm,
    scale_for,
    way_in,
)
from sillway.show.draw.key import key_block, title_block
from sillway.show.draw.svg import Drawing, Uv, cut
from sillway.units import show_inches

# Room on paper for the van itself, height then width; dimension rows come on top.
_ROOM_MM: Final = (150.0, 80.0)
# Numbers of key poses closer than this share one balloon.
_BALLOON_MM: Final = 6.0
# Checks of these families are decided in the plan.
PLAN_FAMILIES: Final = ("drive", "cabin", "way")


def plan(answer: FitAnswer, van: Van, rider: Rider, number: str = "") -> Drawing:
    """The plan of this answer, with dimensions, key and title block."""
    return fitting(plan_scale(van), lambda scale: _plan(answer, van, rider, number, Plan(scale)))


def _plan(answer: FitAnswer, van: Van, rider: Rider, number: str, view: Plan) -> Drawing:
    title = f"Plan of {van.name()}, front up, scale 1:{view.scale}"
    d = Drawing("plan", title, _says(answer, rider))
    base(d, view, van, answer)
    _way(d, view, answer)
    _place(d, view, answer, van, rider)
    dimensions(d, view, answer, van)
    _gap(d, view, answer)
    names(d, view, answer, van)
    _gap_says(d, view, answer, van)
    key_block(d, states_shown(answer, van))
    d.notes += parts(answer, van)
    title_block(
        d, "Plan", view.scale, van=van.name(), rider=rider.name, on=answer.on.isoformat(),
        number=number, invented=van.invented or rider.invented,
    )  # fmt: skip
    return d


def plan_scale(van: Van) -> int:
    """The scale at which cabin and ramp fit the sheet."""
    points = [*van.cabin.floor.points_mm, *ramp_outline(van)]
    height = max(x for x, _ in points) - min(x for x, _ in points)
    width = max(y for _, y in points) - min(y for _, y in points)
    return max(scale_for(height, _ROOM_MM[0]), scale_for(width, _ROOM_MM[1]))


def _way(d: Drawing, view: Plan, answer: FitAnswer) -> None:
    proof, body = answer.certificate, chair_body(answer)
    if proof is None or len(proof.path) < 2:
        return
    stops = motion.keys(proof)
    if body:
        for key in stops[:-1]:
            d.polygon(view.all(outline(body, key.pose)), "thin")
    track = motion.along(proof.path, proof.arcs, 40.0, 0.06)
    d.polyline(view.all([pose[:2] for pose in track]), "chain")
    marks: dict[Uv, list[int]] = {}
    for key in stops:
        at = view.at(key.pose[:2])
        near = next((m for m in marks if math.dist(m, at) < _BALLOON_MM), at)
        marks.setdefault(near, []).append(key.number)
    for at, numbers in marks.items():
        text = ", ".join(map(str, numbers))
        radius = 2.2 + 1.1 * (len(text) - 1) / 2
        d.circle(at, radius, "thin", "paper")
        d.text((at[0], at[1] + 1.0), text, 2.8)


def fastenings(d: Drawing, view: Plan, van: Van) -> None:
    """Strap anchors and docking stations."""
    for anchor in van.securement.strap_anchors:
        u, v = view.at((anchor.x.value, anchor.y.value))
        d.circle((u, v), 0.9, "thin", "paper")
        d.line((u - 1.5, v), (u + 1.5, v), "hatch")
        d.line((u, v - 1.5), (u, v + 1.5), "hatch")
    for dock in van.securement.docking:
        u, v = view.at((dock.x.value, dock.y.value))
        d.polygon([(u - 1.6, v - 1.6), (u + 1.6, v - 1.6), (u + 1.6, v + 1.6), (u - 1.6, v + 1.6)])
        d.circle((u, v), 0.5, "thin", "ink")


def _place(d: Drawing, view: Plan, answer: FitAnswer, van: Van, rider: Rider) -> None:
    used = answer.arrangement.place if answer.arrangement else None
    place = next((p for p in van.places if p.id == used), None)
    anchors = {anchor.id: anchor for anchor in van.securement.strap_anchors}
    fastenings(d, view, van)
    body = chair_body(answer)
    pose = answer.place_pose
    if pose is None and answer.certificate is not None and answer.certificate.path:
        pose = answer.certificate.path[-1]
    if pose is None or not body or place is None:
        return
    d.polygon(view.all(outline(body, pose)), "thick")
    heading(d, view, body, pose)
    points = chair_points(rider)
    for ids, hooks in ((place.front_anchors, points.front), (place.rear_anchors, points.rear)):
        ends = [anchors[i] for i in ids if i in anchors]
        placed = [posed(hook, pose) for hook in hooks]
        for anchor in ends:
            if not placed:
                break
            at: Point = (anchor.x.value, anchor.y.value)
            # A strap runs to the point on its own side of the chair.
            hook = min(placed, key=lambda p: math.dist(p, at))
            d.line(view.at(at), view.at(hook), "strap")


def dimensions(d: Drawing, view: Plan, answer: FitAnswer, van: Van) -> None:
    """Dimension lines of floor, door and ramp; of chair and place where the answer has them."""
    box = d.extent
    top, bottom = Side(box.v0, 0, -1), Side(box.v1, 0, 1)
    left, right = Side(box.u0, 1, -1), Side(box.u1, 1, 1)
    floor = van.cabin.floor.points_mm
    low_y, high_y = min(floor, key=lambda p: p[1]), max(floor, key=lambda p: p[1])
    back, front = min(floor, key=lambda p: p[0]), max(floor, key=lambda p: p[0])
    top.add(d, view.at(high_y), view.at(low_y), high_y[1] - low_y[1], "floor")
    left.add(d, view.at(back), view.at(front), front[0] - back[0], "floor")
    way, half = way_in(van), van.door.width.value / 2
    rear = van.conversion.entry == "rear"
    foot = ramp_outline(van)
    if rear:
        sides, ramp_side = bottom, bottom
    else:
        sides = ramp_side = right if van.conversion.side == "right" else left
    foot_mm = (van.ramp.width_at_foot or van.ramp.width_at_hinge).value
    ramp_side.add(d, view.at(foot[2]), view.at(foot[3]), foot_mm, "ramp foot")
    if van.ramp.width_at_foot is not None:
        sides.add(
            d, view.at(foot[0]), view.at(foot[1]), van.ramp.width_at_hinge.value, "ramp hinge"
        )
    sides.add(d, view.at(way.point(0, half)), view.at(way.point(0, -half)), 2 * half, "door")
    body, pose = chair_body(answer), answer.place_pose
    if body and pose is not None:
        shape = outline(body, pose)
        a, b = min(shape, key=lambda p: p[0]), max(shape, key=lambda p: p[0])
        (left if not rear and van.conversion.side == "right" else right).add(
            d, view.at(a), view.at(b), b[0] - a[0], "chair"
        )
        a, b = max(shape, key=lambda p: p[1]), min(shape, key=lambda p: p[1])
        top.add(d, view.at(a), view.at(b), a[1] - b[1], "chair")
    used = answer.arrangement.place if answer.arrangement else None
    zone = next((p.zone.points_mm for p in van.places if p.id == used), None)
    if zone is not None:
        a, b = min(zone, key=lambda p: p[0]), max(zone, key=lambda p: p[0])
        (left if not rear and van.conversion.side == "right" else right).add(
            d, view.at(a), view.at(b), b[0] - a[0], "place"
        )


def _spot(answer: FitAnswer) -> Narrowest | None:
    """Where the way is narrowest, or where it is closed."""
    if answer.certificate is not None:
        return answer.certificate.narrowest
    return answer.proof.pinch if answer.proof is not None else None


def _gap(d: Drawing, view: Plan, answer: FitAnswer) -> None:
    spot, body = _spot(answer), chair_body(answer)
    if spot is None:
        return
    if answer.certificate is None and body:
        shape = view.all(outline(body, spot.pose))
        d.hatch(shape, -45, 2.2)
        d.polygon(shape, "thick")
    pen = "heavy" if answer.deciding.startswith(PLAN_FAMILIES) else "medium"
    gap(d, view.at(spot.on_body), view.at(spot.on_obstacle), pen)


def _gap_says(d: Drawing, view: Plan, answer: FitAnswer, van: Van) -> None:
    spot = _spot(answer)
    if spot is None:
        return
    decides = answer.deciding.startswith(PLAN_FAMILIES)
    a, b = view.at(spot.on_body), view.at(spot.on_obstacle)
    floor = view.all(van.cabin.floor.points_mm)
    word = "short by" if spot.clearance_mm < 0 else "narrowest"
    size = abs(spot.clearance_mm)
    label(
        d, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), f"{word} {show_inches(size)}",
        small=f"{size:.0f}", bold=decides, near=9.0, size=4.6 if decides else 3.6,
        keep_off=(box_of(floor), box_of(view.all(ramp_outline(van)))),
    )  # fmt: skip


def names(d: Drawing, view: Plan, answer: FitAnswer, van: Van) -> None:
    """Letters of seats and fixed parts, names of places, the direction up the ramp."""
    for letter, solid in zip(_letters(string.ascii_lowercase), van.cabin.solids, strict=False):
        label(d, _middle(view.all(solid.outline.points_mm)), letter, size=3.0, led=0.0)
    for letter, seat in zip(_letters(string.ascii_uppercase), van.seats, strict=False):
        state = seat_state(answer, seat)
        label(d, _middle(view.all(seat.in_use.outline.points_mm)), f"{letter} {state}", size=2.8)
    for place in van.places:
        shape = view.all(place.zone.points_mm)
        corner = (min(u for u, _ in shape) + 9.0, min(v for _, v in shape) + 3.0)
        label(d, corner, cut(f"place {place.id}", 34.0, 3.0), size=3.0)
    run = ramp_run_mm(van)
    label(d, view.at(way_in(van).point(-0.5 * run, 0)), "up", size=3.0, near=5.0)


def _letters(alphabet: str) -> Iterator[str]:
    """a to z, then aa, ab and so on."""
    for length in itertools.count(1):
        yield from map("".join, itertools.product(alphabet, repeat=length))


def parts(answer: FitAnswer, van: Van) -> list[str]:
    """What the letters on the plan stand for."""
    seats = [
        f"{letter} {cut(seat.id, 40.0, 3.0)}, {seat_state(answer, seat)}"
        for letter, seat in zip(_letters(string.ascii_uppercase), van.seats, strict=False)
    ]
    solids = [
        f"{letter} {cut(solid.name, 40.0, 3.0)}"
        for letter, solid in zip(_letters(string.ascii_lowercase), van.cabin.solids, strict=False)
    ]
    out = ["Seats: " + "; ".join(seats) + "."] if seats else []
    return out + (["Fixed parts: " + "; ".join(solids) + "."] if solids else [])


def states_shown(answer: FitAnswer, van: Van) -> list[str]:
    """The swatches this plan's key needs."""
    states = {seat_state(answer, seat) for seat in van.seats}
    shown = [f"seat {state}" for state in ("in use", "folded", "out") if state in states]
    shown += ["fixed part"] if van.cabin.solids else []
    shown += ["place", "tie-down anchor"] if van.securement.strap_anchors else ["place"]
    shown += ["docking"] if van.securement.docking else []
    shown += ["way in"] if answer.certificate else []
    pinched = answer.proof is not None and answer.proof.pinch is not None
    return shown + (["no way through"] if pinched and answer.certificate is None else [])


def _says(answer: FitAnswer, rider: Rider) -> str:
    parts = [f"Verdict: {answer.verdict}."]
    if answer.arrangement is not None:
        a = answer.arrangement
        parts.append(f"{rider.name} rides in place {a.place}, entering {a.direction}.")
        parts += [f"Seat {seat}: {state}." for seat, state in a.seats.items()]
    spot = answer.certificate.narrowest if answer.certificate else None
    if spot is not None:
        parts.append(
            f"Narrowest spot: {show_inches(spot.clearance_mm)} between {spot.body} "
            f"and {spot.obstacle}."
        )
    return " ".join(parts)


def _middle(shape: Sequence[Uv]) -> Uv:
    us, vs = [u for u, _ in shape], [v for _, v in shape]
    return ((min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2)
