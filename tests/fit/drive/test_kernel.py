"""Distances against shapely; swept bounds against dense samples and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from closed_forms import at, box, chair_box, round_room, solid
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon
from shapely.affinity import rotate, translate

from sillway.errors import BadInput
from sillway.fit.drive.kernel import (
    TIGHT_MM,
    pose_clearance,
    straight,
    turn,
    turned,
)
from sillway.fit.drive.packed import pack
from sillway.fit.drive.scene import Car, Pose, Prism, Scene

FAR = ((-9000.0, -9000.0), (9000.0, 9000.0))
HERE = at(0, 0, 0)
coordinate = st.integers(-8000, 8000).map(lambda v: v / 10)
angle = st.integers(-6283, 6283).map(lambda v: v / 1000)


@st.composite
def polygons(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """A convex polygon of some area about the origin."""
    points = draw(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=8))
    hull = MultiPoint(points).convex_hull
    if hull.area < 100:
        return box(-50, -30, 70, 20)
    return tuple(hull.exterior.coords[:-1])


def scene(
    body: tuple[tuple[float, float], ...], *obstacles: tuple[tuple[float, float], ...]
) -> Scene:
    return Scene(tuple(solid(p) for p in obstacles), (solid(body),), HERE, HERE, FAR)


def placed(polygon: tuple[tuple[float, float], ...], pose: Pose) -> Polygon:
    turned_shape = rotate(Polygon(polygon), pose[2], origin=(0, 0), use_radians=True)
    return translate(turned_shape, pose[0], pose[1])


@given(polygons(), polygons(), coordinate, coordinate, angle)
@settings(max_examples=300, deadline=None)
def test_distance_is_that_of_shapely(body, other, x, y, theta):
    """External check: shapely's distance of the same polygons."""
    moved = tuple((px + 900, py - 200) for px, py in other)
    told, _ = pose_clearance(pack(scene(body, moved)), (x, y, theta))
    shape, obstacle = placed(body, (x, y, theta)), Polygon(moved)
    apart = shape.distance(obstacle)
    if apart > 0:
        assert told == pytest.approx(apart, abs=1e-4)
    else:
        # Overlapping: the least translation that parts them.
        assert told <= 1e-9
        depth = -told
        angles = np.linspace(0, 2 * math.pi, 17)[:-1]
        for a in angles:
            nudged = translate(shape, 0.99 * depth * math.cos(a), 0.99 * depth * math.sin(a))
            assert depth < 1e-3 or nudged.intersects(obstacle)


def test_penetration_of_two_boxes():
    packed = pack(scene(box(-100, -100, 100, 100), box(70, -500, 900, 500)))
    told, pair = pose_clearance(packed, (0, 0, 0))
    assert told == pytest.approx(-30, abs=1e-4)
    assert packed.pairs[pair].tolist() == [0, 2]


def test_corner_to_corner_is_exact():
    # A separating axis alone would say 40 for two corners 30 and 40 apart.
    packed = pack(scene(box(-100, -100, 100, 100), box(130, 140, 900, 900)))
    assert pose_clearance(packed, (0, 0, 0))[0] == pytest.approx(50, abs=1e-4)


def test_the_walls_are_the_bounds():
    told, pair = pose_clearance(pack(scene(box(-100, -50, 200, 50))), (8700, 0, 0))
    assert told == pytest.approx(100, abs=1e-3)
    assert pair == 1


def test_clearance_stops_at_enough():
    packed = pack(scene(box(-100, -100, 100, 100), box(1000, -500, 1900, 500)))
    assert pose_clearance(packed, (0, 0, 0), enough=20.0) == (20.0, -1)


def motions(packed, pose, length, dtheta, centre, count=300):
    for t in np.linspace(0, 1, count):
        if length is not None:
            x, y, theta = pose
            yield (x + t * length * math.cos(theta), y + t * length * math.sin(theta), theta)
        else:
            yield turned(pose, t * dtheta, centre)


@given(
    polygons(),
    polygons(),
    coordinate,
    coordinate,
    angle,
    st.one_of(
        st.floats(-1500, 1500).map(lambda v: (v, None, None)),
        st.floats(-6.2, 6.2).map(lambda v: (None, v, None)),
        st.tuples(st.none(), st.floats(-2, 2), st.floats(-3000, 3000)),
    ),
)
@settings(max_examples=200, deadline=None)
def test_a_swept_bound_is_below_every_sample_and_tight(body, other, x, y, theta, motion):
    moved = tuple((px + 1500, py + 300) for px, py in other)
    packed = pack(scene(body, moved))
    pose = (x, y, theta)
    length, dtheta, radius = motion
    if length is not None:
        centre = (0.0, 0.0)
        told = straight(packed, pose, length)
    else:
        # On the axle line: the body's origin for a turn on the spot.
        r = radius or 0.0
        centre = (x - r * math.sin(theta), y + r * math.cos(theta))
        told = turn(packed, pose, dtheta, centre)
    seen = [pose_clearance(packed, p)[0] for p in motions(packed, pose, length, dtheta, centre)]
    if told < 0:
        # Says that it collides: between two samples the body moves by less than this.
        travel = abs(length) if length is not None else abs(dtheta) * (4000 + abs(radius or 0))
        assert min(seen) < travel / 300
    else:
        assert told <= min(seen) + 1e-9
        travel = abs(length) if length is not None else abs(dtheta) * (4000 + abs(radius or 0))
        assert told >= min(seen) - travel / 300 - TIGHT_MM - 1e-3


@pytest.mark.parametrize("axle", [0.1, 0.25, 0.5])
def test_a_turn_on_the_spot_clears_by_the_closed_form(axle):
    """Closed form: turning about an axle at p from the rear, radius hypot(L - p, w / 2)."""
    length, width, sides = 1219.2, 762.0, 48
    radius = math.hypot(length * (1 - axle), width / 2)
    room = radius + 30.0
    packed = pack(round_room(room, chair_box(length, width, axle), sides, False, HERE, HERE))
    told = turn(packed, (0, 0, 0), 2 * math.pi, (0, 0))
    assert 30 - TIGHT_MM - 1e-3 <= told <= 30


def test_least_ends_the_work_and_enough_caps():
    packed = pack(scene(box(-100, -100, 100, 100), box(130, -500, 900, 500)))
    assert straight(packed, (0, 0, 0), 100) < 0
    assert straight(packed, (0, 0, math.pi / 2), 300, enough=12.5) == pytest.approx(12.5)
    assert straight(packed, (0, 0, math.pi / 2), 300) == pytest.approx(30, abs=TIGHT_MM + 1e-3)


def test_layers_meet_only_where_they_overlap_in_height():
    low = Prism(box(200, -500, 900, 500), (0, 100))
    high = Prism(box(300, -500, 900, 500), (100, 900))
    body = (Prism(box(-100, -100, 100, 100), (100, 500)),)
    told, _ = pose_clearance(pack(Scene((low, high), body, HERE, HERE, FAR)), (0, 0, 0))
    assert told == pytest.approx(200, abs=1e-4)


def test_a_layer_within_another_is_not_looked_at_twice():
    body = (solid(box(-100, -100, 100, 100)), solid(box(-90, -90, 90, 90)))
    packed = pack(Scene((solid(box(200, -500, 900, 500)),), body, HERE, HERE, FAR))
    assert len(packed.pairs) == 4 + 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"body": ()}, "body"),
        ({"bounds": ((0, 0), (0, 1))}, "bounds"),
        ({"body": (Prism(box(0, 0, 1, 1), (5, 5)),)}, "body[0].z"),
        ({"obstacles": (Prism(((0, 0), (1, 1), (2, 2)), (0, 1)),)}, "obstacles[0].polygon"),
        (
            {"obstacles": (Prism(((0, 0), (9, 0), (2, 2), (0, 9)), (0, 1)),)},
            "obstacles[0].polygon",
        ),
        (
            {"obstacles": (Prism(((0, 0), (9, 9), (9, 0), (0, 9)), (0, 1)),)},
            "obstacles[0].polygon",
        ),
        ({"obstacles": (Prism(((0, 0), (math.nan, 9), (9, 0)), (0, 1)),)}, "obstacles[0].polygon"),
        ({"drive": Car(-1.0)}, "drive.min_turn_radius_mm"),
    ],
)
def test_a_scene_that_will_not_do_is_told(change, field):
    given = {
        "obstacles": (),
        "body": (solid(box(-1, -1, 1, 1)),),
        "start": HERE,
        "goal": HERE,
        "bounds": FAR,
    }
    with pytest.raises(BadInput) as told:
        pack(Scene(**{**given, **change}))
    assert told.value.field == field


def test_clockwise_and_straight_corners_are_mended():
    one = pack(scene(box(-100, -100, 100, 100), ((200, 0), (200, 50), (200, 90), (300, 0))))
    assert one.poly.tolist() == [[0, 4], [4, 8], [8, 11]]
    assert pose_clearance(one, (0, 0, 0))[0] == pytest.approx(100, abs=1e-4)
