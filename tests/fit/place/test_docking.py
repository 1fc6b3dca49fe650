"""A chair held by a docking station."""

from __future__ import annotations

from typing import Any

import pytest

from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.known import Basis
from sillway.fit.place import admissible, held_by, place_checks

DOCKED = {"places/0/docking": "D"}


def docked(rider: Any, m: Any, more: dict[str, Any] | None = None) -> Any:
    return rider(
        {
            "chair/securement/docking_bracket": "bolt  a",
            "chair/securement/pin_from_wall": m.mm(600),
            **(more or {}),
        }
    )


def one(check_id: str, van: Any, rider: Any, basis: Basis) -> Check:
    where = admissible(van, van.places[0], rider.chair, basis, rider.chair.layers)
    found = place_checks(van, van.places[0], rider, where.preferred, basis)
    return next(c for c in found if c.id == check_id)


def test_the_pin_decides_where_the_chair_stands(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    """Station at x = 1000, pin 100 ahead of the axle: the axle stands at 900."""
    there = van(DOCKED)
    chair = docked(rider, m).chair
    where = admissible(there, there.places[0], chair, basis, chair.layers)
    assert held_by(there, there.places[0], chair) == "docking"
    assert where.preferred == (900.0, 0.0, 0.0)
    assert where.bad is not None
    assert where.bad.x == (900.0, 900.0)
    assert where.good is not None
    assert where.good.x[0] < 900.0 < where.good.x[1]


def test_another_bracket_is_held_by_straps(van: Any, rider: Any, m: Any) -> None:
    chair = docked(rider, m, {"chair/securement/docking_bracket": "Bolt B"}).chair
    there = van(DOCKED)
    assert held_by(there, there.places[0], chair) == "straps"


def test_a_wrong_bracket_without_straps_is_a_condition(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    there = van({**DOCKED, "places/0/front_anchors": [], "places/0/rear_anchors": []})
    wrong = docked(rider, m, {"chair/securement/docking_bracket": "Bolt B"})
    check = one("place.docking.bracket", there, wrong, basis)
    assert (check.finding, check.check_class) == (Finding.FAILS, CheckClass.PRACTICE)


@pytest.mark.parametrize(
    ("rated", "finding"),
    [(99, "FAILS"), (100, "CLOSE"), (179, "CLOSE"), (180, "HOLDS"), (181, "HOLDS")],
)
def test_rating_counts_the_rider_or_not(
    rated: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """Chair 100 kg, rider 80 kg: below the chair alone it fails, from both together it holds."""
    there = van({**DOCKED, "securement/docking/0/rated_mass": m.kg(rated)})
    check = one("place.docking.rating", there, docked(rider, m), basis)
    assert check.finding is Finding[finding]


def test_an_unread_rating_is_close(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    there = van({**DOCKED, "securement/docking/0/rated_mass": None})
    assert one("place.docking.rating", there, docked(rider, m), basis).finding is Finding.CLOSE


@pytest.mark.parametrize(("under", "finding"), [(73, "FAILS"), (74, "HOLDS"), (75, "HOLDS")])
def test_height_of_the_station(
    under: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    there = van({**DOCKED, "securement/docking/0/pin_height": m.mm(80)})
    low = docked(rider, m, {"chair/ground_clearance": m.mm(under)})
    assert one("place.docking.height", there, low, basis).finding is Finding[finding]


def test_a_loosely_known_pin_takes_room(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    there = van({**DOCKED, "places/0/zone": m.box([390, 1510], [-380, 380])})
    close = docked(rider, m, {"chair/securement/pin_from_wall": {
        "value": "600 mm", "tolerance": "20 mm"}})  # fmt: skip
    assert one("place.footprint", there, docked(rider, m), basis).finding is Finding.HOLDS
    assert one("place.footprint", there, close, basis).finding is Finding.CLOSE


def test_a_station_out_of_the_place_is_no_place_to_stand(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    there = van({**DOCKED, "places/0/zone": m.box([600, 1900], [-380, 380])})
    chair = docked(rider, m).chair
    where = admissible(there, there.places[0], chair, basis, chair.layers)
    assert where.bad is None
    assert where.good is None
