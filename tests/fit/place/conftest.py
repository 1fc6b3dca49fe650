"""A plain van and rider in exact millimetres and kilograms, changed one measure at a time."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from sillway.fit.known import Basis
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.van import Van

ON = dt.date(2026, 11, 25)


def exact(value: Any, unit: str) -> dict[str, Any]:
    return {"value": f"{value} {unit}", "tolerance": f"0 {unit}"}


def mm(value: float) -> dict[str, Any]:
    return exact(value, "mm")


def kg(value: float) -> dict[str, Any]:
    return exact(value, "kg")


def box(x: list[float], y: list[float]) -> dict[str, Any]:
    return {"x": x, "y": y, "tolerance": "0 mm"}


def layer(
    name: str, bottom: float, top: float, back: float, front: float, width: float
) -> dict[str, Any]:
    return {
        "name": name, "bottom": mm(bottom), "top": mm(top), "back": mm(back), "front": mm(front),
        "width": mm(width),
    }  # fmt: skip


VAN: dict[str, Any] = {
    "kind": "van", "units": "metric", "invented": True, "stock_number": "T-1", "year": 2015,
    "make": "Plain", "model": "Box",
    "conversion": {"entry": "rear"},
    "ratings": {
        "gvwr": kg(2800), "gawr_front": kg(1400), "gawr_rear": kg(1500), "curb_front": kg(1100),
        "curb_rear": kg(900), "wheelbase": mm(3000), "sill_to_rear_axle": mm(900),
    },
    "ramp": {
        "operation": "manual", "length": mm(1500), "width_at_hinge": mm(860), "rise": mm(240),
    },
    "door": {"width": mm(900), "height": mm(1400)},
    "cabin": {
        "floor": box([0, 3000], [-800, 800]), "height": mm(1450),
        "windows": {"low": mm(900), "high": mm(1300)},
    },
    "seats": [
        {"id": "driver", "row": 1, "side": "left", "for_driver": True, "mass": kg(25),
         "in_use": {"outline": box([2200, 2800], [100, 700]), "top": mm(1100)}},
        {"id": "second", "row": 2, "side": "right", "mass": kg(20), "comes_out": True,
         "in_use": {"outline": box([1200, 1700], [-790, -390]), "top": mm(1100)}},
    ],
    "securement": {
        "strap_anchors": [
            {"id": "RL", "x": mm(200), "y": mm(200), "z": mm(0), "rating": exact(22241, "N")},
            {"id": "RR", "x": mm(200), "y": mm(-200), "z": mm(0), "rating": exact(22241, "N")},
            {"id": "FL", "x": mm(1700), "y": mm(350), "z": mm(0), "rating": exact(22241, "N")},
            {"id": "FR", "x": mm(1700), "y": mm(-350), "z": mm(0), "rating": exact(22241, "N")},
        ],
        "belt_anchors": [
            {"id": "LL", "x": mm(600), "y": mm(300), "z": mm(0)},
            {"id": "LR", "x": mm(600), "y": mm(-300), "z": mm(0)},
            {"id": "S", "x": mm(300), "y": mm(600), "z": mm(1250)},
        ],
        "docking": [
            {"id": "D", "x": mm(1000), "y": mm(0), "bracket": "Bolt A", "rated_mass": kg(200)},
        ],
        "sets": [{"name": "set", "straps": 4, "rated_chair_mass": kg(160)}],
    },
    "places": [
        {"id": "P", "kind": "cabin", "zone": box([100, 1900], [-380, 380]),
         "front_anchors": ["FL", "FR"], "rear_anchors": ["RL", "RR"],
         "lap_anchors": ["LL", "LR"], "shoulder_anchor": "S"},
    ],
    "ways_out": [{"name": "tailgate", "opens_by_hand": True},
                 {"name": "side door", "opens_by_hand": True}],
    "outside": {"length": mm(5000), "width": mm(2000), "height": mm(1900)},
}  # fmt: skip
RIDER: dict[str, Any] = {
    "kind": "rider", "units": "metric", "invented": True, "name": "T",
    "chair": {
        "drive": "mid-wheel drive", "length": mm(1100), "drive_axle_from_wall": mm(500),
        "layers": [
            layer("base", 0, 600, 0, 1000, 620),
            layer("feet", 50, 250, 900, 1100, 400),
            layer("head", 1100, 1300, 150, 400, 250),
            layer("torso", 600, 1100, 50, 500, 500),
        ],
        "mass": kg(100), "mass_centre": {"from_wall": mm(500), "height": mm(550)},
        "ground_clearance": mm(80),
        "securement": {
            "built_and_tested_as_vehicle_seat": True, "straps_in_its_test": 4,
            "rear_points": {"from_wall": mm(100), "height": mm(300), "apart": mm(400)},
            "front_points": {"from_wall": mm(900), "height": mm(300), "apart": mm(500)},
        },
    },
    "body": {
        "mass": kg(80), "eye_height": mm(1190), "hip_from_wall": mm(400), "hip_height": mm(600),
        "shoulder_height": mm(1050), "head_front_from_wall": mm(380),
        "head_back_from_wall": mm(180),
    },
}  # fmt: skip

Make = Callable[..., Any]


def changed(record: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """A copy with values set at paths such as ``places.0.zone``; None takes a key out."""
    record = copy.deepcopy(record)
    for path, value in changes.items():
        *way, last = path.split("/")
        node: Any = record
        for step in way:
            node = node[int(step)] if step.isdigit() else node.setdefault(step, {})
        if value is None:
            node.pop(last, None)
        elif isinstance(node, list):
            node[int(last)] = value
        else:
            node[last] = value
    return record


@pytest.fixture(scope="session")
def basis() -> Basis:
    return Basis(ON)


@pytest.fixture(scope="session")
def van() -> Make:
    def make(changes: dict[str, Any] | None = None) -> Van:
        return van_from(changed(VAN, changes or {}))

    return make


@pytest.fixture(scope="session")
def rider() -> Make:
    def make(changes: dict[str, Any] | None = None) -> Rider:
        return rider_from(changed(RIDER, changes or {}))

    return make


@pytest.fixture(scope="session")
def m() -> Any:
    """The little writers of exact measures."""

    class Writers:
        pass

    w: Any = Writers()
    w.mm, w.kg, w.exact, w.box, w.layer = mm, kg, exact, box, layer
    return w
