"""What a path is made of, and how two paths compare.

A path is a list of poses; successive poses are joined by a straight drive, a turn on the spot, or,
where ``arcs`` names a centre for the segment, an arc about it. Headings are not wrapped: a turn
sweeps from one number to the next.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from sillway.fit.drive.scene import Point, Pose

# Motions below these are rounding of longer ones; no wheel resolves them.
SAME_MM = 1e-6
SAME_RAD = 1e-9


def forward(pose: Pose, distance_mm: float) -> Pose:
    """The pose after a straight drive; a negative distance backs up.

    >>> forward((10.0, 0.0, 0.0), -4.0)
    (6.0, 0.0, 0.0)
    """
    x, y, theta = pose
    return x + distance_mm * math.cos(theta), y + distance_mm * math.sin(theta), theta


def around(pose: Pose, centre: Point, angle_rad: float) -> Pose:
    """The pose after an arc about a point.

    >>> [round(v, 6) for v in around((0.0, 0.0, 0.0), (0.0, 100.0), math.pi / 2)]
    [100.0, 100.0, 1.570796]
    """
    x, y, theta = pose
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    dx, dy = x - centre[0], y - centre[1]
    return centre[0] + dx * c - dy * s, centre[1] + dx * s + dy * c, theta + angle_rad


def signs(path: Sequence[Pose], arcs: Mapping[int, Point]) -> list[int]:
    """Per segment: 1 drives forwards, -1 backwards, 0 turns on the spot.

    >>> signs([(0, 0, 0), (5, 0, 0), (5, 0, 1), (5, 0, 1)], {})
    [1, 0, 0]
    """
    out = []
    for i, (a, b) in enumerate(pairwise(path)):
        c, s = math.cos(a[2]), math.sin(a[2])
        if i in arcs:
            side = -s * (arcs[i][0] - a[0]) + c * (arcs[i][1] - a[1])
            along = side * (b[2] - a[2])
        else:
            along = (b[0] - a[0]) * c + (b[1] - a[1]) * s
        out.append(0 if abs(along) <= SAME_MM else (1 if along > 0 else -1))
    return out


def reversals(path: Sequence[Pose], arcs: Mapping[int, Point]) -> int:
    """How often the drive changes between forwards and backwards.

    >>> reversals([(0, 0, 0), (5, 0, 0), (5, 0, 1), (5 - math.cos(1), -math.sin(1), 1)], {})
    1
    """
    driven = [s for s in signs(path, arcs) if s]
    return sum(a != b for a, b in pairwise(driven))


def turning_rad(path: Sequence[Pose]) -> float:
    """All turning added up, whichever way.

    >>> turning_rad([(0, 0, 0), (0, 0, 1), (0, 0, -1)])
    3
    """
    return sum(abs(b[2] - a[2]) for a, b in pairwise(path))


def length_mm(path: Sequence[Pose], arcs: Mapping[int, Point]) -> float:
    """The way of the drive axle's middle.

    >>> length_mm([(0, 0, 0), (5, 0, 0), (5, 0, 1), (5, 0, 1)], {})
    5.0
    """
    total = 0.0
    for i, (a, b) in enumerate(pairwise(path)):
        if i in arcs:
            total += math.dist(arcs[i], a[:2]) * abs(b[2] - a[2])
        else:
            total += math.dist(a[:2], b[:2])
    return total


def tidy(path: Sequence[Pose]) -> list[Pose]:
    """The path of a drive without arcs, its empty segments left out and its like ones joined.

    Joining two turns that go opposite ways keeps both: they do not sweep the same.

    >>> tidy([(0, 0, 0), (5, 0, 0), (5, 0, 0), (9, 0, 0), (9, 0, 1), (9, 0, 2)])
    [(0, 0, 0), (9, 0, 0), (9, 0, 2)]
    """
    out: list[Pose] = []
    last = (0, 0)
    for pose in path:
        if not out:
            out.append(pose)
            continue
        a = out[-1]
        turn = pose[2] - a[2]
        along = (pose[0] - a[0]) * math.cos(a[2]) + (pose[1] - a[1]) * math.sin(a[2])
        if abs(turn) <= SAME_RAD and abs(along) <= SAME_MM:
            continue
        kind = (
            (1, int(math.copysign(1, turn)))
            if abs(turn) > SAME_RAD
            else (2, int(math.copysign(1, along)))
        )
        if kind == last:
            out[-1] = pose
        else:
            out.append(pose)
            last = kind
    return out
