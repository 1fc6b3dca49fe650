"""Gross weight, axles by moments, tires by load index."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sillway.fit.aboard import Item
from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.known import Basis, Known, exact
from sillway.fit.load import Axles, axle_load, gross_kg, load_checks, tire_kg
from sillway.records.measure import Way
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.van import Tire, Van

BASIS = Basis(dt.date(2026, 11, 25))
POSE = (1500.0, 0.0, 0.0)


def mm(value: float) -> dict[str, str]:
    return {"value": f"{value} mm", "tolerance": "0 mm"}


def kg(value: float) -> dict[str, str]:
    return {"value": f"{value:f} kg", "tolerance": "0 kg"}


def seat(name: str, row: int, x: list[float], y: list[float], **more: Any) -> dict[str, Any]:
    shape = {"outline": {"x": x, "y": y, "tolerance": "0 mm"}, "top": mm(1100)}
    return {"id": name, "row": row, "side": "left", "mass": kg(20), "in_use": shape, **more}


def van(ratings: dict[str, Any] | None = None, **more: Any) -> Van:
    record: dict[str, Any] = {
        "kind": "van", "units": "metric", "invented": True, "stock_number": "T", "year": 2015,
        "make": "Plain", "model": "Box", "conversion": {"entry": "rear"},
        "ratings": {
            "gvwr": kg(2800), "gawr_front": kg(1400), "gawr_rear": kg(1500),
            "curb_front": kg(1100), "curb_rear": kg(900), "wheelbase": mm(3000),
            "sill_to_rear_axle": mm(900), **(ratings or {}),
        },
        "tires": [
            {"wheel": wheel, "load_index": 100, "passenger_car_tire": True}
            for wheel in ("left front", "right front", "left rear", "right rear")
        ],
        "ramp": {"operation": "manual", "length": mm(1500), "width_at_hinge": mm(860),
                 "rise": mm(240)},
        "door": {"width": mm(900), "height": mm(1400)},
        "cabin": {"floor": {"x": [0, 3600], "y": [-800, 800]}, "height": mm(1450)},
        "seats": [
            seat("driver", 1, [2800, 3400], [100, 700], for_driver=True),
            seat("second", 2, [2000, 2600], [100, 700], comes_out=True),
            seat("third", 3, [100, 600], [100, 700], comes_out=True),
        ],
        "places": [{"id": "P", "kind": "cabin",
                    "zone": {"x": [700, 1900], "y": [-380, 380]}}],
        "outside": {"length": mm(5000), "width": mm(2000), "height": mm(1900)},
        **more,
    }  # fmt: skip
    record["ratings"] = {k: v for k, v in record["ratings"].items() if v is not None}
    return van_from(record)


def rider(rider_kg: float | None = 80, **more: Any) -> Rider:
    return rider_from({
        "kind": "rider", "units": "metric", "invented": True, "name": "T",
        "chair": {
            "drive": "manual", "length": mm(1000), "drive_axle_from_wall": mm(300),
            "layers": [{"name": "all", "bottom": mm(0), "top": mm(1300), "back": mm(0),
                        "front": mm(1000), "width": mm(600)}],
            "mass": kg(20), "mass_centre": {"from_wall": mm(300), "height": mm(600)},
        },
        "body": {} if rider_kg is None else {"mass": kg(rider_kg)},
        **more,
    })  # fmt: skip


def checks(a_van: Van, a_rider: Rider, states: Any = None, walkers: Any = None) -> dict[str, Check]:
    found = load_checks(a_van, a_rider, POSE, states or {}, walkers or {}, BASIS)
    by_id = {c.id: c for c in found}
    assert len(by_id) == len(found)
    return by_id


def margin(check: Check) -> float:
    assert check.margin is not None
    assert check.margin.worst == pytest.approx(check.margin.best)
    return check.margin.worst


@pytest.mark.parametrize(
    ("x", "front", "rear"),
    [(1900.0, 200.0, 400.0), (900.0, 0.0, 600.0), (3900.0, 600.0, 0.0), (0.0, -180.0, 780.0)],
)
def test_a_weight_on_two_supports(x: float, front: float, rear: float) -> None:
    """Reactions of a simple beam, a load P at a: P b / l and P a / l; and of one that overhangs,
    -P a / l and P (l + a) / l (AISC Manual of Steel Construction, beam diagrams and formulas)."""
    axles = Axles(exact("rear", 900.0, "mm"), exact("wheelbase", 3000.0, "mm"))
    item = Item("load", exact("load", 600.0, "kg"), exact("x", x, "mm"))
    nothing = exact("curb", 0.0, "kg")
    for axle, wanted in (("front", front), ("rear", rear)):
        load = axle_load(axle, nothing, [item], axles)
        assert (load.low, load.high) == (pytest.approx(wanted), pytest.approx(wanted))


def test_axles_share_all_of_it() -> None:
    """Front and rear together carry what the van weighs: gross is their sum."""
    who = rider(walkers=[{"name": "D", "mass": kg(75), "drives": True}])
    found = checks(van(), who)
    carried = (1400 - margin(found["load.front"])) + (1500 - margin(found["load.rear"]))
    assert carried == pytest.approx(2800 - margin(found["load.gross"]))
    assert carried == pytest.approx(2000 + 100 + 75)


def test_hand_made_party() -> None:
    """Chair and rider, 100 kg, at 1500: 600 ahead of the rear axle of 3000: one fifth in front.
    Driver, 75 kg, at 3100: 2200 of 3000."""
    who = rider(walkers=[{"name": "D", "mass": kg(75), "drives": True}])
    found = checks(van(), who)
    assert margin(found["load.front"]) == pytest.approx(1400 - 1100 - 20 - 75 * 2200 / 3000)
    assert margin(found["load.rear"]) == pytest.approx(1500 - 900 - 80 - 75 * 800 / 3000)


@pytest.mark.parametrize(("more", "finding"), [(-1, "HOLDS"), (0, "HOLDS"), (1, "FAILS")])
def test_gross_against_the_labels_own_sum(more: float, finding: str) -> None:
    """49 CFR 567.4(g)(3): GVWR 6,050 lb less 4,750 lb unloaded leaves 1,300 lb."""
    lb = 0.45359237
    a_van = van({"gvwr": kg(6050 * lb), "curb_front": kg(2750 * lb), "curb_rear": kg(2000 * lb)})
    five = [{"name": f"{i}", "mass": kg(200 * lb)} for i in range(5)]
    party = rider((300 + more) * lb - 20, walkers=five)
    found = load_checks(a_van, party, POSE, {}, {}, BASIS)
    check = next(c for c in found if c.id == "load.gross")
    assert check.finding is Finding[finding]
    assert check.check_class is CheckClass.RATING


@pytest.mark.parametrize("axle", ["front", "rear"])
@pytest.mark.parametrize(("more", "finding"), [(1, "HOLDS"), (0, "HOLDS"), (-1, "FAILS")])
def test_axle_rating_to_the_kilogram(axle: str, more: float, finding: str) -> None:
    carried = {"front": 1120, "rear": 980}[axle]
    found = checks(van({"gvwr": kg(2250), f"gawr_{axle}": kg(carried + more)}), rider())
    assert found[f"load.{axle}"].finding is Finding[finding]


def test_empty_is_a_yardstick_of_its_own() -> None:
    found = checks(van({"gvwr": kg(2250), "gawr_rear": kg(899)}), rider())
    assert found["load.rear.empty"].finding is Finding.FAILS
    assert found["load.rear.empty"].check_class is CheckClass.YARDSTICK


def test_a_seat_taken_out_lightens_its_axle() -> None:
    """The third seat, 20 kg at x = 350, is 550 behind the rear axle."""
    before, after = checks(van(), rider()), checks(van(), rider(), {"third": "out"})
    gained = margin(after["load.rear"]) - margin(before["load.rear"])
    assert gained == pytest.approx(20 * (1 + 550 / 3000))
    assert margin(after["load.front"]) - margin(before["load.front"]) == pytest.approx(
        -20 * 550 / 3000
    )


@pytest.mark.parametrize(
    ("index", "each"), [(91, 615), (100, 800), (104, 900), (110, 1060), (112, 1120)]
)
def test_load_index_table(index: int, each: float) -> None:
    """Load index table as printed in public charts of the tire trade."""
    plain = Tire(wheel="left rear", load_index=index, passenger_car_tire=False)
    assert tire_kg(plain, "left rear", BASIS).low == each


def test_a_passenger_car_tire_counts_for_less() -> None:
    """49 CFR 571.110 S4.2.2.2: its rating divided by 1.10."""
    tire = Tire(wheel="left rear", load_index=100)
    assert tire_kg(tire, "left rear", BASIS).high == pytest.approx(800 / 1.1)


@pytest.mark.parametrize(("more", "finding"), [(-1, "HOLDS"), (0, "HOLDS"), (1, "FAILS")])
def test_tires_to_the_kilogram(more: float, finding: str) -> None:
    """Two tires of load index 88, 560 kg each: 1120 kg, just the front axle's load."""
    tires = [
        {"wheel": w, "load_index": 88, "passenger_car_tire": False}
        for w in ("left front", "right front")
    ]
    found = checks(van({"curb_front": kg(1100 + more)}, tires=tires), rider())
    assert found["load.tires.front"].finding is Finding[finding]


def test_the_weaker_tire_counts() -> None:
    tires = [
        {"wheel": "left front", "load_index": 110, "passenger_car_tire": False},
        {"wheel": "right front", "load_index": 87, "passenger_car_tire": False},
    ]
    found = checks(van(tires=tires), rider())
    assert margin(found["load.tires.front"]) == pytest.approx(2 * 545 - 1120)


def test_unread_tires_and_axles_never_earn_a_yes() -> None:
    heavy = {"gvwr": kg(3000), "curb_front": None, "curb_rear": None, "gawr_front": None,
             "gawr_rear": None, "curb_total": kg(2700)}  # fmt: skip
    found = checks(van(heavy, tires=[]), rider())
    for check_id in ("load.front", "load.rear", "load.tires.front", "load.tires.rear"):
        assert found[check_id].finding is Finding.CLOSE, check_id
        assert found[check_id].assumed
        assert found[check_id].settle


def test_a_light_van_may_hold_over_the_whole_interval() -> None:
    """An assumed value may carry a yes that holds at both its ends."""
    found = checks(van({"curb_front": None, "curb_rear": None,
                        "curb_total": kg(2000)}), rider())  # fmt: skip
    assert found["load.front"].finding is Finding.HOLDS
    assert found["load.front"].assumed


def test_unweighed_rider_is_an_interval() -> None:
    check = checks(van(), rider(None))["load.gross"]
    assert check.margin is not None
    assert check.margin.best - check.margin.worst == pytest.approx(200 - 15)
    assert check.assumed[0].name == "body.mass"


def test_one_axle_and_the_total_give_the_other() -> None:
    by_axle = checks(van(), rider())
    by_total = checks(van({"curb_rear": None, "curb_total": kg(2000)}), rider())
    assert margin(by_axle["load.rear"]) == pytest.approx(margin(by_total["load.rear"]))


def test_worst_seats_are_told() -> None:
    """Two people on second and third seat: on the rear axle the heavier counts on the third."""
    people = [{"name": "A", "mass": kg(100)}, {"name": "B", "mass": kg(50)}]
    who = rider(walkers=people)
    found = checks(van(), who, walkers={"A": "second", "B": "third"})
    third, second = 1 + 550 / 3000, 1 - 1400 / 3000
    assert margin(found["load.rear"]) == pytest.approx(520 - 100 * second - 50 * third)
    worst = found["load.rear.worst_seats"]
    assert margin(worst) == pytest.approx(520 - 100 * third - 50 * second)
    assert worst.check_class is CheckClass.YARDSTICK


def test_who_is_not_seated_may_sit_anywhere() -> None:
    who = rider(attendant={"mass": kg(60)})
    found = checks(van(), who)["load.rear"]
    assert found.margin is not None
    ends = sorted(520 - 60 * (1 - (x - 900) / 3000) for x in (350, 2300))
    assert (found.margin.worst, found.margin.best) == (
        pytest.approx(ends[0]), pytest.approx(ends[1]),
    )  # fmt: skip


def test_a_driver_whom_nobody_named_still_weighs() -> None:
    found = checks(van(), rider(), walkers={"driver": "driver"})["load.gross"]
    assert found.margin is not None
    assert (found.margin.worst, found.margin.best) == (800 - 100 - 160, 800 - 100 - 45)
    assert [k.name for k in found.assumed] == ["mass of the driver"]


def test_equipment_and_animal_count() -> None:
    who = rider(
        equipment=[{"name": "ventilator", "mass": kg(12)},
                   {"name": "oxygen", "mass": kg(8), "rides": "in the cabin", "x": mm(2000)}],
        service_animal={"mass": kg(30), "length": mm(900), "width": mm(400)},
    )  # fmt: skip
    found = checks(van(), who)
    assert margin(found["load.gross"]) == pytest.approx(800 - 100 - 12 - 8 - 30)


def test_payload_label_is_a_yardstick() -> None:
    found = checks(van({"payload_label": kg(99)}), rider())
    assert found["load.label"].finding is Finding.FAILS
    assert found["load.label"].check_class is CheckClass.YARDSTICK


def test_gross_bound_is_the_gross_check() -> None:
    who = rider(walkers=[{"name": "D", "drives": True}])
    bound = gross_kg(van(), who, {"third": "out"}, BASIS)
    check = checks(van(), who, {"third": "out"})["load.gross"]
    assert check.margin is not None
    assert (2800 - bound.high, 2800 - bound.low) == (check.margin.worst, check.margin.best)
    assert bound.assumed


def interval(low: float, width: float, unit: str) -> Known:
    return Known("k", low, low + width, unit, Way.TAPE, "")


@settings(max_examples=200)
@given(
    curb=st.tuples(st.floats(500, 1500), st.floats(0, 50)),
    loads=st.lists(
        st.tuples(st.floats(0, 300), st.floats(0, 40), st.floats(-500, 4000), st.floats(0, 300)),
        max_size=4,
    ),
    rear=st.tuples(st.floats(500, 1200), st.floats(0, 60)),
    base=st.tuples(st.floats(2600, 3800), st.floats(0, 60)),
    axle=st.sampled_from(["front", "rear"]),
    at=st.lists(st.floats(0, 1), min_size=12, max_size=12),
)  # fmt: skip
def test_the_interval_holds_every_case_within(
    curb: Any, loads: Any, rear: Any, base: Any, axle: str, at: list[float]
) -> None:
    """Any choice of true values inside the intervals loads the axle within the interval told."""
    axles = Axles(interval(*rear, "mm"), interval(*base, "mm"))
    items = [Item("i", interval(a, b, "kg"), interval(c, d, "mm")) for a, b, c, d in loads]
    told = axle_load(axle, interval(*curb, "kg"), items, axles)
    xr, wb = rear[0] + at[0] * rear[1], base[0] + at[1] * base[1]
    true = curb[0] + at[2] * curb[1]
    for i, (a, b, c, d) in enumerate(loads):
        ahead = (c + at[4 + 2 * i] * d - xr) / wb
        true += (a + at[3 + 2 * i] * b) * (ahead if axle == "front" else 1 - ahead)
    assert told.low - 1e-6 <= true <= told.high + 1e-6


@given(more=st.floats(0, 350))
def test_a_heavier_rider_never_turns_a_no_into_a_yes(more: float) -> None:
    """The chair stands between the axles, so more mass loads both."""
    tight = van({"gvwr": kg(2150), "gawr_front": kg(1125), "gawr_rear": kg(1000)})
    before, after = checks(tight, rider(80)), checks(tight, rider(80 + more))
    for check_id, check in before.items():
        if not check_id.endswith(".empty"):
            assert check.margin is not None
            later = after[check_id].margin
            assert later is not None
            assert later.worst <= check.margin.worst + 1e-9
