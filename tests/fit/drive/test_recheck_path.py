"""The re-check accepts what holds and names what does not: each tamper is one changed thing."""

from __future__ import annotations

import copy
import math
from typing import Any

import pytest

from sillway.fit.drive.recheck_path import recheck_path

# A 20 × 10 body about its rear axle drives 50 forwards 5 beside a wall, turns left by a right
# angle, drives back 5.
GOOD: dict[str, Any] = {
    "obstacles": [
        {"polygon": [[-40, -10], [60, -10], [60, -20], [-40, -20]][::-1], "z": [0, 100]},
        {"polygon": [[40, 30], [41, 30], [41, 31], [40, 31]], "z": [200, 300]},
    ],
    "body": [{"polygon": [[0, -5], [20, -5], [20, 5], [0, 5]], "z": [0, 250]}],
    "path": [[0, 0, 0], [50, 0, 0], [50, 0, math.pi / 2], [50, -5, math.pi / 2]],
    "claimed_clearance": 5.0,
}


def changed(**fields: Any) -> dict[str, Any]:
    return copy.deepcopy(GOOD) | fields


def test_a_sound_certificate_has_no_fault() -> None:
    assert recheck_path(GOOD) == []


@pytest.mark.parametrize(
    ("certificate", "says"),
    [
        (changed(claimed_clearance=5.02), "segment 0: clearance is 5.000 mm, claimed 5.020 mm"),
        (changed(path=[[0, 0, 0], [50, 0.01, 0]]), "has to follow the heading"),
        (changed(path=[[0, 0, 0], [50, 0, 1e-3]]), "neither a straight drive nor a turn"),
        (changed(path=[]), "the path is empty"),
        (changed(body=[]), "the body is empty"),
        (changed(path=[[0, 0, math.nan]]), "not finite"),
        (changed(claimed_clearance=math.inf), "not a number"),
        (changed(body=[{"polygon": [[0, 0], [1, 1], [1, 0], [0, 1]], "z": [0, 1]}]), "crosses"),
        (changed(body=[{"polygon": [[0, 0], [1, 0], [1, 1]], "z": [1, 1]}]), "z-range"),
        (changed(arcs={"7": [0, 0]}), "no such segment"),
        ({"path": [[0, 0, 0]]}, "cannot be read"),
        (changed(path=[[0, -3, 0]]), "pose 0: clearance is 2.000 mm"),
    ],
)
def test_a_tampered_certificate_is_refused(certificate: dict[str, Any], says: str) -> None:
    faults = recheck_path(certificate)
    assert any(says in fault for fault in faults), faults


def test_layers_that_only_touch_in_height_do_not_meet() -> None:
    wall = {"polygon": [[10, -1], [12, -1], [12, 1], [10, 1]], "z": [250, 300]}
    assert recheck_path(changed(obstacles=[wall])) == []
    assert recheck_path(changed(obstacles=[wall | {"z": [249, 300]}])) != []


def test_the_turn_is_swept_the_way_it_is_written() -> None:
    """A post at 15 to the left: a quarter turn to the right is free, three quarters left not."""
    post = {"polygon": [[-1, 14], [1, 14], [1, 16], [-1, 16]], "z": [0, 10]}
    right = changed(obstacles=[post], path=[[0, 0, 0], [0, 0, -math.pi / 2]])
    left = changed(obstacles=[post], path=[[0, 0, 0], [0, 0, 1.5 * math.pi]])
    assert recheck_path(right) == []
    assert recheck_path(left) == ["segment 0: clearance is 0.000 mm, claimed 5.000 mm"]


def test_a_turn_that_clips_a_thin_post_between_its_ends_is_seen() -> None:
    """Free at both ends; the front corner's circle has radius sqrt(20² + 5²) = 20.6155."""
    angle = math.pi / 4

    def post_at(r: float) -> dict[str, Any]:
        x, y = r * math.cos(angle), r * math.sin(angle)
        polygon = [[x, y], [x + 0.1, y], [x + 0.1, y + 0.1], [x, y + 0.1]]
        return {"polygon": polygon, "z": [0, 10]}

    path = [[0, 0, 0], [0, 0, math.pi / 2]]
    radius = math.hypot(20, 5)
    near = changed(obstacles=[post_at(radius + 0.9)], path=path, claimed_clearance=0.89)
    assert recheck_path(near) == []
    assert recheck_path(near | {"claimed_clearance": 0.95}) != []
    assert recheck_path(near | {"obstacles": [post_at(radius - 0.5)]}) != []


class TestArcs:
    """A quarter circle of radius 100 to the left about (0, 100)."""

    def arc(self, **fields: Any) -> dict[str, Any]:
        end = [100, 100, math.pi / 2]
        return changed(
            obstacles=[], path=[[0, 0, 0], end], arcs={"0": [0, 100]}, claimed_clearance=5
        ) | copy.deepcopy(fields)

    def test_sound(self) -> None:
        assert recheck_path(self.arc(), min_turn_radius_mm=100) == []

    def test_radius_too_small(self) -> None:
        assert "below 101.0" in recheck_path(self.arc(), min_turn_radius_mm=101)[0]

    def test_centre_off_the_axle(self) -> None:
        assert "axle" in recheck_path(self.arc(arcs={"0": [1, 100]}))[0]

    def test_wrong_end(self) -> None:
        wrong = self.arc(path=[[0, 0, 0], [100, 101, math.pi / 2]])
        assert "does not end" in recheck_path(wrong)[0]

    def test_no_turn_on_the_spot(self) -> None:
        turn = changed(path=[[0, 0, 0], [0, 0, 1]])
        assert "turn on the spot" in recheck_path(turn, min_turn_radius_mm=100)[0]

    def test_clearance_to_the_outer_corner_circle(self) -> None:
        """The front right corner runs on radius sqrt(105² + 20²) = 106.888 about (0, 100)."""
        radius = math.hypot(105, 20)
        x, y = radius * math.sin(0.8), 100 - radius * math.cos(0.8)
        out = (x * 0 + math.sin(0.8), -math.cos(0.8))
        post = [[x + 2 * out[0], y + 2 * out[1]], [x + 9, y - 9], [x + 9, y - 8]]
        near = self.arc(obstacles=[{"polygon": post, "z": [0, 9]}], claimed_clearance=1.99)
        assert recheck_path(near) == []
        assert recheck_path(near | {"claimed_clearance": 2.02}) != []
