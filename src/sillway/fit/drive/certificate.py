"""The certificate of a yes: a path, and a clearance guaranteed over the whole of its sweep."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from sillway.fit.drive import kernel
from sillway.fit.drive.packed import Packed
from sillway.fit.drive.primitives import around, forward, length_mm, reversals, signs, turning_rad
from sillway.fit.drive.scene import Point, Pose, Prism, Scene

# Below this no clearance is claimed and no yes is said [mm]: it is what rounding, a rubber bumper
# or a bent edge takes, and far above every numerical guard.
LEAST_CLAIM_MM = 0.5
# How thick the bounds are written as walls [mm]; a body cannot pass any wall without touching it.
_WALL_MM = 1000.0
WALLS = ("wall x min", "wall x max", "wall y min", "wall y max")


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a path is narrowest.

    Attributes:
        body, obstacle: the prisms that come closest there; obstacle counts on past the scene's
            obstacles through the four walls of the bounds.
        distance_mm: their distance at ``pose``.
    """

    pose: Pose
    segment: int
    body: int
    body_name: str
    obstacle: int
    obstacle_name: str
    distance_mm: float


@dataclass(frozen=True, slots=True)
class Certificate:
    """A drivable path through the scene as given, tolerances already applied.

    Attributes:
        arcs: centres of the segments that are arcs, for a drive that steers like a car.
        claimed_clearance_mm: no body point comes closer to anything, at any pose on the way.
    """

    scene: Scene
    path: tuple[Pose, ...]
    arcs: Mapping[int, Point]
    claimed_clearance_mm: float
    narrowest: Spot
    reversals: int
    turning_rad: float
    length_mm: float

    def to_json(self) -> dict[str, Any]:
        """What an independent checker needs, in mm and rad; the bounds appear as four walls."""
        out: dict[str, Any] = {
            "obstacles": [_written(p) for p in (*self.scene.obstacles, *walls(self.scene))],
            "body": [_written(p) for p in self.scene.body],
            "path": [list(p) for p in self.path],
            "claimed_clearance": self.claimed_clearance_mm,
        }
        if self.arcs:
            out["arcs"] = {str(k): list(c) for k, c in self.arcs.items()}
        return out


def walls(scene: Scene) -> tuple[Prism, ...]:
    """The bounds as four prisms, as high as the body."""
    (x0, y0), (x1, y1) = scene.bounds
    z = (min(p.z[0] for p in scene.body), max(p.z[1] for p in scene.body))
    t = _WALL_MM
    boxes = (
        (x0 - t, y0 - t, x0, y1 + t),
        (x1, y0 - t, x1 + t, y1 + t),
        (x0 - t, y0 - t, x1 + t, y0),
        (x0 - t, y1, x1 + t, y1 + t),
    )
    return tuple(
        Prism(((a, b), (c, b), (c, d), (a, d)), z, name)
        for (a, b, c, d), name in zip(boxes, WALLS, strict=True)
    )


def _written(prism: Prism) -> dict[str, Any]:
    row: dict[str, Any] = {"polygon": [list(p) for p in prism.polygon], "z": list(prism.z)}
    return row | ({"name": prism.name} if prism.name else {})


def segment_clearance(
    packed: Packed, a: Pose, b: Pose, centre: Point | None, least: float, enough: float = math.inf
) -> tuple[float, int]:
    """Guaranteed clearance [mm] between two joined poses, and the row of pairs it is at.

    A value below ``least`` says only that ``least`` is not kept.
    """
    turn = b[2] - a[2]
    if centre is None and turn == 0.0:
        way = (b[0] - a[0]) * math.cos(a[2]) + (b[1] - a[1]) * math.sin(a[2])
        values = kernel.motion_clearance(*packed, *a, way, 0.0, 0.0, 0.0, least, enough)
    else:
        cx, cy = centre or (a[0], a[1])
        values = kernel.motion_clearance(*packed, *a, 0.0, turn, cx, cy, least, enough)
    return float(values[0]), int(values[1])


def certify(
    scene: Scene, packed: Packed, path: Sequence[Pose], arcs: Mapping[int, Point] | None = None
) -> Certificate | None:
    """The certificate of a path, or None where its clearance is below LEAST_CLAIM_MM.

    The path has to join up as primitives.py says, to within a thousandth of the floating guard's
    scale; whatever it misses is taken off the claim.
    """
    arcs = dict(arcs or {})
    worst, where, pair = math.inf, 0, -1
    ways = [(a, b, arcs.get(i)) for i, (a, b) in enumerate(pairwise(path))]
    for i, (a, b, centre) in enumerate(ways or [(path[0], path[0], None)]):
        bound, row = segment_clearance(packed, a, b, centre, LEAST_CLAIM_MM, min(worst, 1e6))
        bound -= _misfit(a, b, centre, float(packed.room[5]))
        if bound < LEAST_CLAIM_MM:
            return None
        if bound < worst:
            worst, where, pair = bound, i, row
    spot = _narrowest(scene, packed, path, arcs, where, pair)
    return Certificate(
        scene,
        tuple(path),
        arcs,
        worst,
        spot,
        reversals(path, arcs),
        turning_rad(path),
        length_mm(path, arcs),
    )


def _misfit(a: Pose, b: Pose, centre: Point | None, reach_mm: float) -> float:
    """By how much any body point may end elsewhere than the written pose says [mm]."""
    if centre is not None:
        end = around(a, centre, b[2] - a[2])
    elif b[2] != a[2]:
        end = (a[0], a[1], b[2])
    else:
        way = (b[0] - a[0]) * math.cos(a[2]) + (b[1] - a[1]) * math.sin(a[2])
        end = forward(a, way)
    return math.dist(end[:2], b[:2]) + reach_mm * abs(end[2] - b[2])


def pose_along(a: Pose, b: Pose, centre: Point | None, part: float) -> Pose:
    """The pose at a part (0 to 1) of a segment."""
    if centre is not None:
        return around(a, centre, part * (b[2] - a[2]))
    return (
        a[0] + part * (b[0] - a[0]),
        a[1] + part * (b[1] - a[1]),
        a[2] + part * (b[2] - a[2]),
    )


def _narrowest(
    scene: Scene,
    packed: Packed,
    path: Sequence[Pose],
    arcs: Mapping[int, Point],
    segment: int,
    pair: int,
) -> Spot:
    a = path[segment]
    b = path[min(segment + 1, len(path) - 1)]
    centre = arcs.get(segment)

    def distance(part: float) -> float:
        pose = pose_along(a, b, centre, part)
        return kernel.pose_clearance(packed, pose)[0]

    parts = np.linspace(0.0, 1.0, 201)
    at = int(np.argmin([distance(float(p)) for p in parts]))
    low, high = float(parts[max(0, at - 1)]), float(parts[min(200, at + 1)])
    for _ in range(40):
        third = (high - low) / 3
        if distance(low + third) <= distance(high - third):
            high -= third
        else:
            low += third
    part = min((float(parts[at]), (low + high) / 2), key=distance)
    pose = pose_along(a, b, centre, part)
    clearance, row = kernel.pose_clearance(packed, pose)
    body, obstacle = body_and_obstacle(scene, packed, pose, row if row >= 0 else pair)
    every = (*scene.obstacles, *walls(scene))
    return Spot(
        pose, segment, body, scene.body[body].name, obstacle, every[obstacle].name, clearance
    )


def body_and_obstacle(scene: Scene, packed: Packed, pose: Pose, row: int) -> tuple[int, int]:
    """Indices of the body prism and the obstacle (walls last) of a row of packed.pairs."""
    layer, other = int(packed.pairs[row, 0]), int(packed.pairs[row, 1])
    if other >= 0:
        return layer, other - len(scene.body) - 1
    wall = -1 - other
    c, s = math.cos(pose[2]), math.sin(pose[2])
    axis, sign = ((0, 1), (0, -1), (1, 1), (1, -1))[wall]

    def low(prism: Prism) -> float:
        return min(
            sign * ((c * x - s * y) if axis == 0 else (s * x + c * y)) for x, y in prism.polygon
        )

    body = min(range(len(scene.body)), key=lambda i: low(scene.body[i]))
    return body, len(scene.obstacles) + wall


__all__ = [
    "LEAST_CLAIM_MM",
    "Certificate",
    "Spot",
    "body_and_obstacle",
    "certify",
    "pose_along",
    "segment_clearance",
    "signs",
    "walls",
]
