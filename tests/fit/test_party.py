"""Several chairs and those who walk, in one van."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from sillway.fit.check import CheckClass, Finding
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Verdict
from sillway.fit.result import FitAnswer
from sillway.show.json_answer import answer_json, backing_json
from zoo import given_riders

Fitted = Callable[..., FitAnswer]
EDDA, JONAS = "Edda Brandt", "Jonas Brandt"


@pytest.fixture(scope="module")
def couple(fitted: Fitted) -> FitAnswer:
    """The couple in the van with eight anchors."""
    return fitted("osprey", "edda")


def test_the_couple_rides_in_the_van_for_two(couple: FitAnswer) -> None:
    assert couple.verdict is Verdict.FITS
    assert couple.arrangement is not None
    assert {couple.arrangement.place, *couple.arrangement.other_chairs.values()} == {
        "front of cabin", "rear of cabin",
    }  # fmt: skip
    assert couple.arrangement.walkers == {"Malin Brandt": "driver"}


def test_both_certificates_are_rechecked_and_the_later_way_passes_the_earlier_chair(
    couple: FitAnswer,
) -> None:
    """Against the separate checker on shapely (sillway.fit.drive.recheck_path)."""
    backing = backing_json(couple)
    (other,) = backing["others"]
    assert recheck_path(backing) == []
    assert recheck_path(other) == []
    assert other["name"] == JONAS
    first, second = (other, backing) if other["order"] == 1 else (backing, other)
    waiting = {o["name"] for o in second["obstacles"] if o["name"].startswith("chair of")}
    assert waiting == {
        f"chair of {EDDA if second is other else JONAS}, {layer}"
        for layer in ("base", "feet", "knees", "elbows", "shoulders", "head")
    }
    assert not any(o["name"].startswith("chair of") for o in first["obstacles"])
    # Who goes to the front comes in first: one cannot pass the other.
    assert couple.arrangement is not None
    front = EDDA if couple.arrangement.place == "front of cabin" else JONAS
    assert (other["order"] == 1) is (front == JONAS)


def test_the_note_tells_the_order_in_and_out(couple: FitAnswer) -> None:
    assert "comes in first of 2 chairs and goes out second" in couple.check("cabin.way").note
    told = couple.check(f"chair[{JONAS}].cabin.way").note
    assert "comes in second of 2 chairs and goes out first" in told


def test_the_others_checks_stand_under_their_name(couple: FitAnswer) -> None:
    mine = {
        c.id.removeprefix(f"chair[{JONAS}].") for c in couple.checks if c.id.startswith("chair[")
    }
    assert {"ramp.width", "ramp.belly", "place.footprint", "place.strap.rating"} <= mine
    assert not any(
        c.check_class is CheckClass.YARDSTICK for c in couple.checks if c.id.startswith("chair[")
    )
    width = couple.check(f"chair[{JONAS}].ramp.width")
    assert f"other_chairs[{JONAS}].chair.layers[base].width" in {k.name for k in width.used}


def test_the_load_counts_both_where_they_stand(couple: FitAnswer, fitted: Fitted) -> None:
    def alone(rider: dict[str, Any]) -> None:
        del rider["other_chairs"]

    # 345 lb of chair and 190 lb of rider, as the record says. 1 lb = 0.45359237 kg.
    one = fitted("osprey", "edda", None, alone).check("load.gross").margin
    both = couple.check("load.gross").margin
    assert one is not None
    assert both is not None
    mid = (one.worst + one.best) / 2 - (both.worst + both.best) / 2
    assert mid == pytest.approx((345 + 190) * 0.45359237, abs=0.5)
    assert not any("place of" in k.name for k in couple.check("load.rear").used)


def test_either_may_be_the_main_rider(couple: FitAnswer, fitted: Fitted) -> None:
    def swapped(rider: dict[str, Any]) -> None:
        (other,) = rider["other_chairs"]
        rider["other_chairs"] = [
            {"name": rider["name"], "chair": rider["chair"], "body": rider["body"]}
        ]
        rider.update(name=other["name"], chair=other["chair"], body=other["body"])

    other = fitted("osprey", "edda", None, swapped)
    assert other.rider == JONAS
    assert other.verdict is couple.verdict


def test_answer_json_holds_the_others(couple: FitAnswer) -> None:
    told = answer_json(couple)
    assert [o["name"] for o in told["others"]] == [JONAS]
    assert told["arrangement"]["other_chairs"] == {JONAS: told["others"][0]["place"]}


def test_one_place_is_not_enough_for_two(fitted: Fitted) -> None:
    answer = fitted("heron", "edda")
    assert answer.verdict is Verdict.NO
    assert answer.deciding == "place.wished"
    assert "2 chairs" in answer.check("place.wished").needed


def test_more_walkers_than_seats_is_a_no(fitted: Fitted) -> None:
    def family(rider: dict[str, Any]) -> None:
        rider["walkers"] = [{"name": f"w{i}", "drives": i == 0} for i in range(6)]

    answer = fitted("osprey", "edda", None, family)
    assert answer.verdict is Verdict.NO
    assert answer.check("seats.capacity").finding is Finding.FAILS
    assert answer.proof is not None


def test_a_chair_that_alone_cannot_ride_is_a_no_for_the_party(fitted: Fitted) -> None:
    def wide(rider: dict[str, Any]) -> None:
        for layer in rider["other_chairs"][0]["chair"]["layers"]:
            layer["width"] += 14

    answer = fitted("osprey", "edda", None, wide)
    assert answer.verdict is Verdict.NO
    assert answer.proof is not None
    assert any(JONAS in reason for reason in answer.proof.reasons)


def test_anchors_that_two_chairs_share_are_never_a_yes(fitted: Fitted) -> None:
    def shared(van: dict[str, Any]) -> None:
        one, two = van["places"]
        one["rear_anchors"] = two["front_anchors"]

    answer = fitted("osprey", "edda", shared)
    assert answer.verdict in (Verdict.CLOSE, Verdict.NO)
    assert answer.check("place.strap.shared").finding is Finding.CLOSE


def test_a_set_too_few_is_a_condition(fitted: Fitted) -> None:
    def one_set(van: dict[str, Any]) -> None:
        del van["securement"]["sets"][1:]

    answer = fitted("osprey", "edda", one_set)
    assert answer.verdict is Verdict.CONDITIONS
    assert [c.check_id for c in answer.conditions] == ["place.strap.sets"]


def test_a_heavy_companion_overloads_the_van(fitted: Fitted) -> None:
    def heavy(van: dict[str, Any]) -> None:
        van["ratings"]["gvwr"] = "7100 lb"
        van["ratings"]["gawr_front"] = "3900 lb"
        van["ratings"]["gawr_rear"] = "3900 lb"

    def alone(rider: dict[str, Any]) -> None:
        del rider["other_chairs"]

    assert fitted("osprey", "edda", heavy, alone).verdict is not Verdict.NO
    both = fitted("osprey", "edda", heavy)
    assert both.verdict is Verdict.NO
    assert both.deciding.startswith("load.")
    assert both.proof is not None
    assert any("gross" in reason for reason in both.proof.reasons)


def test_the_demo_couple_is_marked_as_invented() -> None:
    assert given_riders()["edda"]["invented"] is True
