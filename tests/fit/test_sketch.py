"""A rider of whom little is told: ranges around what is, and nothing told is lost."""

import datetime as dt

import pytest

from sillway.errors import BadInput
from sillway.fit.body import common_body, sittings
from sillway.fit.known import Basis
from sillway.fit.sketch import (
    ASKED,
    DRIVES,
    LAYERS,
    assumed,
    dig,
    grow,
    is_sketch,
    tell,
    tell_drive,
    told,
    whole,
)  # fmt: skip
from sillway.records.read import rider_from
from workbench_help import demo

ON = dt.date(2026, 11, 25)
BY_ID = {one.id: one for one in ASKED}


@pytest.mark.parametrize("drive", DRIVES)
def test_every_kind_grows_into_a_record_that_can_be_read(drive):
    rider = rider_from(whole(tell_drive({}, drive, ON), ON))
    assert rider.chair.drive == drive
    assert [layer.name for layer in rider.chair.layers] == list(LAYERS)
    assert rider.chair.length.tolerance > 0


def test_without_a_kind_every_range_spans_all_kinds():
    any_kind = rider_from(whole({}, ON))
    for drive in DRIVES:
        one = rider_from(whole(tell_drive({}, drive, ON), ON))
        for wide, own in (
            (any_kind.chair.length, one.chair.length),
            *zip((la.width for la in any_kind.chair.layers),
                 (la.width for la in one.chair.layers), strict=True),
        ):  # fmt: skip
            assert wide.value - wide.tolerance <= own.value - own.tolerance + 1e-9
            assert wide.value + wide.tolerance >= own.value + own.tolerance - 1e-9


def test_an_answer_stands_as_it_was_said_and_takes_its_range_s_place():
    doc = tell_drive({}, "manual", ON)
    assert told(doc, BY_ID["head"]) is None
    assert assumed(dig(doc, "chair.layers.head.top"))
    doc = tell(doc, BY_ID["head"], {"value": "4' 7-1/4\"", "way": "reported"}, ON)
    assert told(doc, BY_ID["head"]) == {"value": "4' 7-1/4\"", "way": "reported"}
    rider = rider_from(whole(doc, ON))
    assert rider.chair.layers[3].top.value == pytest.approx(1403.35)
    # The shoulders now end where a head of that height begins: rule assumed.head.below.
    shoulders = dig(doc, "chair.layers.elbows.top")
    assert (shoulders["low"], shoulders["high"]) == ("1073 mm", "1193 mm")


def test_the_length_is_told_once_and_stands_in_both_places():
    doc = tell(tell_drive({}, "scooter", ON), BY_ID["length"], "47", ON)
    assert dig(doc, "chair.length") == dig(doc, "chair.layers.feet.front") == "47"


def test_another_kind_keeps_what_was_told():
    doc = tell(tell_drive({}, "scooter", ON), BY_ID["wheels"], "25 1/2", ON)
    assert dig(doc, "chair.steering.kind") == "like a car"
    doc = tell_drive(doc, "manual", ON)
    assert told(doc, BY_ID["wheels"]) == "25 1/2"
    assert rider_from(whole(doc, ON)).chair.steering.kind == "on the spot"


def test_an_answer_taken_back_is_a_range_again():
    doc = tell(tell_drive({}, "manual", ON), BY_ID["wheels"], "25", ON)
    doc = tell(doc, BY_ID["wheels"], None, ON)
    assert told(doc, BY_ID["wheels"]) is None
    assert doc == tell_drive({}, "manual", ON)


@pytest.mark.parametrize("given", ["thirty-ish", "34 furlongs", {"low": "x", "high": "2"}])
def test_what_is_no_measure_is_refused(given):
    with pytest.raises(BadInput):
        tell({}, BY_ID["wheels"], given, ON)
    with pytest.raises(BadInput):
        tell_drive({}, "unicycle", ON)


@pytest.mark.parametrize("place", range(12))
def test_a_record_measured_part_by_part_is_left_as_it_is(place):
    doc = demo("rider", place)
    assert not is_sketch(doc)
    assert grow(doc, ON) == doc
    grown = tell(doc, BY_ID["wheels"], "25", ON)
    assert grown["chair"]["layers"] == doc["chair"]["layers"]
    assert told(tell(doc, BY_ID["rider_mass"], "199 lb", ON), BY_ID["rider_mass"]) == "199 lb"


def test_growing_twice_changes_nothing():
    doc = tell(tell_drive({}, "mid-wheel drive", ON), BY_ID["length"], "44", ON)
    assert grow(doc, ON) == doc


def test_of_the_barest_sketch_something_is_sure_to_be_there():
    """Else a no could be proved of nothing at all."""
    rider = rider_from(whole(tell_drive({}, "mid-wheel drive", ON), ON))
    sat = sittings(rider.chair, rider.postures)
    (speck,) = common_body(Basis(ON), rider.chair, sat)
    assert max(abs(c) for point in speck.polygon for c in point) < 0.01
    assert speck.z[0] < speck.z[1]
