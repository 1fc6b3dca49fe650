"""Garage, bay and room behind."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.home import home_checks, ramp_run_mm
from sillway.fit.known import Basis
from sillway.records.read import rider_from, van_from

BASIS = Basis(dt.date(2026, 11, 25))
IN = 25.4


def mm(value: float) -> dict[str, str]:
    return {"value": f"{value:f} mm", "tolerance": "0 mm"}


def found(
    entry: str = "rear", home: dict[str, Any] | None = None, height: float = 1900
) -> dict[str, Check]:
    """A ramp of 1300 over a rise of 500 runs 1200; a chair of 1000 stands before its foot."""
    van = van_from({
        "kind": "van", "units": "metric", "invented": True, "stock_number": "T", "year": 2015,
        "make": "Plain", "model": "Box", "conversion": {"entry": entry},
        "ratings": {"gvwr": "2800 kg", "wheelbase": mm(3000), "sill_to_rear_axle": mm(900)},
        "ramp": {"operation": "manual", "length": mm(1300), "width_at_hinge": mm(860),
                 "rise": mm(500)},
        "door": {"width": mm(800), "height": mm(1400),
                 **({} if entry == "rear" else {"centre": mm(1500)})},
        "cabin": {"floor": {"x": [0, 3000], "y": [-800, 800]}, "height": mm(1350)},
        "places": [{"id": "P", "kind": "cabin", "zone": {"x": [700, 1900], "y": [-380, 380]}}],
        "outside": {"length": mm(5000), "width": mm(2000), "height": mm(height)},
    })  # fmt: skip
    rider = rider_from({
        "kind": "rider", "units": "metric", "invented": True, "name": "T",
        "chair": {"drive": "manual", "length": mm(1000), "drive_axle_from_wall": mm(300),
                  "layers": [{"name": "all", "bottom": mm(0), "top": mm(1300), "back": mm(0),
                              "front": mm(1000), "width": mm(600)}]},
        "home": {k: mm(v) for k, v in (home or {}).items()},
    })  # fmt: skip
    checks = home_checks(van, rider, BASIS)
    by_id = {c.id: c for c in checks}
    assert len(by_id) == len(checks)
    # Where the van is kept never decides whether the rider rides in it.
    assert {c.check_class for c in checks} <= {CheckClass.PRACTICE, CheckClass.YARDSTICK}
    assert {c.who for c in checks} == {"buyer"}
    return by_id


@pytest.mark.parametrize(
    ("rise", "length", "run"),
    [(8, 48.66210, 48), (10, 60.82763, 60), (11, 66.91039, 66), (12, 72.99315, 72),
     (12, 144.49913, 144), (9, 37.10795, 36), (11, 88.68484, 88)],
)  # fmt: skip
def test_run_of_a_ramp(rise: float, length: float, run: float) -> None:
    """Ramps of 1:6, 1:12, 1:4 and 1:8, whose run is the rise times that: to 1/10000 in."""
    assert ramp_run_mm(length * IN, rise * IN) / IN == pytest.approx(run, abs=1e-4)


def test_a_ramp_shorter_than_its_rise_has_no_run() -> None:
    assert ramp_run_mm(300.0, 301.0) == 0.0


@pytest.mark.parametrize(
    ("entry", "home", "check_id", "limit"),
    [
        ("rear", "garage_height", "home.garage.height", 1900),
        ("rear", "garage_depth", "home.garage.depth", 5000),
        ("rear", "garage_depth", "home.garage.boarding", 5000 + 1200 + 1000),
        ("rear", "garage_width", "home.garage.width", 2000),
        ("side", "garage_width", "home.garage.boarding", 2000 + 1200 + 1000),
        ("rear", "bay_width", "home.bay", 2000),
        ("side", "bay_width", "home.bay.boarding", 2000 + 1200 + 1000),
        ("rear", "room_behind", "home.behind", 1200 + 1000),
        ("rear", "room_behind", "home.behind.turn", 1200 + 1525),
    ],
)
@pytest.mark.parametrize(("more", "finding"), [(-1, "FAILS"), (0, "HOLDS"), (1, "HOLDS")])
def test_to_the_millimetre(
    entry: str, home: str, check_id: str, limit: float, more: float, finding: str
) -> None:
    assert found(entry, {home: limit + more})[check_id].finding is Finding[finding]


@pytest.mark.parametrize(("aisle", "finding"), [(1199, "FAILS"), (1200, "HOLDS")])
def test_bay_and_aisle_together(aisle: float, finding: str) -> None:
    checks = found("side", {"bay_width": 3000, "aisle_width": aisle})
    assert checks["home.bay.boarding"].finding is Finding[finding]


@pytest.mark.parametrize(("height", "finding"), [(2489, "HOLDS"), (2490, "HOLDS"), (2491, "FAILS")])
def test_public_van_spaces_are_98_in_high(height: float, finding: str) -> None:
    """2010 ADA Standards 502.5: 98 in, 2490 mm."""
    check = found(height=height)["home.park.height"]
    assert check.finding is Finding[finding]
    assert check.check_class is CheckClass.YARDSTICK


def test_public_van_spaces_and_aisles() -> None:
    """2010 ADA Standards 502.2 and 502.3.1: 3350 + 1525 mm, or 2440 + 2440 mm."""
    checks = found("side")
    wide_space, wide_aisle = (checks[f"home.park.{t}"].margin for t in ("wide_space", "wide_aisle"))
    assert wide_space is not None
    assert wide_aisle is not None
    assert wide_space.worst == pytest.approx(3350 + 1525 - 4200)
    assert wide_aisle.worst == pytest.approx(2440 + 2440 - 4200)


def test_nothing_measured_is_said() -> None:
    assert found()["home"].finding is Finding.NOT_ASSESSED
    assert "home" not in found(home={"garage_height": 2100})
