"""Room in an outline against shapely's own predicates."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import rotate, translate

from sillway.fit.place.room import free_for, growth, standing_room, upright

ELL = Polygon([(0, 0), (1000, 0), (1000, 400), (450, 500), (450, 1100), (0, 1100)])


def stands(half: tuple[float, float], pose: tuple[float, float, float]) -> Any:
    turned = rotate(box(-half[0], -half[1], half[0], half[1]), pose[2], (0, 0), use_radians=True)
    return translate(turned, pose[0], pose[1])


@settings(max_examples=300)
@given(
    x=st.floats(0, 1000), y=st.floats(0, 1100), theta=st.floats(-math.pi, math.pi),
    a=st.floats(20, 300), b=st.floats(20, 300),
)  # fmt: skip
def test_growth_is_where_shapely_says_it_leaves(
    x: float, y: float, theta: float, a: float, b: float
) -> None:
    """Grown a little less it is covered, a little more it is not (shapely's ``covers``)."""
    pose = (x, y, theta)
    room = growth(((-a, -b), (a, -b), (a, b), (-a, b)), pose, ELL)
    if room > -min(a, b) + 1.0:
        assert ELL.covers(stands((a + room - 1e-3, b + room - 1e-3), pose))
        assert not ELL.covers(stands((a + room + 1e-3, b + room + 1e-3), pose))
    else:
        assert not ELL.covers(stands((a, b), pose))


@pytest.mark.parametrize(("x1", "room"), [(19, -1), (20, 0), (21, 1)])
def test_flat_room_to_the_millimetre(x1: float, room: float) -> None:
    rectangle = ((0, 0), (20, 0), (20, 10), (0, 10))
    assert growth(rectangle, (0.0, 0.0, 0.0), box(-5, -5, x1, 15)) == room


def test_flat_and_general_room_agree() -> None:
    rectangle = ((-30, -20), (50, -20), (50, 20), (-30, 20))
    zone = box(-100, -60, 120, 70)
    flat = growth(rectangle, (10.0, 5.0, 0.0), zone)
    assert flat == pytest.approx(growth(rectangle, (10.0, 5.0, 1e-12), zone), abs=1e-6)


@settings(max_examples=100)
@given(x=st.floats(-100, 1100), y=st.floats(-100, 1200))
def test_standing_room_is_where_all_rectangles_are_inside(x: float, y: float) -> None:
    one = ((-50.0, -40.0), (150.0, -40.0), (150.0, 40.0), (-50.0, 40.0))
    two = ((-20.0, -90.0), (60.0, -90.0), (60.0, 90.0), (-20.0, 90.0))
    room = standing_room([one, two], ELL)
    inside = all(ELL.covers(translate(Polygon(r), x, y)) for r in (one, two))
    distance = room.boundary.distance(Polygon([(x, y), (x, y), (x, y)]).centroid)
    if distance > 1e-6:
        assert room.covers(translate(box(-1e-9, -1e-9, 1e-9, 1e-9), x, y)) == inside


@pytest.mark.parametrize(("width", "found"), [(399.0, True), (401.0, True), (449.0, True),
                                              (451.0, False)])  # fmt: skip
def test_a_rectangle_is_found_either_way_round(width: float, found: bool) -> None:
    """The upright arm of the outline is 450 wide, the level arm at most 500 at its root."""
    assert free_for((width, 900.0), ELL) is found
    assert free_for((900.0, width), ELL) is found


def test_upright_knows_a_rectangle() -> None:
    assert upright(box(0, 0, 3, 2)) == (0, 0, 3, 2)
    assert upright(ELL) is None
    assert upright(rotate(box(0, 0, 3, 2), 10)) is None
