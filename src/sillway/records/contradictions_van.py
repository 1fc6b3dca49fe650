"""What cannot be true of a van."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator

from sillway.errors import BadInput
from sillway.records.ends import NOTHING, Ends, edge_tolerance_mm, ends, newest
from sillway.records.measure import Measure
from sillway.records.outline import Outline
from sillway.records.van import Anchor, Place, Van
from sillway.units import Kind, show_length


def van_contradictions(van: Van) -> Iterator[BadInput]:
    """All of them, what stands first in the record first."""
    yield from _ratings(van)
    yield from _tires(van)
    yield from _ramp(van)
    yield from _outside(van)
    yield from _cabin(van)
    yield from _seats(van)
    yield from _names(van)
    for count, place in enumerate(van.places):
        yield from _place(van, place, f"places[{count}]")


def _mass(measure: Measure) -> Ends:
    return ends(measure, Kind.MASS)


def _ratings(van: Van) -> Iterator[BadInput]:
    given = van.ratings
    gvwr = _mass(given.gvwr)
    for name in ("gawr_front", "gawr_rear", "payload_label", "curb_front", "curb_rear"):
        measure = getattr(given, name)
        if measure is not None and _mass(measure).low > gvwr.high:
            yield BadInput(f"ratings.{name}", measure.typed, f"at most the GVWR of {gvwr.typed}")
    if given.gawr_front is not None and given.gawr_rear is not None:
        both = _mass(given.gawr_front) + _mass(given.gawr_rear)
        share = newest("sanity.van.gawr.share")
        assert isinstance(share, tuple)
        if both.high < share[0] * gvwr.low or both.low > share[1] * gvwr.high:
            wanted = f"axle ratings that go with a GVWR of {gvwr.typed}"
            yield BadInput("ratings.gawr_rear", both.typed, wanted)
    curb = None if given.curb_total is None else _mass(given.curb_total)
    if given.curb_front is not None and given.curb_rear is not None:
        axles = _mass(given.curb_front) + _mass(given.curb_rear)
        if curb is not None and (axles.low > curb.high or axles.high < curb.low):
            wanted = f"the sum of both axles, {axles.typed}"
            yield BadInput("ratings.curb_total", curb.typed, wanted)
        elif axles.low > gvwr.high:
            wanted = f"axle weights whose sum is below the GVWR of {gvwr.typed}"
            yield BadInput("ratings.curb_rear", axles.typed, wanted)
    if curb is not None and curb.low > gvwr.high:
        wanted = f"a curb weight below the GVWR of {gvwr.typed}"
        yield BadInput("ratings.curb_total", curb.typed, wanted)


def _tires(van: Van) -> Iterator[BadInput]:
    yield from _doubled(((f"tires[{i}].wheel", t.wheel) for i, t in enumerate(van.tires)), "wheel")


def _ramp(van: Van) -> Iterator[BadInput]:
    ramp = van.ramp
    length, rise = ends(ramp.length), ends(ramp.rise)
    steepest = newest("sanity.ramp.slope")
    assert isinstance(steepest, tuple)
    if length.high <= rise.low:
        wanted = f"a length above the rise of {rise.typed}"
        yield BadInput("ramp.length", ramp.length.typed, wanted)
    elif rise.low > length.high * math.sin(steepest[1]):
        wanted = (
            f"a length that climbs {rise.typed} at less than {math.degrees(steepest[1]):.0f} deg"
        )
        yield BadInput("ramp.length", ramp.length.typed, wanted)
    if ramp.rise_kneeled is not None:
        kneeled = ends(ramp.rise_kneeled)
        if kneeled.low > rise.high:
            wanted = f"at most the rise of {rise.typed}"
            yield BadInput("ramp.rise_kneeled", kneeled.typed, wanted)
        if not van.conversion.kneels and kneeled.high < rise.low:
            yield BadInput(
                "conversion.kneels", "false", "true, or leave out the lower ramp.rise_kneeled"
            )
    if ramp.spans:
        whole = sum((ends(span) for span in ramp.spans), NOTHING)
        if whole.high < length.low or whole.low > length.high:
            wanted = f"spans that add up to the length of {ramp.length.typed}"
            yield BadInput("ramp.spans", whole.typed, wanted)


def _outside(van: Van) -> Iterator[BadInput]:
    length, width, height = (
        ends(measure) for measure in (van.outside.length, van.outside.width, van.outside.height)
    )
    door_width, door_height = ends(van.door.width), ends(van.door.height)
    rear = van.conversion.entry == "rear"
    along, word = (width, "width") if rear else (length, "length")
    if door_width.low > along.high:
        wanted = f"less than the van's {word} of {along.typed}"
        yield BadInput("door.width", door_width.typed, wanted)
    # The floor stands at least the kneeled rise above the ground.
    lowest = ends(van.ramp.rise_kneeled or van.ramp.rise)
    for field, tall in (("door.height", door_height), ("cabin.height", ends(van.cabin.height))):
        if lowest.low + tall.low > height.high:
            wanted = (
                f"less than the van's height of {height.typed} "
                f"less the floor's height of {lowest.typed}"
            )
            yield BadInput(field, tall.typed, wanted)
    wheelbase = ends(van.ratings.wheelbase)
    if wheelbase.low > length.high:
        wanted = f"less than the van's length of {length.typed}"
        yield BadInput("ratings.wheelbase", wheelbase.typed, wanted)
    if van.door.centre is not None:
        centre = ends(van.door.centre)
        x = [point[0] for point in van.cabin.floor.points_mm]
        edge = edge_tolerance_mm(van.cabin.floor)
        if rear and max(centre.low, -centre.high) > width.high / 2:
            wanted = f"a y within the van's width of {width.typed}"
            yield BadInput("door.centre", centre.typed, wanted)
        if not rear and (centre.low > max(x) + edge or centre.high < min(x) - edge):
            wanted = f"an x within the floor, {show_length(min(x))} to {show_length(max(x))}"
            yield BadInput("door.centre", centre.typed, wanted)


def _cabin(van: Van) -> Iterator[BadInput]:
    floor, edge = van.cabin.floor, edge_tolerance_mm(van.cabin.floor)
    xs, ys = zip(*floor.points_mm, strict=True)
    if abs(min(xs)) > edge:
        given = f"rear edge at x = {show_length(min(xs))}"
        yield BadInput("cabin.floor", given, "corners measured from the rear edge, x = 0 there")
    sizes = (
        (max(xs) - min(xs), "length", van.outside.length),
        (max(ys) - min(ys), "width", van.outside.width),
    )
    for size, word, outside in sizes:
        low, high = _range(f"sanity.floor.{word}")
        given = f"{show_length(size)} {'long' if word == 'length' else 'wide'}"
        if size + 2 * edge < low or size - 2 * edge > high:
            yield BadInput("cabin.floor", given, f"{show_length(low)} to {show_length(high)}")
        elif size - 2 * edge > ends(outside).high:
            wanted = f"less than the van's {word} of {outside.typed}"
            yield BadInput("cabin.floor", given, wanted)
    height = ends(van.cabin.height)
    for i, zone in enumerate(van.cabin.ceilings):
        if ends(zone.height).low > height.high:
            wanted = f"a zone lower than the ceiling of {height.typed}"
            yield BadInput(f"cabin.ceilings[{i}].height", zone.height.typed, wanted)
        yield from _apart(van, zone.outline, f"cabin.ceilings[{i}].outline")
    for i, solid in enumerate(van.cabin.solids):
        yield from upright(solid.bottom, solid.top, f"cabin.solids[{i}].top")
        yield from _apart(van, solid.outline, f"cabin.solids[{i}].outline")
    if van.cabin.windows is not None:
        windows = van.cabin.windows
        yield from upright(windows.low, windows.high, "cabin.windows.high")


def _seats(van: Van) -> Iterator[BadInput]:
    drivers = [seat.id for seat in van.seats if seat.for_driver]
    if len(drivers) > 1:
        yield BadInput("seats", ", ".join(drivers), "one driver's seat")
    for i, seat in enumerate(van.seats):
        for state, shape in (("in_use", seat.in_use), ("folded", seat.folded)):
            if shape is not None:
                where = f"seats[{i}].{state}"
                yield from upright(shape.bottom, shape.top, f"{where}.top")
                yield from _sticking_out(van, shape.outline, f"{where}.outline")


def _names(van: Van) -> Iterator[BadInput]:
    held = van.securement
    groups = {
        "seats": [seat.id for seat in van.seats],
        "securement.strap_anchors": [anchor.id for anchor in held.strap_anchors],
        "securement.belt_anchors": [anchor.id for anchor in held.belt_anchors],
        "securement.docking": [station.id for station in held.docking],
        "places": [place.id for place in van.places],
    }
    for group, ids in groups.items():
        yield from _doubled(((f"{group}[{i}].id", name) for i, name in enumerate(ids)), "id")


def _place(van: Van, place: Place, at: str) -> Iterator[BadInput]:
    yield from _sticking_out(van, place.zone, f"{at}.zone")
    straps = {anchor.id: anchor for anchor in van.securement.strap_anchors}
    belts = {anchor.id: anchor for anchor in van.securement.belt_anchors}
    shoulder = () if place.shoulder_anchor is None else (place.shoulder_anchor,)
    docking = () if place.docking is None else (place.docking,)
    stations = {station.id for station in van.securement.docking}
    wanted_of = (
        ("front_anchors", place.front_anchors, set(straps), "securement.strap_anchors"),
        ("rear_anchors", place.rear_anchors, set(straps), "securement.strap_anchors"),
        ("lap_anchors", place.lap_anchors, set(belts), "securement.belt_anchors"),
        ("shoulder_anchor", shoulder, set(belts), "securement.belt_anchors"),
        ("docking", docking, stations, "securement.docking"),
    )
    missing = False
    for field, names, known, where in wanted_of:
        for name in names:
            if name not in known:
                missing = True
                yield BadInput(f"{at}.{field}", name, f"an id that stands in {where}")
    if not missing and place.front_anchors and place.rear_anchors:
        front = [ends(straps[name].x) for name in place.front_anchors]
        rear = [ends(straps[name].x) for name in place.rear_anchors]
        if max(end.high for end in front) <= min(end.low for end in rear):
            given = ", ".join(place.front_anchors)
            yield BadInput(f"{at}.front_anchors", given, "anchors ahead of the rear ones")
    half_width = ends(van.outside.width).high / 2
    if not missing:
        yield from _beside(place, {**straps, **belts}, half_width, at)


def _beside(
    place: Place, anchors: dict[str, Anchor], half_width_mm: float, at: str
) -> Iterator[BadInput]:
    shoulder = () if place.shoulder_anchor is None else (place.shoulder_anchor,)
    for name in (*place.front_anchors, *place.rear_anchors, *place.lap_anchors, *shoulder):
        y = ends(anchors[name].y)
        if y.low > half_width_mm or y.high < -half_width_mm:
            yield BadInput(at, f"anchor {name} at y = {y.typed}", "anchors inside the van")


def upright(bottom: Measure | None, top: Measure | None, where: str) -> Iterator[BadInput]:
    """A top that is not above its bottom."""
    if bottom is not None and top is not None and ends(top).high <= ends(bottom).low:
        yield BadInput(where, top.typed, f"more than the lower edge, {bottom.typed}")


def _doubled(named: Iterable[tuple[str, str]], word: str) -> Iterator[BadInput]:
    seen: Counter[str] = Counter()
    for where, name in named:
        seen[name] += 1
        if seen[name] == 2:
            yield BadInput(where, name, f"each {word} once")


def _range(rule_id: str) -> tuple[float, float]:
    found = newest(rule_id)
    assert isinstance(found, tuple)
    return found


def _apart(van: Van, outline: Outline, where: str) -> Iterator[BadInput]:
    """An outline that no tolerance brings over the floor."""
    from shapely import Polygon

    slack = edge_tolerance_mm(outline) + edge_tolerance_mm(van.cabin.floor)
    if Polygon(outline.points_mm).distance(Polygon(van.cabin.floor.points_mm)) > slack:
        yield BadInput(where, _extent(outline), "an outline over the floor")


def _sticking_out(van: Van, outline: Outline, where: str) -> Iterator[BadInput]:
    """An outline that sticks out over the edge of the floor by more than the tolerances."""
    from shapely import Point, Polygon

    slack = edge_tolerance_mm(outline) + edge_tolerance_mm(van.cabin.floor)
    floor = Polygon(van.cabin.floor.points_mm)
    beyond = max(floor.distance(Point(point)) for point in outline.points_mm)
    # A corner moves by up to the root of two times its edges' tolerance.
    if beyond > math.sqrt(2) * slack:
        given = f"{show_length(beyond)} beyond the floor"
        yield BadInput(where, given, "an outline inside cabin.floor")


def _extent(outline: Outline) -> str:
    xs, ys = zip(*outline.points_mm, strict=True)
    return f"x {min(xs):.0f} to {max(xs):.0f}, y {min(ys):.0f} to {max(ys):.0f} mm"
