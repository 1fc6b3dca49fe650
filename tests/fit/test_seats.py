"""Seat plans and who sits where, against counting by hand and by brute force."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from sillway.fit import seats
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.van import Van
from zoo import given_riders, given_vans


def _van(name: str) -> Van:
    return van_from(given_vans()[name], name)


def _rider(name: str, **change: Any) -> Rider:
    return rider_from(given_riders()[name] | change, name)


@pytest.mark.parametrize("name", ["kestrel", "stork", "heron", "avocet"])
def test_plans_are_all_states_smallest_change_first(name: str) -> None:
    van = _van(name)
    found = [tuple(plan.items()) for plan in seats.plans(van)]
    every = itertools.product(*([(s.id, state) for state in s.states()] for s in van.seats))
    assert sorted(found) == sorted(every)
    assert len(set(found)) == len(found)
    changes = [seats.changed(dict(plan)) for plan in found]
    assert changes == sorted(changes)
    assert changes[0] == 0


def test_barred_states_are_left_out() -> None:
    van = _van("kestrel")
    barred = frozenset({("front passenger", "in use"), ("rear bench", "folded")})
    found = list(seats.plans(van, barred))
    every = [p for p in seats.plans(van) if not barred & set(p.items())]
    assert sorted(map(str, found)) == sorted(map(str, every))
    assert all(p["front passenger"] == "out" for p in found)


def test_a_seat_barred_in_every_state_leaves_no_plan() -> None:
    van = _van("heron")
    assert list(seats.plans(van, frozenset({("driver", "in use")}))) == []


def test_the_driver_is_added_where_nobody_drives() -> None:
    party = seats.walking_party(_rider("hendrick", walkers=[]), rider_drives=False)
    assert [(w.name, w.drives) for w in party] == [(seats.DRIVER, True)]
    assert seats.walking_party(_rider("hendrick", walkers=[]), rider_drives=True) == ()


def test_capacity_by_hand() -> None:
    """Heron has a driver's seat and three others: four walkers of whom one drives just fit."""
    van = _van("heron")
    plan = {seat.id: "in use" for seat in van.seats}
    walkers = [{"name": f"w{i}", "drives": i == 0} for i in range(4)]
    party = seats.walking_party(_rider("hendrick", walkers=walkers), rider_drives=False)
    assert seats.room_for_party(van, plan, party, rider_drives=False) == 0
    folded = plan | {"second left": "folded"}
    assert seats.room_for_party(van, folded, party, rider_drives=False) == -1
    assert seats.seatings(van, folded, party, rider_drives=False) == []
    # Three people on three seats.
    assert len(seats.seatings(van, plan, party, rider_drives=False)) == 6
    assert all(s["w0"] == "driver" for s in seats.seatings(van, plan, party, rider_drives=False))


def test_nobody_else_sits_in_the_drivers_seat() -> None:
    van = _van("heron")
    plan = {seat.id: "in use" for seat in van.seats}
    walkers = [{"name": f"w{i}", "drives": False} for i in range(4)]
    party = seats.walking_party(_rider("hendrick", walkers=walkers), rider_drives=False)
    assert seats.room_for_party(van, plan, party, rider_drives=False) == -1
