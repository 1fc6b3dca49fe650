"""Closed forms of plan-view manoeuvres, and the scenes that go with them.

Corridors: vertical one x in [0, a], horizontal one y in [0, b], outer corner at the origin, inner
corner at (a, b). The bounds are the outer walls; one block is everything beyond the inner corner.
The corridors are so long that their ends do not matter.

A box of length L and width w, its outer long side sliding with both ends on the outer walls, has
that side on the line x sin t + y cos t = L sin t cos t; the inner corner lies
a sin t + b cos t - L sin t cos t beyond it. For L > max(a, b) the box has to pass the tightest t.
"""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

from sillway.fit.drive.scene import Point, PoseBox, Prism, Scene

MM_PER_IN = 25.4
VECTORS = tomllib.loads(Path(__file__).with_suffix(".toml").read_text())


def widest_box(length: float, a: float, b: float) -> float:
    """Width of the widest box of this length (> max(a, b)) that can turn the corner."""

    def room(t: float) -> float:
        return a * math.sin(t) + b * math.cos(t) - length * math.sin(t) * math.cos(t)

    steps = 2000
    best = min(range(steps + 1), key=lambda k: room(k * math.pi / 2 / steps))
    low = max(best - 1, 0) * math.pi / 2 / steps
    high = min(best + 1, steps) * math.pi / 2 / steps
    for _ in range(200):
        p, q = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, q) if room(p) < room(q) else (p, high)
    return min(a, b, room((low + high) / 2))


def longest_rod(a: float, b: float) -> float:
    """Length of the longest thin rod that can be carried level round the corner."""
    return float((a ** (2 / 3) + b ** (2 / 3)) ** 1.5)


def least_corridor(length: float, width: float) -> float:
    """Least equal corridor in which a box can turn 90 degrees (the 45 degree position binds)."""
    return (width + length / 2) / math.sqrt(2)


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def solid(polygon: tuple[Point, ...], name: str = "") -> Prism:
    return Prism(polygon, (0.0, 1000.0), name)


def chair_box(length: float, width: float, axle: float = 0.5) -> tuple[Prism, ...]:
    """A box whose drive axle stands the share ``axle`` of its length from its rear end."""
    rear = -axle * length
    return (solid(box(rear, -width / 2, rear + length, width / 2), "chair"),)


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


def corner(length: float, width: float, a: float, b: float, axle: float = 0.5) -> Scene:
    """Down the vertical corridor, round the corner, forwards into the horizontal one."""
    far = 3 * length + max(a, b)
    away = far - length
    return Scene(
        (solid(box(a, b, far, far), "inner corner"),),
        chair_box(length, width, axle),
        at(a / 2, away, -math.pi / 2),
        at(away, b / 2, 0.0),
        ((0.0, 0.0), (far, far)),
    )


def strip(length: float, width: float, passage: float) -> Scene:
    """End for end in a straight passage."""
    far = 2 * length
    return Scene(
        (),
        chair_box(length, width),
        at(0.0, 0.0, 0.0),
        at(0.0, 0.0, math.pi),
        ((-far, -passage / 2), (far, passage / 2)),
    )


def round_room(
    radius: float, body: tuple[Prism, ...], sides: int, inside: bool, start: PoseBox, goal: PoseBox
) -> Scene:
    """A room between the circle and ``sides`` blocks round it: within the circle or about it."""
    flat = radius * math.cos(math.pi / sides) if inside else radius
    half = flat * math.tan(math.pi / sides)
    blocks = []
    for k in range(sides):
        c, s = math.cos(2 * math.pi * k / sides), math.sin(2 * math.pi * k / sides)
        raw = box(flat, -half, flat + radius, half)
        blocks.append(solid(tuple((c * x - s * y, s * x + c * y) for x, y in raw), f"side {k}"))
    far = 3 * radius
    return Scene(tuple(blocks), body, start, goal, ((-far, -far), (far, far)))


def tee(body: tuple[Prism, ...]) -> Scene:
    """ADA 2010 Standards 304.3.2: a T within a 60 in square, arms and base 36 in wide, arms clear
    12 in each way, base clear 24 in. The body stands in the base and has to turn end for end.

    The body's origin is the middle of its rear edge and it is 48 in long.
    """
    inch = MM_PER_IN
    return Scene(
        (
            solid(box(0, 0, 12 * inch, 24 * inch), "left of the base"),
            solid(box(48 * inch, 0, 60 * inch, 24 * inch), "right of the base"),
        ),
        body,
        at(30 * inch, 6 * inch, math.pi / 2),
        at(30 * inch, 54 * inch, -math.pi / 2),
        ((0.0, 0.0), (60 * inch, 60 * inch)),
    )
