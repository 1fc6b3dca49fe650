"""Bounds over whole boxes of poses hold at every sampled pose of them."""

from __future__ import annotations

import math

import numpy as np
from closed_forms import at, box, solid
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint

from sillway.fit.drive.boxes import box_pair
from sillway.fit.drive.kernel import pair_distance
from sillway.fit.drive.packed import pack
from sillway.fit.drive.scene import Scene

FAR = ((-3000.0, -3000.0), (3000.0, 3000.0))
HERE = at(0, 0, 0)
coordinate = st.integers(-5000, 5000).map(lambda v: v / 10)
half = st.sampled_from([0.0, 0.1, 3.0, 40.0, 400.0])
turn = st.sampled_from([math.pi / 2**k for k in range(12)])


@st.composite
def polygons(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    points = draw(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=7))
    hull = MultiPoint(points).convex_hull
    return tuple(hull.exterior.coords[:-1]) if hull.area > 100 else box(-300, -20, 100, 30)


@given(
    polygons(),
    polygons(),
    st.tuples(coordinate, coordinate, coordinate.map(lambda v: v / 80)),
    st.tuples(half, half, turn),
    st.sampled_from([-25.0, 0.0, 25.0]),
    st.integers(0, 4),
)
@settings(max_examples=400, deadline=None)
def test_bounds_over_a_box_hold_everywhere_in_it(body, other, middle, size, grow, which):
    packed = pack(Scene((solid(other),), (solid(body),), HERE, HERE, FAR))
    bi, oi = packed.pairs[which]
    x, y, t = middle
    hx, hy, ht = size
    ch = math.cos(ht) if ht < 1.57 else -1.0
    geo, poly, ball, _, room = packed
    c, s = math.cos(t), math.sin(t)
    told = box_pair(geo, poly, ball, room, bi, oi, x, y, c, s, hx, hy, ch, math.sin(ht), grow)
    low, high = told[:2]
    found = []
    for a in np.linspace(-1, 1, 5):
        for b in np.linspace(-1, 1, 5):
            for d in np.linspace(-1, 1, 17):
                u = t + d * ht
                pose = (x + a * hx, y + b * hy, math.cos(u), math.sin(u))
                found.append(pair_distance(geo, poly, room, bi, oi, *pose, math.inf)[0])
    guard = packed.room[4]
    if low >= grow:
        # Free is said; the bound has to hold.
        assert min(found) >= low - guard
    if high < grow:
        assert max(found) < grow + guard
        assert max(found) <= high + guard
