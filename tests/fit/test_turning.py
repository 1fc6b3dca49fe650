"""Turning space 304.3.1 of the 2010 ADA Standards, as a yardstick (60 in circle)."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sillway.fit.check import CheckClass, Finding
from sillway.fit.known import Basis
from sillway.fit.turning import free_circle_mm, turning_check
from sillway.records.read import read_van, van_from

LOT = Path(__file__).resolve().parents[2] / "demo" / "vans"
BASIS = Basis(dt.date(2026, 11, 25))


def bare(width_mm: float, length_mm: float = 3000.0):  # type: ignore[no-untyped-def]
    """The main demo van with a bare floor of that size: the circle is as wide as the floor."""
    given = read_van(LOT / "heron.json").model_dump(mode="json")
    half = f"{width_mm / 2} mm"
    given["cabin"]["floor"] = {"x": ["0 mm", f"{length_mm} mm"], "y": [f"-{half}", half]}
    given["cabin"]["solids"], given["cabin"]["ceilings"], given["seats"] = [], [], []
    return van_from(given, "test")


@pytest.mark.parametrize("width_mm", [1400.0, 1500.0, 1524.0, 1600.0])
def test_on_a_bare_floor_the_circle_is_the_narrow_side_within_its_tolerance(
    width_mm: float,
) -> None:
    low, high = free_circle_mm(BASIS, bare(width_mm))
    assert low == pytest.approx(width_mm - 6, abs=2)  # tape: 3 mm an edge
    assert high == pytest.approx(width_mm + 6, abs=4)
    assert low <= width_mm <= high


def test_the_yardstick_holds_above_60_inches_and_fails_below() -> None:
    assert turning_check(BASIS, bare(1540.0)).finding is Finding.HOLDS
    assert turning_check(BASIS, bare(1500.0)).finding is Finding.FAILS
    assert turning_check(BASIS, bare(1525.0)).finding is Finding.CLOSE


def test_it_is_a_yardstick_and_names_its_clause() -> None:
    check = turning_check(BASIS, read_van(LOT / "heron.json"))
    assert check.check_class is CheckClass.YARDSTICK
    assert "304.3.1" in check.source
