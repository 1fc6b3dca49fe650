"""Test a proof of no again, from its data alone.

Shares no code with the kernel or the subdivision: plain Python on angles for the stuck leaves
(two convex polygons overlap unless an edge of one of them parts them), shapely for shapes and for
samples, whole numbers for the cover and the flood.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import rotate, translate
from shapely.geometry import MultiPoint
from shapely.geometry import Point as Dot

from sillway.fit.drive.proof import Leaf, Proof
from sillway.fit.drive.scene import PoseBox, Prism

XY = tuple[float, float]
Grid = NDArray[np.int64]

# An overlap counts as shown if it is deeper than this, per mm of the scene's size: well above the
# rounding of a sum of a few products (1e-15), well below anything that matters.
DEEP_PER_MM = 1e-11
# Regions are taken this much wider per unit of the domain, so that rounding loses no leaf.
HAIR = 1e-12
# So many faults are listed; more would say nothing new.
MOST = 20


def recheck_proof(proof: Proof, *, samples: bool = True) -> list[str]:
    """Faults found in a proof, in words; none means that it holds.

    ``samples`` also has shapely intersect the witnesses at the centre of each stuck leaf.
    """
    faults = [*_shapes(proof), *_domain(proof)]
    if faults:
        return faults
    lows = np.array([leaf.low for leaf in proof.leaves], dtype=np.int64).reshape(-1, 3)
    highs = np.array([leaf.high for leaf in proof.leaves], dtype=np.int64).reshape(-1, 3)
    faults += _cover(proof.steps, lows, highs)
    faults += _flood(proof, lows, highs)
    for number, leaf in enumerate(proof.leaves):
        if leaf.stuck and len(faults) < MOST:
            fault = _stuck(proof, leaf, samples)
            if fault:
                faults.append(f"leaf {number}: {fault}")
    return faults


def _shapes(proof: Proof) -> list[str]:
    faults = []
    scene = proof.scene
    for name, prisms in (("body", scene.body), ("obstacle", scene.obstacles)):
        for i, prism in enumerate(prisms):
            shape = Polygon(prism.polygon)
            if not shape.is_valid or shape.area <= 0:
                faults.append(f"{name} {i} is no simple polygon")
            elif shape.convex_hull.area - shape.area > 1e-9 * shape.area:
                faults.append(f"{name} {i} is not convex")
            if not prism.z[0] < prism.z[1]:
                faults.append(f"{name} {i} has no height")
    if not scene.body:
        faults.append("there is no body")
    return faults


def _domain(proof: Proof) -> list[str]:
    """Every pose with the body inside the bounds has its origin in the domain."""
    hull = MultiPoint([p for prism in proof.scene.body for p in prism.polygon]).convex_hull
    away = hull.distance(Dot(0, 0))
    low, high = proof.scene.bounds
    for d, (a, b) in enumerate(proof.domain):
        slack = HAIR * (abs(low[d]) + abs(high[d]) + away)
        if not (a <= low[d] - away + slack and b >= high[d] + away - slack):
            return ["the domain does not hold every pose inside the bounds"]
    if proof.steps < 1:
        return ["the domain has no steps"]
    return []


def _cover(steps: int, lows: Grid, highs: Grid) -> list[str]:
    """The leaves tile the domain: halving it again and again never cuts one."""
    work = [((0, 0, 0), (steps, steps, steps), np.arange(len(lows)))]
    while work:
        low, high, which = work.pop()
        if len(which) == 0:
            return [f"no leaf covers the steps from {low} to {high}"]
        if len(which) == 1:
            one = int(which[0])
            if tuple(lows[one]) != low or tuple(highs[one]) != high:
                return [f"leaf {one} does not fill the steps from {low} to {high}"]
            continue
        for d in range(3):
            middle = (low[d] + high[d]) // 2
            if not low[d] < middle < high[d]:
                continue
            below, above = highs[which, d] <= middle, lows[which, d] >= middle
            if np.all(below | above):
                ends = [*high[:d], middle, *high[d + 1 :]]
                begins = [*low[:d], middle, *low[d + 1 :]]
                work.append((low, (ends[0], ends[1], ends[2]), which[below]))
                work.append(((begins[0], begins[1], begins[2]), high, which[above]))
                break
        else:
            return [f"leaves overlap between the steps {low} and {high}"]
    return []


def _flood(proof: Proof, lows: Grid, highs: Grid) -> list[str]:
    count = len(proof.leaves)
    if any(not 0 <= i < count for i in proof.flood):
        return ["the flood names a leaf that does not exist"]
    stuck = np.array([leaf.stuck for leaf in proof.leaves], dtype=bool)
    wet = np.zeros(count, dtype=bool)
    wet[list(proof.flood)] = True
    faults = []
    if np.any(wet & stuck):
        faults.append("the flood holds a stuck leaf")
    start = _touches(proof, proof.scene.start, lows, highs)
    goal = _touches(proof, proof.scene.goal, lows, highs)
    if np.any(start & ~stuck & ~wet):
        faults.append("a leaf of the start is neither stuck nor in the flood")
    if np.any(goal & wet):
        faults.append("the flood reaches the goal")
    inside, outside = np.flatnonzero(wet), np.flatnonzero(~wet & ~stuck)
    if any(
        _meet(proof.steps, d, lows, highs, a, b)
        for d in range(3)
        for a, b in ((inside, outside), (outside, inside))
    ):
        faults.append("a neighbour of the flood is neither stuck nor in the flood")
    return faults


def _meet(steps: int, d: int, lows: Grid, highs: Grid, a: Grid, b: Grid) -> bool:
    """Some leaf of a ends, along d, where one of b begins, and they share part of that face."""
    ends = highs[a, d] % steps if d == 2 else highs[a, d]
    others = [e for e in range(3) if e != d]
    for plane in np.intersect1d(ends, lows[b, d]):
        left, right = a[ends == plane], b[lows[b, d] == plane]
        share = np.ones((len(left), len(right)), dtype=bool)
        for e in others:
            share &= lows[left, e][:, None] < highs[right, e][None, :]
            share &= lows[right, e][None, :] < highs[left, e][:, None]
        if share.any():
            return True
    return False


def _touches(proof: Proof, box: PoseBox, lows: Grid, highs: Grid) -> NDArray[np.bool_]:
    out = np.ones(len(lows), dtype=bool)
    for d, (low, high) in enumerate((box.x, box.y)):
        a, b = proof.domain[d]
        hair = HAIR * (abs(a) + abs(b))
        ends = a + (b - a) * lows[:, d] / proof.steps, a + (b - a) * highs[:, d] / proof.steps
        out &= (ends[0] <= high + hair) & (low - hair <= ends[1])
    once = 2 * math.pi
    begins, ends_at = once * lows[:, 2] / proof.steps, once * highs[:, 2] / proof.steps
    hit = np.zeros(len(lows), dtype=bool)
    turns = range(math.floor(box.theta[0] / once) - 1, math.ceil(box.theta[1] / once) + 2)
    for turn in turns:
        low, high = box.theta[0] - turn * once, box.theta[1] - turn * once
        hit |= (begins <= high + HAIR * 10) & (low - HAIR * 10 <= ends_at)
    return out & hit


def _stuck(proof: Proof, leaf: Leaf, samples: bool) -> str:
    (xa, xb), (ya, yb) = proof.domain
    x = (xa + (xb - xa) * leaf.low[0] / proof.steps, xa + (xb - xa) * leaf.high[0] / proof.steps)
    y = (ya + (yb - ya) * leaf.low[1] / proof.steps, ya + (yb - ya) * leaf.high[1] / proof.steps)
    turn = (2 * math.pi * leaf.low[2] / proof.steps, 2 * math.pi * leaf.high[2] / proof.steps)
    scene = proof.scene
    if leaf.obstacle < 0:
        if leaf.obstacle < -4:
            return "there is no such wall"
        points = [p for prism in scene.body for p in prism.polygon]
        return "" if _past_wall(scene.bounds, leaf.obstacle, points, x, y, turn) else "not stuck"
    if not (0 <= leaf.body < len(scene.body) and leaf.obstacle < len(scene.obstacles)):
        return "its witness does not exist"
    body, obstacle = scene.body[leaf.body], scene.obstacles[leaf.obstacle]
    if not (body.z[0] < obstacle.z[1] and obstacle.z[0] < body.z[1]):
        return "its witnesses are at different heights"
    if not _always_overlap(body, obstacle, x, y, turn):
        return "its witnesses do not overlap at every pose"
    if samples:
        middle = rotate(Polygon(body.polygon), sum(turn) / 2, origin=(0, 0), use_radians=True)
        placed = translate(middle, sum(x) / 2, sum(y) / 2)
        if placed.intersection(Polygon(obstacle.polygon)).area <= 0:
            return "its witnesses are apart at its centre"
    return ""


def _highest_cosine(low: float, high: float) -> float:
    """The largest cosine of an angle between low and high."""
    if math.floor(high / (2 * math.pi)) >= math.ceil(low / (2 * math.pi)):
        return 1.0
    return max(math.cos(low), math.cos(high))


def _farthest(point: XY, along: float, turn: XY) -> float:
    """How far a point can get in direction ``along`` [rad] while it turns about the origin."""
    lean = math.atan2(point[1], point[0]) - along
    return math.hypot(*point) * _highest_cosine(turn[0] + lean, turn[1] + lean)


def _past_wall(bounds: tuple[XY, XY], wall: int, points: list[XY], x: XY, y: XY, turn: XY) -> bool:
    """At every pose of the leaf one and the same corner of the body is beyond the wall."""
    (x0, y0), (x1, y1) = bounds
    inward, origin = {
        -1: (0.0, x[1] - x0),
        -2: (math.pi, x1 - x[0]),
        -3: (math.pi / 2, y[1] - y0),
        -4: (-math.pi / 2, y1 - y[0]),
    }[wall]
    size = abs(x0) + abs(x1) + abs(y0) + abs(y1)
    return any(origin + _farthest(p, inward, turn) < -DEEP_PER_MM * size for p in points)


def _always_overlap(body: Prism, obstacle: Prism, x: XY, y: XY, turn: XY) -> bool:
    """No edge of either polygon parts the two at any pose of the leaf.

    For each edge one corner of the other polygon is shown to be behind it at every pose.
    """
    ours, theirs = _round(body), _round(obstacle)
    size = max(abs(v) for p in (*theirs, x, y) for v in p) + max(math.hypot(*p) for p in ours)
    deep = -DEEP_PER_MM * size
    for (px, py), (qx, qy) in zip(theirs, [*theirs[1:], theirs[0]], strict=True):
        along = math.atan2(px - qx, qy - py)
        nx, ny = math.cos(along), math.sin(along)
        origin = max(nx * a + ny * b for a, b in product(x, y)) - nx * px - ny * py
        if not any(origin + _farthest(p, along, turn) < deep for p in ours):
            return False
    for (px, py), (qx, qy) in zip(ours, [*ours[1:], ours[0]], strict=True):
        along = math.atan2(px - qx, qy - py)
        offset = math.cos(along) * px + math.sin(along) * py
        # Seen from the body, the obstacle turns the other way, by -turn.
        back = (-turn[1], -turn[0])
        if not any(
            max(_farthest((wx - a, wy - b), along, back) for a, b in product(x, y)) - offset < deep
            for wx, wy in theirs
        ):
            return False
    return True


def _round(prism: Prism) -> list[XY]:
    """The polygon's corners counter-clockwise, without repeats or corners amid an edge."""
    ring = Polygon(prism.polygon).convex_hull.exterior
    points = list(ring.coords)[:-1]
    return points if ring.is_ccw else points[::-1]
