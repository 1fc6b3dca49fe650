"""Rooms full of random convex things: every no is re-proved, every tube is clear for shapely."""

from __future__ import annotations

import random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon
from shapely.affinity import rotate, translate

from sillway.fit.drive.proof import prove
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Budget, Point, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import Open, Shut, explore

LONG, WIDE = 3000.0, 2000.0


def polygon(r: random.Random, x: float, y: float, size: float) -> tuple[Point, ...]:
    while True:
        points = [(r.gauss(x, size), r.gauss(y, size)) for _ in range(r.randint(3, 7))]
        hull = MultiPoint(points).convex_hull
        if hull.area > 1000:
            return tuple(hull.exterior.coords[:-1])


def end(r: random.Random) -> PoseBox:
    x, y, t = r.uniform(200, 2800), r.uniform(200, 1800), r.uniform(-7, 7)
    if r.random() < 0.5:
        return PoseBox((x, x), (y, y), (t, t))
    return PoseBox((x, x + 300), (y, y + 300), (t, t + r.uniform(0, 6)))


def room(seed: int) -> Scene:
    r = random.Random(seed)
    things = []
    for _ in range(r.randint(3, 12)):
        low = r.choice([0.0, 300.0, 600.0])
        shape = polygon(r, r.uniform(0, LONG), r.uniform(0, WIDE), r.uniform(50, 350))
        things.append(Prism(shape, (low, low + r.choice([300.0, 700.0]))))
    layers = [(0.0, 350.0), (350.0, 800.0)][: r.randint(1, 2)]
    body = tuple(Prism(polygon(r, 0, 0, r.uniform(100, 350)), z) for z in layers)
    return Scene(tuple(things), body, end(r), end(r), ((0.0, 0.0), (LONG, WIDE)))


@given(st.integers(0, 10**9))
@settings(max_examples=40, deadline=None)
def test_every_answer_holds_for_an_independent_check(seed):
    """External check: shapely's intersections for a yes, the separate checker for a no."""
    scene = room(seed)
    told = explore(scene, Budget(max_boxes=20_000))
    if isinstance(told, Shut):
        assert recheck_proof(prove(told)) == []
    elif isinstance(told, Open):
        for x, y, t in told.centre:
            for part in scene.body:
                turned = rotate(Polygon(part.polygon), t, origin=(0, 0), use_radians=True)
                placed = translate(turned, x, y)
                x0, y0, x1, y1 = placed.bounds
                assert min(x0, y0, LONG - x1, WIDE - y1) >= -1e-6
                for thing in scene.obstacles:
                    if part.z[0] < thing.z[1] and thing.z[0] < part.z[1]:
                        assert placed.intersection(Polygon(thing.polygon)).area < 1e-6
        shift = np.abs(np.diff(told.centre, axis=0)) - told.half[:-1] - told.half[1:]
        assert np.all(shift[:, :2] <= 1e-6)
