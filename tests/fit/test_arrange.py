"""One chair in one place: what stands in its way, and which fails hold for the whole place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from shapely import Polygon
from shapely.affinity import rotate, translate

from sillway.fit.arrange import Stand, Ways, failing, meets, stands_of
from sillway.fit.body import Side, body
from sillway.fit.check import Finding
from sillway.fit.drive.scene import Prism, Verdict
from sillway.fit.fit import ask
from sillway.fit.question import Question
from sillway.fit.result import FitAnswer
from sillway.records.read import rider_from, van_from
from zoo import given_riders, given_vans

ON = dt.date(2026, 11, 25)
Fitted = Callable[..., FitAnswer]


def _asked(van: dict[str, Any], rider: dict[str, Any]) -> tuple[Question, list[Stand]]:
    q = ask(van_from(van, "van"), rider_from(rider, "rider"), ON)
    return q, [s for place in q.van.places for s in stands_of(q, q.seated[0], place)]


def test_a_parked_chair_is_its_body_at_its_largest_where_it_stands() -> None:
    q, (stand, *_) = _asked(given_vans()["heron"], given_riders()["hendrick"])
    x, y, turn = stand.pose
    for parked, own in zip(
        stand.parked,
        body(q.basis, q.rider.chair, stand.ride.layers, Side.BAD),
        strict=True,
    ):
        there = translate(rotate(Polygon(own.polygon), turn, (0, 0), use_radians=True), x, y)
        assert Polygon(parked.polygon).symmetric_difference(there).area < 1e-3
        assert parked.z == own.z
        assert "Hendrick Aal" in parked.name


def _box(x: float, z: tuple[float, float]) -> Prism:
    return Prism(((x, 0.0), (x + 10, 0.0), (x + 10, 10.0), (x, 10.0)), z)


@pytest.mark.parametrize(
    ("other", "touch"),
    [
        (_box(5, (0, 5)), True),
        (_box(10, (0, 5)), True),  # side by side is touching
        (_box(10.1, (0, 5)), False),
        (_box(5, (5, 9)), False),  # one over the other
    ],
)
def test_meets(other: Prism, touch: bool) -> None:
    assert meets([_box(0, (0, 5))], [other]) is touch


def test_seats_that_stand_where_the_chair_is_to_stand_are_barred() -> None:
    q, (stand, *_) = _asked(given_vans()["heron"], given_riders()["hendrick"])
    barred = Ways(q).barred(stand)
    assert barred == {("second left", "in use"), ("second right", "in use")}


def test_the_yes_changes_no_seat_that_need_not(fitted: Fitted) -> None:
    """Both second-row seats of the main van are in the place, and fold; nothing else moves."""
    answer = fitted("heron", "hendrick")
    assert answer.arrangement is not None
    assert answer.arrangement.changes() == ("seat second left folded", "seat second right folded")


def test_seats_that_only_come_out_come_out(fitted: Fitted) -> None:
    def unfoldable(van: dict[str, Any]) -> None:
        for seat in van["seats"]:
            if seat.pop("folded", None):
                seat["comes_out"] = True

    answer = fitted("heron", "hendrick", unfoldable)
    assert answer.verdict is Verdict.FITS
    assert answer.arrangement is not None
    assert answer.arrangement.changes() == ("seat second left out", "seat second right out")


def test_seats_that_stay_are_a_close_call_or_a_no(fitted: Fitted) -> None:
    def bolted(van: dict[str, Any]) -> None:
        for seat in van["seats"]:
            seat.pop("folded", None)
            seat["comes_out"] = False

    answer = fitted("heron", "hendrick", bolted)
    assert answer.verdict in (Verdict.CLOSE, Verdict.NO)
    assert answer.certificate is None


def test_a_place_too_small_is_a_no_at_once() -> None:
    van = given_vans()["heron"]
    van["places"][0]["zone"] = {"x": [40, 80], "y": [-12, 12]}
    _, (stand, *_) = _asked(van, given_riders()["hendrick"])
    assert stand.spot.good is None
    assert [c.id for c in stand.fails] == ["place.footprint"]


def test_a_weak_anchor_is_a_no_only_where_no_strap_could_run_flat_enough() -> None:
    """A strap that rises by 45 degrees pulls 1 / cos 45 = 1.41 times what a flat one does."""
    findings = {}
    for rating in (100, 1500, 1900, 5000):
        van = given_vans()["heron"]
        for anchor in van["securement"]["strap_anchors"]:
            anchor["rating"] = f"{rating} lbf"
        _, (stand, *_) = _asked(van, given_riders()["hendrick"])
        check = next(c for c in stand.held if c.id == "place.strap.rating")
        findings[rating] = check.finding
        assert bool(failing(stand.held)) is (check.finding is Finding.FAILS)
    assert findings[100] is Finding.FAILS
    assert findings[5000] is Finding.HOLDS
    order = [Finding.FAILS, Finding.CLOSE, Finding.HOLDS]
    told = [order.index(f) for f in findings.values()]
    assert told == sorted(told)
