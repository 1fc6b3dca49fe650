"""Scenes as JSON: what is refused and in which words, what is turned, split and moved."""

from __future__ import annotations

import copy
import json
import math
from typing import Any

import pytest
from shapely import Polygon

from sillway.errors import BadInput
from sillway.fit.drive.read import drive_scene, read_scene
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.plane import convex_parts

SQUARE = [[-100, -80], [100, -80], [100, 80], [-100, 80]]
SCENE: dict[str, Any] = {
    "obstacles": [{"polygon": [[400, 100], [500, 100], [500, 300], [400, 300]], "z": [0, 500]}],
    "body": [{"polygon": SQUARE, "z": [0, 1000]}],
    "start": [0, 0, 0],
    "goal": [800, 0, 0],
    "bounds": [[-300, -300], [1200, 300]],
    "tolerance_mm": 5,
}


def changed(**fields: Any) -> dict[str, Any]:
    return copy.deepcopy(SCENE) | fields


def body(polygon: Any, z: Any = (0, 1000)) -> list[dict[str, Any]]:
    return [{"polygon": polygon, "z": list(z)}]


@pytest.mark.parametrize(
    ("scene", "field"),
    [
        (changed(start=[0, 0]), "start"),
        (changed(start=[0, 0, math.nan]), "start"),
        (changed(start=[0, 0, "0"]), "start"),
        (changed(start=[0, 0, True]), "start"),
        (changed(start=None), "start"),
        (changed(goal={"x": [0, 1], "y": [0, 1]}), "goal.theta"),
        (changed(goal={"x": [1, 0], "y": [0, 1], "theta": [0, 1]}), "goal.x"),
        (changed(goal={"x": [0, 1], "y": [0, 1], "theta": [0, 7]}), "goal.theta"),
        (changed(goal={"x": [0, 1], "y": [0, 1], "theta": [0, 1], "w": 1}), "goal.w"),
        (changed(bounds=[[0, 0], [0, 1]]), "bounds"),
        (changed(bounds=[[0, 0]]), "bounds"),
        (changed(bounds=[[0, 0], [math.inf, 1]]), "bounds[1]"),
        (changed(body=[]), "body"),
        (changed(body=body([[0, 0], [1, 0]])), "body[0].polygon"),
        (changed(body=body([[0, 0], [1, 1], [1, 0], [0, 1]])), "body[0].polygon"),
        (changed(body=body([[0, 0], [5, 0], [9, 0]])), "body[0].polygon"),
        (changed(body=body([[0, 0], [1, 0], [1, 10**400]])), "body[0].polygon[2]"),
        (changed(body=body(SQUARE, (5, 5))), "body[0].z"),
        (changed(body=body(SQUARE, (5, 1))), "body[0].z"),
        (changed(body=[{"polygon": SQUARE}]), "body[0].z"),
        (changed(obstacles=[{"z": [0, 1]}]), "obstacles[0].polygon"),
        (changed(obstacles=[7]), "obstacles[0]"),
        (changed(obstacles={}), "obstacles"),
        (changed(tolerance_mm=-1), "tolerance_mm"),
        (changed(tolerance_mm=90), "tolerance_mm"),
        (changed(drive={"kind": "hover"}), "drive.kind"),
        (changed(drive={"kind": "car"}), "drive.min_turn_radius_mm"),
        (changed(drive={"kind": "car", "min_turn_radius_mm": 0}), "drive.min_turn_radius_mm"),
        (changed(drive="spot"), "drive"),
        (changed(speed=3), "speed"),
        ({k: v for k, v in SCENE.items() if k != "goal"}, "goal"),
    ],
)
def test_bad_input_names_its_field_in_one_sentence(scene: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_scene(scene)
    assert caught.value.field == field
    assert "\n" not in str(caught.value)


def test_tolerance_moves_edges_with_mitred_corners() -> None:
    bad, good = read_scene(SCENE)
    assert set(bad.body[0].polygon) == {(-105, -85), (105, -85), (105, 85), (-105, 85)}
    assert set(good.body[0].polygon) == {(-95, -75), (95, -75), (95, 75), (-95, 75)}
    assert bad.obstacles == good.obstacles


def test_without_tolerance_both_ends_are_one_scene() -> None:
    bad, good = read_scene(changed(tolerance_mm=0))
    assert bad is good


def test_a_clockwise_polygon_is_turned_round() -> None:
    assert read_scene(changed(body=body(SQUARE[::-1])))[0] == read_scene(SCENE)[0]


def test_an_outline_that_is_not_convex_is_split_and_covers_the_same() -> None:
    ell = Polygon([(0, 0), (300, 0), (300, 100), (100, 100), (100, 200), (0, 200)])
    parts = [Polygon(p) for p in convex_parts(ell)]
    assert len(parts) == 2
    assert sum(p.area for p in parts) == pytest.approx(ell.area)
    assert all(ell.buffer(1e-6).contains(p) for p in parts)


def test_an_easy_scene_fits_and_its_answer_is_a_certificate() -> None:
    answer = json.loads(json.dumps(drive_scene(SCENE)))
    assert answer["verdict"] == "fits"
    bad, _ = read_scene(SCENE)
    walls = [
        {"polygon": [[-301, -301], [-300, -301], [-300, 301], [-301, 301]], "z": [0, 1000]},
        {"polygon": [[1200, -301], [1201, -301], [1201, 301], [1200, 301]], "z": [0, 1000]},
        {"polygon": [[-301, -301], [1201, -301], [1201, -300], [-301, -300]], "z": [0, 1000]},
        {"polygon": [[-301, 300], [1201, 300], [1201, 301], [-301, 301]], "z": [0, 1000]},
    ]
    certificate = {
        "obstacles": SCENE["obstacles"] + walls,
        "body": [{"polygon": p.polygon, "z": p.z} for p in bad.body],
        "path": answer["path"],
        "claimed_clearance": answer["clearance_mm"],
    }
    assert recheck_path(certificate) == []
    assert answer["path"][0] == [0, 0, 0]
    assert answer["path"][-1] == pytest.approx([800, 0, 0], abs=1e-6)


def test_a_wall_across_is_a_no_with_its_proof() -> None:
    wall = [{"polygon": [[400, -300], [500, -300], [500, 300], [400, 300]], "z": [0, 500]}]
    answer = drive_scene(changed(obstacles=wall))
    assert answer["verdict"] == "does not fit"
    assert answer["proof"]["boxes"] > 0
    json.dumps(answer, allow_nan=False)


def test_a_gap_within_the_tolerance_is_too_close_to_call_and_names_what_to_measure() -> None:
    """A gap of 164: the body is 160 ± 10 across."""
    jambs = [
        {"polygon": [[400, 82], [500, 82], [500, 300], [400, 300]], "z": [0, 500], "name": "left"},
        {"polygon": [[400, -300], [500, -300], [500, -82], [400, -82]], "z": [0, 500]},
    ]
    answer = drive_scene(changed(obstacles=jambs))
    assert answer["verdict"] == "too close to call"
    assert answer["why"] == "tolerance"
    assert {row["of"] for row in answer["settle"]} == {"obstacle", "body"}
    json.dumps(answer, allow_nan=False)
