"""What cannot be true is refused; what tolerance allows is not."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import zoo
from sillway import rules
from sillway.records.contradictions import contradictions
from sillway.records.fields import Takes, fields_of
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.sanity import RANGES
from sillway.records.van import Van

HERON, MARIT = zoo.given_vans()["heron"], zoo.given_riders()["marit"]
READ = {"van": van_from, "rider": rider_from}


def told(record: dict[str, Any]) -> str:
    _, error = zoo.outcome(READ[record["kind"]], record)
    return "" if error is None else str(error)


def with_all(record: dict[str, Any], changes: dict[zoo.Steps, object]) -> dict[str, Any]:
    for steps, value in changes.items():
        record = zoo.put(record, steps, value)
    return record


def test_the_demo_contradicts_itself_nowhere() -> None:
    for record in zoo.given_vans().values():
        assert contradictions(van_from(record)) == []
    for record in zoo.given_riders().values():
        assert contradictions(rider_from(record)) == []


VAN_CASES: list[tuple[dict[zoo.Steps, object], str]] = [
    ({("ramp", "length"): 9, ("ramp", "rise"): 10}, "ramp.length"),
    ({("ramp", "length"): 13, ("ramp", "rise"): 10, ("ramp", "spans"): []}, "45 deg"),
    ({("ramp", "rise_kneeled"): 11}, "ramp.rise_kneeled"),
    ({("ramp", "rise_kneeled"): 8}, "conversion.kneels"),
    ({("ramp", "spans"): [28, 28]}, "ramp.spans"),
    ({("ratings", "curb_front"): "3200 lb", ("ratings", "curb_rear"): "3000 lb"}, "GVWR"),
    ({("ratings", "curb_total"): "7000 lb"}, "ratings.curb_total"),
    ({("ratings", "curb_total"): "5000 lb"}, "sum of both axles"),
    ({("ratings", "gawr_front"): "7000 lb"}, "ratings.gawr_front"),
    ({("ratings", "gawr_rear"): "1000 lb"}, "ratings.gawr_rear"),
    ({("ratings", "payload_label"): "6500 lb"}, "ratings.payload_label"),
    ({("ratings", "wheelbase"): "210 in"}, "ratings.wheelbase"),
    ({("door", "width"): 85}, "door.width"),
    ({("door", "height"): 68}, "door.height"),
    ({("cabin", "height"): 68}, "cabin.height"),
    ({("door", "centre"): 45}, "door.centre"),
    ({("cabin", "floor"): {"x": [0, 116], "y": [-42, 42]}}, "cabin.floor"),
    ({("cabin", "floor"): {"x": [5, 116], "y": [-29.5, 29.5]}}, "rear edge"),
    ({("seats", 1, "in_use", "outline"): {"x": [84, 110], "y": [-40, -20]}}, "beyond the floor"),
    ({("seats", 1, "in_use", "top"): 0, ("seats", 1, "in_use", "bottom"): 2}, "in_use.top"),
    ({("seats", 1, "id"): "driver"}, "each id once"),
    ({("seats", 1, "for_driver"): True}, "one driver's seat"),
    ({("tires", 1, "wheel"): "left front"}, "each wheel once"),
    ({("places", 0, "zone"): {"x": [25, 130], "y": [-15, 15]}}, "places[0].zone"),
    ({("places", 0, "rear_anchors"): ["R1", "R9"]}, "places[0].rear_anchors"),
    ({("places", 0, "lap_anchors"): ["R1"]}, "securement.belt_anchors"),
    ({("places", 0, "docking"): "D"}, "securement.docking"),
    ({("places", 0, "rear_anchors"): ["F1"], ("places", 0, "front_anchors"): ["R1"]}, "ahead of"),
    ({("securement", "strap_anchors", 0, "y"): 44}, "inside the van"),
    ({("cabin", "solids", 0, "outline"): {"x": [16, 44], "y": [40, 50]}}, "over the floor"),
    ({("cabin", "ceilings", 0, "height"): 60}, "cabin.ceilings[0].height"),
    ({("cabin", "windows", "high"): 30}, "cabin.windows.high"),
    ({("outside", "length"): "40 ft"}, "outside.length"),
    ({("ramp", "length"): {"value": 57, "tolerance": "20 in"}}, "a tolerance of"),
]  # fmt: skip
LAYER = ("chair", "layers")
RIDER_CASES: list[tuple[dict[zoo.Steps, object], str]] = [
    ({("chair", "length"): "9 m"}, "chair.length"),
    ({("chair", "length"): 40}, "no more than the chair's length"),
    ({("chair", "length"): 52}, "a layer reaches"),
    ({(*LAYER, 5, "top"): 10, (*LAYER, 5, "bottom"): 5}, "a head above"),
    ({(*LAYER, 5, "top"): 40}, "chair.layers[5].top"),
    ({(*LAYER, 1, "front"): 20}, "chair.layers[1].front"),
    ({(*LAYER, 5, "bottom"): 46}, "leave no height out"),
    ({(*LAYER, 4, "name"): "head"}, "each name once"),
    ({("chair", "drive_axle_from_wall"): 50}, "chair.drive_axle_from_wall"),
    ({("chair", "contacts", 0, "from_wall"): 12}, "the place of the drive axle"),
    ({("chair", "contacts", 2, "from_wall"): 60}, "chair.contacts[2].from_wall"),
    ({("chair", "contacts", 0, "clearance"): 2}, "drive wheels stand"),
    ({("chair", "mass_centre", "from_wall"): 38}, "between the wheels"),
    ({("chair", "drive"): "scooter"}, "like a car"),
    ({("chair", "steering", "smallest_radius"): 30}, "on the spot"),
    ({("chair", "steering", "kind"): "like a car"}, "the radius it turns in"),
    ({("chair", "securement", "front_points", "from_wall"): 6}, "rear points"),
    ({("chair", "securement", "built_and_tested_as_vehicle_seat"): False}, "not tested"),
    ({("chair", "securement", "pin_from_wall"): 60}, "pin_from_wall"),
    ({("body", "eye_height"): 53}, "body.eye_height"),
    ({("body", "shoulder_height"): 22}, "body.shoulder_height"),
    ({("body", "head_front_from_wall"): 4}, "back of the head"),
    ({("body", "hip_from_wall"): 50}, "body.hip_from_wall"),
    ({("postures", 0, "layers", 0, "name"): "hat"}, "postures[0].layers[0].name"),
    ({("postures", 0, "taken_off"): ["hat"]}, "postures[0].taken_off[0]"),
    ({("wishes",): []}, "wishes"),
    ({("walkers",): [{"name": "A"}, {"name": "A"}]}, "each name once"),
]


@pytest.mark.parametrize(("changes", "tells"), VAN_CASES)
def test_a_van_that_contradicts_itself(changes: dict[zoo.Steps, object], tells: str) -> None:
    assert tells in told(with_all(HERON, changes))


@pytest.mark.parametrize(("changes", "tells"), RIDER_CASES)
def test_a_rider_that_contradicts_itself(changes: dict[zoo.Steps, object], tells: str) -> None:
    assert tells in told(with_all(MARIT, changes))


def test_a_record_of_the_least_that_is_required_is_no_contradiction() -> None:
    for record, model in ((HERON, Van), (MARIT, Rider)):
        needed = {name for name, field in model.model_fields.items() if field.is_required()}
        least = {key: value for key, value in record.items() if key in needed | {"kind"}}
        if model is Van:
            least["places"] = [{k: HERON["places"][0][k] for k in ("id", "kind", "zone")}]
            least["tires"] = [{"wheel": "left front"}]
        assert told(least) == ""


def test_another_chair_of_the_party_is_looked_at_too() -> None:
    other = {"name": "Second", "chair": zoo.put(MARIT["chair"], ("length",), 40)}
    assert "other_chairs[0].chair" in told(zoo.put(MARIT, ("other_chairs",), [other]))


# Tape may be 3 mm off, 1/8 in is 3.2 mm: within both tolerances it is let pass, beyond refused.
@pytest.mark.parametrize(
    ("steps", "fine", "refused"),
    [
        # spans 28 1/2 + 28 1/2, three measures of 3 mm each: 9 mm = 0.354 in
        (("ramp", "length"), 57.35, 57.36),
        # the floor's 29 1/2 in, two outlines of 3 mm each, corners by the root of two: 0.334 in
        (("places", 0, "zone"), {"x": [25, 83], "y": [-15.5, 29.83]},
         {"x": [25, 83], "y": [-15.5, 29.84]}),
        # lower than the ceiling of 57 1/2 in, two measures of 3 mm: 0.236 in
        (("cabin", "ceilings", 0, "height"), 57.73, 57.74),
    ],
)  # fmt: skip
def test_what_tolerance_allows_is_let_pass(steps: zoo.Steps, fine: object, refused: object) -> None:
    assert told(zoo.put(HERON, steps, fine)) == ""
    assert told(zoo.put(HERON, steps, refused)) != ""


@settings(max_examples=60, deadline=None)
@given(length=st.integers(200, 600), rise=st.integers(200, 600))
def test_a_ramp_is_refused_exactly_when_too_short_at_its_best(length: int, rise: int) -> None:
    tape_mm = 3.0
    record = with_all(
        zoo.without(HERON, ("ramp", "spans")),
        {("ramp", "length"): f"{length} mm", ("ramp", "rise"): f"{rise} mm"},
    )
    # A ramp of 45 degrees rises by its length over the root of two.
    possible = rise - tape_mm <= (length + tape_mm) / 2**0.5
    assert ("ramp.length" in told(record)) == (not possible)


def test_every_measure_has_a_range_and_every_range_a_rule() -> None:
    measured = {
        f"{field.part}.{field.name}"
        for model in (Van, Rider)
        for field in fields_of(model)
        if field.takes is Takes.MEASURE
    }
    assert measured <= set(RANGES)
    assert set(RANGES) - measured == {"Tire.load_index"}
    for rule_id in set(RANGES.values()):
        assert rules.values_of(rule_id)[-1].kind == "sanity"
        assert isinstance(rules.values_of(rule_id)[-1].si(), tuple)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_size_far_beyond_its_range_is_refused(data: st.DataObject) -> None:
    record = data.draw(st.sampled_from([HERON, MARIT]))
    model = Van if record["kind"] == "van" else Rider
    paths = {
        steps
        for steps in zoo.places_in(record)
        for field in fields_of(model)
        if field.takes is Takes.MEASURE
        and field.measures in ("length", "mass")
        and re.fullmatch(field.path.replace(".", r"\.").replace("*", r"\d+"), _path(steps))
    }
    steps = data.draw(st.sampled_from(sorted(paths, key=str)))
    kind = next(f.measures for f in fields_of(model) if f.path == re.sub(r"\d+", "*", _path(steps)))
    value = "900 ft" if kind == "length" else "90000 kg"
    assert "something from" in told(zoo.put(record, steps, value))


def _path(steps: zoo.Steps) -> str:
    return ".".join(map(str, steps))
