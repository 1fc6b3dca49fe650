"""Facts of the trade that the demo lot has to resemble. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sillway import rules
from sillway.records.read import read_van
from sillway.units import N_PER_LBF, Kind, parse

LOT = Path(__file__).resolve().parent.parent / "demo" / "vans"
DAY = dt.date(2026, 11, 25)


def test_a_rear_entry_ramp_tapers_from_about_34_to_about_33_inches() -> None:
    ramp = read_van(LOT / "heron.json").ramp
    assert ramp.width_at_foot is not None
    hinge, foot = (
        rules.number("trade.ramp.rear.hinge", DAY),
        rules.number("trade.ramp.rear.foot", DAY),
    )
    assert ramp.width_at_hinge.value == pytest.approx(hinge, abs=13)
    assert ramp.width_at_foot.value == pytest.approx(foot, abs=13)


def test_a_rear_entry_ramp_is_some_4_inches_wider_than_a_side_entry() -> None:
    rear, side = read_van(LOT / "heron.json"), read_van(LOT / "plover.json")
    assert (rear.conversion.entry, side.conversion.entry) == ("rear", "side")
    less = rear.ramp.width_at_hinge.value - side.ramp.width_at_hinge.value
    assert less == pytest.approx(rules.number("trade.ramp.side.less", DAY), abs=26)


def test_about_21_inches_stand_between_second_row_seats() -> None:
    van = read_van(LOT / "avocet.json")
    second = [s for s in van.seats if s.row == 2]
    left = min(y for s in second if s.side == "left" for _, y in s.in_use.outline.points_mm)
    right = max(y for s in second if s.side == "right" for _, y in s.in_use.outline.points_mm)
    assert left - right == pytest.approx(rules.number("trade.seats.between", DAY), abs=13)


def test_eight_anchors_serve_two_chairs() -> None:
    van = read_van(LOT / "osprey.json")
    used = [a for p in van.places for a in (*p.front_anchors, *p.rear_anchors)]
    assert len(van.places) == 2
    assert len(used) == len(set(used)) == rules.number("trade.anchors.two", DAY)


def test_half_a_gallon_of_milk_weighs_about_19_newtons_on_the_hand() -> None:
    """Half of 8.6 lb (dairy handbook, from memory), as a force by the definitions."""
    half_gallon_n = float(parse("4.3 lbf", Kind.FORCE, "ramp.lift_force"))
    assert half_gallon_n == pytest.approx(4.3 * float(N_PER_LBF))
    assert half_gallon_n == pytest.approx(rules.number("trade.ramp.lift", DAY), abs=0.2)
