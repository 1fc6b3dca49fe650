"""What certify says is held against numbers worked out by hand, and against the re-check."""

from __future__ import annotations

import math

import pytest

from sillway.fit.drive.certificate import LEAST_CLAIM_MM, certify
from sillway.fit.drive.packed import pack
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Point, PoseBox, Prism, Scene


def box(x0: float, y0: float, x1: float, y1: float, name: str = "") -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0, 1000.0), name)


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


BOUNDS: tuple[Point, Point] = ((-2000.0, -2000.0), (2000.0, 2000.0))
# A 100 × 60 body about its middle beside a post whose near face is 12.5 from its side.
SCENE = Scene(
    obstacles=(box(300.0, 42.5, 320.0, 60.0, "post"),),
    body=(box(-50.0, -30.0, 50.0, 30.0, "base"),),
    start=at(0, 0, 0),
    goal=at(600, 0, 0),
    bounds=BOUNDS,
)


def test_a_straight_drive_past_a_post() -> None:
    found = certify(SCENE, pack(SCENE), [(0.0, 0.0, 0.0), (600.0, 0.0, 0.0)])
    assert found is not None
    assert found.claimed_clearance_mm == pytest.approx(12.5, abs=0.03)
    assert found.claimed_clearance_mm <= 12.5
    assert found.narrowest.obstacle_name == "post"
    assert found.narrowest.body_name == "base"
    assert found.narrowest.distance_mm == pytest.approx(12.5, abs=1e-4)
    assert 250 <= found.narrowest.pose[0] <= 370
    assert recheck_path(found.to_json()) == []


def test_a_turn_on_the_spot_by_the_corner_s_circle() -> None:
    """The corners run on radius sqrt(50² + 30²) = 58.31; the post's face is 70 away."""
    scene = Scene(
        (box(-300.0, 70.0, 300.0, 90.0, "rail"),), SCENE.body, SCENE.start, SCENE.goal, BOUNDS
    )
    found = certify(scene, pack(scene), [(0.0, 0.0, 0.0), (0.0, 0.0, math.pi)])
    assert found is not None
    assert found.claimed_clearance_mm == pytest.approx(70 - math.hypot(50, 30), abs=0.03)
    assert found.turning_rad == pytest.approx(math.pi)
    assert recheck_path(found.to_json()) == []


def test_bounds_are_walls_and_appear_in_the_certificate() -> None:
    found = certify(SCENE, pack(SCENE), [(0.0, 0.0, 0.0), (0.0, -1960.0, 0.0)][:1])
    assert found is not None
    near = Scene((), SCENE.body, SCENE.start, SCENE.goal, BOUNDS)
    path = [(0.0, 0.0, -math.pi / 2), (0.0, -1940.0, -math.pi / 2)]
    by_wall = certify(near, pack(near), path)
    assert by_wall is not None
    assert by_wall.claimed_clearance_mm == pytest.approx(10.0, abs=1e-3)
    assert by_wall.narrowest.obstacle_name == "wall y min"
    written = by_wall.to_json()
    assert len(written["obstacles"]) == 4
    assert recheck_path(written) == []
    assert recheck_path(written | {"claimed_clearance": 10.02}) != []


@pytest.mark.parametrize(("spare", "claimed"), [(0.6, True), (LEAST_CLAIM_MM - 0.05, False)])
def test_less_than_half_a_millimetre_is_not_claimed(spare: float, claimed: bool) -> None:
    scene = Scene(
        (box(300.0, 30.0 + spare, 320.0, 60.0),), SCENE.body, SCENE.start, SCENE.goal, BOUNDS
    )
    found = certify(scene, pack(scene), [(0.0, 0.0, 0.0), (600.0, 0.0, 0.0)])
    assert (found is not None) is claimed


def test_poses_that_do_not_join_are_not_certified() -> None:
    """The second pose is a metre aside of where the drive leads."""
    assert certify(SCENE, pack(SCENE), [(0.0, 0.0, 0.0), (100.0, -1000.0, 0.0)]) is None
