"""What cannot be true of a rider, a chair, or how the one sits in the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from sillway.errors import MISSING, BadInput
from sillway.records.ends import ends
from sillway.records.measure import Measure
from sillway.records.rider import Body, Chair, Layer, Posture, Rider

_LOW_PARTS = ("base", "feet", "knees", "seat")


def rider_contradictions(rider: Rider) -> Iterator[BadInput]:
    """All of them, what stands first in the record first."""
    yield from _sitting(rider.chair, rider.body, rider.postures, "")
    if not rider.wishes:
        yield BadInput("wishes", MISSING, "at least one place the rider may ride in")
    yield from _twice((walker.name for walker in rider.walkers), "walkers")
    for i, other in enumerate(rider.other_chairs):
        yield from _sitting(other.chair, other.body, other.postures, f"other_chairs[{i}].")


def _sitting(chair: Chair, body: Body, postures: Sequence[Posture], at: str) -> Iterator[BadInput]:
    yield from _chair(chair, f"{at}chair")
    yield from _stance(chair, f"{at}chair")
    yield from _securement(chair, f"{at}chair.securement")
    yield from _body(chair, body, f"{at}body")
    for i, posture in enumerate(postures):
        yield from _posture(chair, posture, f"{at}postures[{i}]")


def _chair(chair: Chair, at: str) -> Iterator[BadInput]:
    length = ends(chair.length)
    yield from _twice((layer.name for layer in chair.layers), f"{at}.layers")
    for i, layer in enumerate(chair.layers):
        yield from _layer(layer, f"{at}.layers[{i}]")
        front = ends(layer.front)
        if front.low > length.high:
            wanted = f"no more than the chair's length of {length.typed}"
            yield BadInput(f"{at}.layers[{i}].front", front.typed, wanted)
    furthest = max((ends(layer.front) for layer in chair.layers), key=lambda one: one.high)
    if furthest.high < length.low:
        wanted = f"a length that a layer reaches; the longest ends at {furthest.typed}"
        yield BadInput(f"{at}.length", length.typed, wanted)
    yield from _gap(chair.layers, f"{at}.layers")
    yield from _head_low(chair, at)
    axle = ends(chair.drive_axle_from_wall)
    if axle.low > length.high:
        wanted = f"no more than the chair's length of {length.typed}"
        yield BadInput(f"{at}.drive_axle_from_wall", axle.typed, wanted)
    steering = chair.steering
    if chair.drive == "scooter" and steering.kind == "on the spot":
        yield BadInput(f"{at}.steering.kind", steering.kind, "like a car, for a scooter")
    elif steering.kind == "like a car" and steering.smallest_radius is None:
        # Left out, it could only be taken for the best a chair can do.
        wanted = "the radius it turns in, for one that turns like a car"
        yield BadInput(f"{at}.steering.smallest_radius", MISSING, wanted)
    elif steering.kind == "on the spot" and steering.smallest_radius is not None:
        yield BadInput(
            f"{at}.steering.smallest_radius",
            steering.smallest_radius.typed,
            "no radius for a chair that turns on the spot",
        )


def _layer(layer: Layer, at: str) -> Iterator[BadInput]:
    if ends(layer.top).high <= ends(layer.bottom).low:
        wanted = f"more than its bottom, {layer.bottom.typed}"
        yield BadInput(f"{at}.top", layer.top.typed, wanted)
    if ends(layer.front).high <= ends(layer.back).low:
        wanted = f"more than its back, {layer.back.typed}"
        yield BadInput(f"{at}.front", layer.front.typed, wanted)


def _gap(layers: Sequence[Layer], at: str) -> Iterator[BadInput]:
    """A height between two layers at which nothing was measured: it would count as thin air."""
    ordered = sorted(layers, key=lambda layer: layer.bottom.value)
    reached = ends(ordered[0].top)
    for layer in ordered[1:]:
        bottom, top = ends(layer.bottom), ends(layer.top)
        if bottom.low > reached.high:
            given = f"nothing between {reached.typed} and {bottom.typed}"
            yield BadInput(at, given, "layers that leave no height out")
        reached = max(reached, top, key=lambda one: one.high)


def _head_low(chair: Chair, at: str) -> Iterator[BadInput]:
    if chair.drive == "stretcher":
        return
    low = [layer for layer in chair.layers if layer.name.lower() in _LOW_PARTS]
    for i, layer in enumerate(chair.layers):
        if layer.name.lower() != "head":
            continue
        top = ends(layer.top)
        above = next((one for one in low if ends(one.top).low > top.high), None)
        if above is not None:
            wanted = f"a head above the {above.name}, which ends at {above.top.typed}"
            yield BadInput(f"{at}.layers[{i}].top", top.typed, wanted)


def _stance(chair: Chair, at: str) -> Iterator[BadInput]:
    """Wheels within the chair, and the centre of mass between those that carry it."""
    length = ends(chair.length)
    axle = ends(chair.drive_axle_from_wall)
    yield from _twice((contact.name for contact in chair.contacts), f"{at}.contacts")
    for i, contact in enumerate(chair.contacts):
        where = ends(contact.from_wall)
        if where.low > length.high:
            wanted = f"no more than the chair's length of {length.typed}"
            yield BadInput(f"{at}.contacts[{i}].from_wall", where.typed, wanted)
        if contact.kind != "drive wheel":
            continue
        if where.low > axle.high or where.high < axle.low:
            wanted = f"the place of the drive axle, {axle.typed}"
            yield BadInput(f"{at}.contacts[{i}].from_wall", where.typed, wanted)
        if contact.clearance is not None and ends(contact.clearance).low > 0:
            given = contact.clearance.typed
            yield BadInput(f"{at}.contacts[{i}].clearance", given, "0: drive wheels stand")
    carrying = [ends(contact.from_wall) for contact in chair.contacts]
    if chair.mass_centre is not None and len(carrying) > 1:
        centre = ends(chair.mass_centre.from_wall)
        first = min(carrying, key=lambda one: one.low)
        last = max(carrying, key=lambda one: one.high)
        if centre.high < first.low or centre.low > last.high:
            wanted = f"a place between the wheels, {first.typed} and {last.typed}"
            yield BadInput(f"{at}.mass_centre.from_wall", centre.typed, wanted)


def _securement(chair: Chair, at: str) -> Iterator[BadInput]:
    held = chair.securement
    length = ends(chair.length)
    if held.built_and_tested_as_vehicle_seat is False and held.straps_in_its_test is not None:
        given = str(held.straps_in_its_test)
        wanted = "no count of straps for a chair that was not tested"
        yield BadInput(f"{at}.straps_in_its_test", given, wanted)
    for name in ("front_points", "rear_points"):
        points = getattr(held, name)
        if points is not None and ends(points.from_wall).low > length.high:
            wanted = f"no more than the chair's length of {length.typed}"
            yield BadInput(f"{at}.{name}.from_wall", points.from_wall.typed, wanted)
    if held.front_points is not None and held.rear_points is not None:
        front, rear = ends(held.front_points.from_wall), ends(held.rear_points.from_wall)
        if front.high <= rear.low:
            wanted = f"more than that of the rear points, {rear.typed}"
            yield BadInput(f"{at}.front_points.from_wall", front.typed, wanted)
    if held.pin_from_wall is not None and ends(held.pin_from_wall).low > length.high:
        wanted = f"no more than the chair's length of {length.typed}"
        yield BadInput(f"{at}.pin_from_wall", held.pin_from_wall.typed, wanted)


def _body(chair: Chair, body: Body, at: str) -> Iterator[BadInput]:
    highest = max((ends(layer.top) for layer in chair.layers), key=lambda one: one.high)
    for name in ("hip_height", "shoulder_height", "eye_height"):
        measure = getattr(body, name)
        if measure is not None and ends(measure).low > highest.high:
            wanted = f"no more than the top of the highest layer, {highest.typed}"
            yield BadInput(f"{at}.{name}", measure.typed, wanted)
    if chair.drive != "stretcher":
        yield from _order(body.hip_height, body.shoulder_height, f"{at}.shoulder_height", "hip")
        yield from _order(body.shoulder_height, body.eye_height, f"{at}.eye_height", "shoulder")
        yield from _order(body.hip_height, body.eye_height, f"{at}.eye_height", "hip")
    back, front = body.head_back_from_wall, body.head_front_from_wall
    yield from _order(back, front, f"{at}.head_front_from_wall", "back of the head")
    length = ends(chair.length)
    for name in ("hip_from_wall", "head_front_from_wall"):
        measure = getattr(body, name)
        if measure is not None and ends(measure).low > length.high:
            wanted = f"no more than the chair's length of {length.typed}"
            yield BadInput(f"{at}.{name}", measure.typed, wanted)


def _order(
    lower: Measure | None, upper: Measure | None, where: str, word: str
) -> Iterator[BadInput]:
    if lower is not None and upper is not None and ends(upper).high <= ends(lower).low:
        yield BadInput(where, upper.typed, f"more than that of the {word}, {lower.typed}")


def _posture(chair: Chair, posture: Posture, at: str) -> Iterator[BadInput]:
    known = {layer.name for layer in chair.layers}
    yield from _twice((layer.name for layer in posture.layers), f"{at}.layers")
    for i, layer in enumerate(posture.layers):
        if layer.name not in known:
            wanted = "the name of a layer of the chair: " + ", ".join(sorted(known))
            yield BadInput(f"{at}.layers[{i}].name", layer.name, wanted)
        yield from _layer(layer, f"{at}.layers[{i}]")
    for i, name in enumerate(posture.taken_off):
        if name not in known:
            wanted = "the name of a layer of the chair: " + ", ".join(sorted(known))
            yield BadInput(f"{at}.taken_off[{i}]", name, wanted)
    changed = {layer.name: layer for layer in posture.layers}
    left = [changed.get(x.name, x) for x in chair.layers if x.name not in posture.taken_off]
    if left:
        yield from _gap(left, f"{at}.layers")
    else:
        given = ", ".join(posture.taken_off)
        yield BadInput(f"{at}.taken_off", given, "at least one layer that stays")


def _twice(names: Iterator[str], where: str) -> Iterator[BadInput]:
    for name, count in Counter(names).items():
        if count > 1:
            yield BadInput(where, name, "each name once")
