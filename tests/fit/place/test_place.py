"""The chair's room in its place, belts, clear zones, and who rides beside."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.known import Basis
from sillway.fit.place import admissible, place_checks
from sillway.fit.place.footprint import footprint_check, headroom_check
from sillway.records.rider import Rider
from sillway.records.van import Van

POSE = (1000.0, 0.0, 0.0)
GIVEN = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def all_of(van: Van, rider: Rider, basis: Basis, pose: Any = POSE, **more: Any) -> dict[str, Check]:
    found = place_checks(van, van.places[0], rider, pose, basis, **more)
    by_id = {c.id: c for c in found}
    assert len(by_id) == len(found), "each id once"
    return by_id


def test_a_good_place_holds_throughout(van: Any, rider: Any, basis: Basis) -> None:
    found = all_of(van(), rider(), basis)
    left = {c.id for c in found.values() if c.finding is not Finding.HOLDS}
    assert left == set()


def test_every_check_has_its_source_and_every_condition_its_who(
    van: Any, rider: Any, basis: Basis
) -> None:
    bare = rider({"body": {}, "chair/mass": None, "chair/mass_centre": None,
                  "chair/securement": {}})  # fmt: skip
    empty = van({"securement": {}, "ways_out": [], "cabin/windows": None,
                 "places/0/front_anchors": [], "places/0/rear_anchors": [],
                 "places/0/lap_anchors": [], "places/0/shoulder_anchor": None})  # fmt: skip
    for a_van in (van(), empty):
        for a_rider in (rider(), bare):
            for check in all_of(a_van, a_rider, basis).values():
                assert check.source
                if check.check_class is CheckClass.PRACTICE:
                    assert check.who
                if check.finding is Finding.CLOSE:
                    assert check.settle


@pytest.mark.parametrize(("width", "finding"), [(759, "HOLDS"), (760, "HOLDS"), (761, "FAILS")])
def test_footprint_to_the_millimetre(
    width: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """The zone is 760 wide."""
    wide = rider({"chair/layers/0": m.layer("base", 0, 600, 0, 1000, width)})
    check = all_of(van(), wide, basis)["place.footprint"]
    assert check.finding is Finding[finding]
    assert check.check_class is CheckClass.PHYSICAL


def test_footprint_with_tolerance_is_close(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    base = {**m.layer("base", 0, 600, 0, 1000, 758), "width": {"value": "758 mm", "way": "tape"}}
    check = all_of(van(), rider({"chair/layers/0": base}), basis)["place.footprint"]
    assert check.finding is Finding.CLOSE
    assert check.settle[0].measure == "chair.layers[base].width"


def test_the_floor_bounds_the_place_too(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    """The zone is exact; the floor's edge, 70 from the chair, is known to 80 only."""
    loose = {"x": [0, 3000], "y": [-380, 800], "tolerance": "80 mm"}
    check = all_of(van({"cabin/floor": loose, "seats": []}), rider(), basis)["place.footprint"]
    assert check.finding is Finding.CLOSE
    assert check.settle[0].measure == "cabin.floor"


@pytest.mark.parametrize(("ceiling", "finding"), [(1299, "FAILS"), (1300, "HOLDS"),
                                                  (1301, "HOLDS")])  # fmt: skip
def test_headroom_under_a_low_zone(
    ceiling: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """The head, 1300 high, is from x = 650 to 900 and 125 to either side."""
    low = {"name": "duct", "outline": m.box([890, 1200], [100, 400]), "height": m.mm(ceiling)}
    check = all_of(van({"cabin/ceilings": [low]}), rider(), basis)["place.headroom"]
    assert check.finding is Finding[finding]


def test_a_low_zone_beside_the_head_does_not_count(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    low = {"name": "duct", "outline": m.box([901, 1200], [100, 400]), "height": m.mm(1200)}
    check = all_of(van({"cabin/ceilings": [low]}), rider(), basis)["place.headroom"]
    assert check.finding is Finding.HOLDS


@GIVEN
@given(
    longer=st.floats(0, 900), wider=st.floats(0, 400), taller=st.floats(0, 300),
    heavier=st.floats(0, 200), theta=st.floats(-0.2, 0.2),
)  # fmt: skip
def test_growing_the_chair_never_turns_a_no_into_a_yes(
    longer: float, wider: float, taller: float, heavier: float, theta: float,
    van: Any, rider: Any, m: Any, basis: Basis,
) -> None:  # fmt: skip
    """Physical and rating checks only: an angle may well get better."""
    grown = rider({
        "chair/layers/0": m.layer("base", 0, 600 + taller, 0, 1000 + longer, 620 + wider),
        "chair/length": m.mm(max(1100, 1000 + longer)),
        "chair/layers/2": m.layer("head", 1100, 1300 + taller, 150, 400, 250 + wider),
        "chair/mass": m.kg(100 + heavier),
    })  # fmt: skip
    tight = van({"places/0/zone": m.box([480, 1620], [-330, 330]), "cabin/height": m.mm(1310)})
    pose = (1000.0, 0.0, theta)
    before, after = all_of(tight, rider(), basis, pose), all_of(tight, grown, basis, pose)
    for check_id in ("place.footprint", "place.headroom", "place.strap.rating", "place.strap.set"):
        a, b = before[check_id].margin, after[check_id].margin
        assert a is not None
        assert b is not None
        assert b.worst <= a.worst + 1e-6
        assert b.best <= a.best + 1e-6


L_ZONE = "100 mm, -380 mm; 1900 mm, -380 mm; 1900 mm, 380 mm; 1500 mm, 380 mm; 1300 mm, 345 mm; 100 mm, 345 mm"  # noqa: E501


@GIVEN
@given(
    u=st.floats(0, 1), v=st.floats(0, 1), theta=st.floats(-1, 1), dx=st.floats(-900, 900),
    dy=st.floats(-200, 200), bent=st.booleans(),
)  # fmt: skip
def test_sure_poses_hold_and_all_others_fail(
    u: float, v: float, theta: float, dx: float, dy: float, bent: bool,
    van: Any, rider: Any, m: Any, basis: Basis,
) -> None:  # fmt: skip
    """Every pose of the bad box holds; every pose outside the good box fails for certain."""
    tape = {"places/0/zone": {"corners": L_ZONE}} if bent else {
        "places/0/zone": {"x": [100, 1900], "y": [-380, 380]}}  # fmt: skip
    there, who = van(tape), rider({"chair/layers/0/width": {"value": "640 mm", "way": "tape"}})
    place, layers = there.places[0], who.chair.layers
    where = admissible(there, place, who.chair, basis, layers)
    assert where.bad is not None
    assert where.good is not None
    (x0, x1), (y0, y1) = where.bad.x, where.bad.y
    pose = (x0 + u * (x1 - x0), y0 + v * (y1 - y0), 0.0)
    sure = footprint_check(there, place, who.chair, layers, pose, basis)
    assert sure.finding is Finding.HOLDS
    other = (where.preferred[0] + dx, dy, theta * where.good.theta[1])
    inside = (
        where.good.x[0] <= other[0] <= where.good.x[1]
        and where.good.y[0] <= other[1] <= where.good.y[1]
    )
    if not inside:
        check = footprint_check(there, place, who.chair, layers, other, basis)
        assert check.finding is Finding.FAILS


@pytest.mark.parametrize(("length", "bad", "good"), [(1799, True, True), (1800, True, True),
                                                     (1801, False, False)])  # fmt: skip
def test_where_to_the_millimetre(
    length: float, bad: bool, good: bool, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """The zone is 1800 long and wide enough that turning does not help."""
    chair = rider({"chair/layers/0": m.layer("base", 0, 600, 0, length, 620),
                   "chair/length": m.mm(length)}).chair  # fmt: skip
    there = van()
    where = admissible(there, there.places[0], chair, basis, chair.layers)
    assert ((where.bad is not None), (where.good is not None)) == (bad, good)


def test_preferred_stands_where_all_straps_are_in_their_windows(
    van: Any, rider: Any, basis: Basis
) -> None:
    there, who = van(), rider()
    where = admissible(there, there.places[0], who.chair, basis, who.chair.layers)
    found = all_of(there, who, basis, where.preferred)
    angles = [c for c in found.values() if c.id.endswith(".angle")]
    assert len(angles) == 6
    assert all(c.finding is Finding.HOLDS for c in angles)


@pytest.mark.parametrize(
    ("angle", "finding", "better"),
    [(29, "FAILS", "FAILS"), (30, "HOLDS", "FAILS"), (31, "HOLDS", "FAILS"),
     (44, "HOLDS", "FAILS"), (45, "HOLDS", "HOLDS"), (46, "HOLDS", "HOLDS"),
     (74, "HOLDS", "HOLDS"), (75, "HOLDS", "HOLDS"), (76, "FAILS", "FAILS")],
)  # fmt: skip
def test_lap_belt_windows(
    angle: float, finding: str, better: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """RESNA WC19: 30 to 75 deg, better 45 to 75. The hip is at x = 900, 600 up."""
    x = 900 - 600 / math.tan(math.radians(angle))
    found = all_of(van({"securement/belt_anchors/0/x": m.mm(round(x, 9))}), rider(), basis)
    assert found["place.belt.lap.left.angle"].finding is Finding[finding]
    assert found["place.belt.lap.left.better"].finding is Finding[better]
    assert found["place.belt.lap.left.better"].check_class is CheckClass.YARDSTICK


def test_an_unmeasured_hip_is_a_condition(van: Any, rider: Any, basis: Basis) -> None:
    who = rider({"body/hip_from_wall": None, "body/hip_height": None})
    check = all_of(van(), who, basis)["place.belt.lap.left.angle"]
    assert check.finding is Finding.CLOSE
    assert {k.name for k in check.assumed} == {"body.hip_from_wall", "body.hip_height"}


@pytest.mark.parametrize(("z", "finding"), [(1049, "FAILS"), (1050, "HOLDS"), (1051, "HOLDS")])
def test_shoulder_anchor(
    z: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    found = all_of(van({"securement/belt_anchors/2/z": m.mm(z)}), rider(), basis)
    assert found["place.belt.shoulder"].finding is Finding[finding]


@pytest.mark.parametrize(
    ("x", "shoulder", "finding"),
    [(1529, "S", "FAILS"), (1530, "S", "HOLDS"), (1531, "S", "HOLDS"), (1829, None, "FAILS"),
     (1830, None, "HOLDS"), (1831, None, "HOLDS")],
)  # fmt: skip
def test_clear_zone_ahead(
    x: float, shoulder: str | None, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """SAE J2249 and RESNA WC18: 650 mm ahead of the head, 950 with a lap belt only. The front of
    the head is at x = 880."""
    bar = {"name": "bar", "outline": m.box([x, x + 50], [-300, 300]), "bottom": m.mm(900),
           "top": m.mm(1000)}  # fmt: skip
    found = all_of(
        van({"cabin/solids": [bar], "places/0/shoulder_anchor": shoulder}), rider(), basis
    )
    assert found["place.zone.front"].finding is Finding[finding]


@pytest.mark.parametrize(("x", "finding"), [(229, "HOLDS"), (230, "HOLDS"), (231, "FAILS")])
def test_clear_zone_behind(
    x: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """450 mm behind the head, whose back is at x = 680."""
    bar = {"name": "bar", "outline": m.box([x - 50, x], [-300, 300]), "bottom": m.mm(900),
           "top": m.mm(1000)}  # fmt: skip
    found = all_of(van({"cabin/solids": [bar]}), rider(), basis)
    assert found["place.zone.rear"].finding is Finding[finding]


def test_a_low_bar_is_not_in_the_clear_zone(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    """What ends below the hip is out of the way of head and chest."""
    bar = {"name": "step", "outline": m.box([1200, 1250], [-300, 300]), "top": m.mm(600)}
    found = all_of(van({"cabin/solids": [bar]}), rider(), basis)
    assert found["place.zone.front"].finding is Finding.HOLDS


def test_a_seat_counts_as_it_stands(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    ahead = van({"seats/1/in_use": {"outline": m.box([1200, 1700], [-300, 300]),
                                    "top": m.mm(1100)}})  # fmt: skip
    here = all_of(ahead, rider(), basis)
    out = all_of(ahead, rider(), basis, seat_states={"second": "out"})
    assert here["place.zone.front"].finding is Finding.FAILS
    assert out["place.zone.front"].finding is Finding.HOLDS


@pytest.mark.parametrize(
    ("length", "width", "finding"),
    [(1219, 760, "FAILS"), (1220, 760, "HOLDS"), (1221, 761, "HOLDS"), (1220, 759, "FAILS")],
)
def test_space_yardstick(
    length: float, width: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """49 CFR 38.23(d)(2) and 36 CFR 1192 T602.4: 1220 by 760 mm."""
    zone = m.box([400, 400 + length], [-width / 2, width / 2])
    check = all_of(van({"places/0/zone": zone}), rider(), basis)["place.space"]
    assert check.finding is Finding[finding]
    assert check.check_class is CheckClass.YARDSTICK


@pytest.mark.parametrize(
    ("low", "high", "finding"),
    [(1191, 1300, "FAILS"), (1190, 1300, "HOLDS"), (1189, 1300, "HOLDS"), (900, 1191, "HOLDS"),
     (900, 1190, "HOLDS"), (900, 1189, "FAILS")],
)  # fmt: skip
def test_view(
    low: float, high: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """The eye is 1190 above the floor."""
    band = {"low": m.mm(low), "high": m.mm(high)}
    found = all_of(van({"cabin/windows": band}), rider(), basis)
    assert found["place.view"].finding is Finding[finding]


@pytest.mark.parametrize(("more", "finding"), [(-1, "FAILS"), (0, "HOLDS"), (1, "HOLDS")])
def test_attendant_within_reach(
    more: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """The rider's middle is at x = 780, the seat's at (1450, -590)."""
    reach = math.hypot(1450 - 780, 590) + more
    who = rider({"attendant": {"mass": m.kg(70), "reach": m.mm(round(reach, 6))}})
    check = all_of(van(), who, basis)["place.attendant"]
    assert check.finding is Finding[finding]


def test_a_seat_taken_or_out_is_no_seat_for_the_attendant(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    who = rider({"attendant": {"mass": m.kg(70), "reach": m.mm(2000)}})
    assert all_of(van(), who, basis)["place.attendant"].finding is Finding.HOLDS
    taken = all_of(van(), who, basis, walkers={"Somebody": "second"})
    assert taken["place.attendant"].finding is Finding.FAILS
    out = all_of(van(), who, basis, seat_states={"second": "out"})
    assert out["place.attendant"].finding is Finding.FAILS
    own = all_of(van(), who, basis, walkers={"attendant": "second"})
    assert own["place.attendant"].finding is Finding.HOLDS


@pytest.mark.parametrize(("width", "finding"), [(489, "HOLDS"), (490, "HOLDS"), (491, "FAILS")])
def test_service_animal(
    width: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """Beside the chair (310 to 800) the floor is free for 490 by 1100; shelves close the rest."""
    shelves = [
        {"name": name, "outline": m.box(x, [-800, 800]), "top": m.mm(900)}
        for name, x in (("front shelf", [1600, 3000]), ("rear shelf", [0, 500]))
    ]
    who = rider({"service_animal": {"length": m.mm(900), "width": m.mm(width)}})
    check = all_of(van({"cabin/solids": shelves, "seats": []}), who, basis)["place.animal"]
    assert check.finding is Finding[finding]


@pytest.mark.parametrize(
    ("ways", "finding"),
    [([], "NOT_ASSESSED"), ([True], "FAILS"), ([True, None], "NOT_ASSESSED"),
     ([True, False], "FAILS"), ([True, True], "HOLDS")],
)  # fmt: skip
def test_second_way_out(
    ways: list[bool | None], finding: str, van: Any, rider: Any, basis: Basis
) -> None:
    listed = [{"name": f"way {i}", "opens_by_hand": w} for i, w in enumerate(ways)]
    check = all_of(van({"ways_out": listed}), rider(), basis)["place.way_out"]
    assert check.finding is Finding[finding]


def test_the_drivers_place_answers_room_only(van: Any, rider: Any, basis: Basis) -> None:
    found = all_of(van({"places/0/kind": "driver"}), rider(), basis)
    assert set(found) == {"place.footprint", "place.headroom", "place.driver"}
    assert found["place.driver"].who == "licensed driver-rehabilitation specialist"
    assert found["place.driver"].check_class is CheckClass.PRACTICE


def test_nothing_holds_the_chair(van: Any, rider: Any, basis: Basis) -> None:
    bare = van({"places/0/front_anchors": [], "places/0/rear_anchors": []})
    check = all_of(bare, rider(), basis)["place.held"]
    assert (check.finding, check.check_class) == (Finding.FAILS, CheckClass.PRACTICE)


def test_headroom_needs_no_more_than_the_layers(van: Any, rider: Any, basis: Basis) -> None:
    check = headroom_check(van(), rider().chair, rider().chair.layers, POSE, basis)
    assert check.margin is not None
    assert (check.margin.worst, check.margin.best) == (150.0, 150.0)
