"""Side by side with OMPL, scene by scene: time to a first way, failures, collisions on re-check.

    python bench/drive/ompl_side_by_side.py [runs] [limit s]    default 3 and 2; nightly 20 and 5

OMPL's bidirectional RRT in SE(2), once with our compiled distance as validity and once with FCL.
It may slide sideways, so it solves the easier question; and it can never say no. Our figures: the
slide (subdivision, the same question as OMPL's) and the certified drive or proof. CPU seconds of
this process, warm; the limit too is CPU time, so that a busy machine takes nothing from either.
Its validity is called from Python, and so costs it some microseconds a state that C++ would not.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import fcl
import numpy as np
from scenes import SIDE_BY_SIDE
from tally import Row, clocked, percentile, progress, table, within

# Found once scenes has named the folder of the tests' helpers.
from random_scenes import quiet, sampled_way  # isort: skip

from sillway.fit.drive import kernel
from sillway.fit.drive.answer import solve
from sillway.fit.drive.certificate import walls
from sillway.fit.drive.packed import Packed, pack
from sillway.fit.drive.scene import Budget, Pose, Prism, Scene
from sillway.fit.drive.subdivide import explore

RESOLUTION = 0.005
LIMIT_S = 3.0
Free = Callable[[Pose], bool]


def by_kernel(packed: Packed) -> Free:
    return lambda pose: bool(kernel.clearance(*packed, *pose, 1.0)[0] > 0)


def by_fcl(scene: Scene) -> Free:
    """Boxes of FCL: every prism of these scenes is a rectangle; the bounds as four more."""

    def solid(prism: Prism) -> tuple[Any, Any]:
        xs, ys = [p[0] for p in prism.polygon], [p[1] for p in prism.polygon]
        shape = fcl.Box(max(xs) - min(xs), max(ys) - min(ys), 1000.0)
        middle = np.array([(max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, 500.0])
        return fcl.CollisionObject(shape, fcl.Transform(np.eye(3), middle)), middle

    world = fcl.DynamicAABBTreeCollisionManager()
    world.registerObjects([solid(o)[0] for o in (*scene.obstacles, *walls(scene))])
    world.setup()
    chair, middle = solid(scene.body[0])

    def free(pose: Pose) -> bool:
        c, n = math.cos(pose[2]), math.sin(pose[2])
        turn = np.array([[c, -n, 0.0], [n, c, 0.0], [0.0, 0.0, 1.0]])
        chair.setTransform(fcl.Transform(turn, turn @ middle + np.array([*pose[:2], 0.0])))
        data = fcl.CollisionData()
        world.collide(chair, data, fcl.defaultCollisionCallback)
        return not data.result.is_collision

    return free


def worst_mm(packed: Packed, way: list[Pose]) -> float:
    """Least signed distance at poses at most about a millimetre apart."""
    least = math.inf
    for a, b in pairwise(way):
        turn = (b[2] - a[2] + math.pi) % (2 * math.pi) - math.pi
        steps = int(max(math.dist(a[:2], b[:2]), abs(turn) * packed.room[5])) + 1
        for k in range(steps + 1):
            f = k / steps
            pose = (a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * turn)
            least = min(least, kernel.pose_clearance(packed, pose, 50.0)[0])
    return least


def rows(runs: int, limit_s: float) -> list[Row]:
    """A row for each scene: ours, then OMPL with either validity."""
    quiet(11)
    solve(SIDE_BY_SIDE[0][1], SIDE_BY_SIDE[0][1], explain=False)
    return [_row(name, scene, runs, limit_s) for name, scene in SIDE_BY_SIDE]


def _row(name: str, scene: Scene, runs: int, limit_s: float) -> Row:
    progress(f"OMPL side by side: {name}")
    packed = pack(scene)
    slides = [clocked(explore, scene, Budget()) for _ in range(runs)]
    answers = [clocked(solve, scene, scene, within(LIMIT_S), explain=False) for _ in range(runs)]
    row: Row = {
        "scene": name,
        "runs": runs,
        "slide": type(slides[0][0]).__name__.lower(),
        "slide_ms": round(1e3 * percentile([s for _, s in slides], 0.5), 1),
        "answer": str(answers[0][0].verdict),
        "answer_ms": round(1e3 * percentile([s for _, s in answers], 0.5), 1),
    }
    for label, free in (("ompl", by_kernel(packed)), ("ompl_fcl", by_fcl(scene))):
        ways = [sampled_way(scene, free, limit_s, RESOLUTION) for _ in range(runs)]
        solved = [took for took, way in ways if way]
        hit = [w for w in (worst_mm(packed, way) for _, way in ways if way) if w < 0]
        row |= {
            f"{label}_solved": len(solved),
            f"{label}_ms": round(1e3 * percentile(solved, 0.5), 1) if solved else None,
            f"{label}_colliding": len(hit),
            f"{label}_worst_mm": round(min(hit), 1) if hit else None,
        }
    return row


if __name__ == "__main__":
    print(
        table(
            rows(
                int(sys.argv[1]) if len(sys.argv) > 1 else 3,
                float(sys.argv[2]) if len(sys.argv) > 2 else 2,
            )
        )
    )
