"""Side by side with OMPL, scene by scene: time to a first way, failures, collisions on re-check.

    python bench/drive/ompl_side_by_side.py [runs] [limit s]    default 3 and 2; nightly 20 and 5

OMPL's bidirectional RRT in SE(2), once with our compiled distance as validity and once with FCL.
It may slide sideways, so it solves the easier question; and it can never say no. Our figures: the
slide (subdivision, the same question as OMPL's) and the certified drive or proof. Wall-clock
seconds, warm, machine otherwise idle or not: compare columns of one run only.
"""

from __future__ import annotations

import math
import random
import sys
import time
from itertools import pairwise
from typing import Any

import fcl
import numpy as np
from ompl import base as ob
from ompl import geometric as og
from ompl import util as ou

from sillway.fit.drive import kernel
from sillway.fit.drive.answer import solve
from sillway.fit.drive.packed import Packed, pack
from sillway.fit.drive.scene import Budget, Pose, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import explore

RESOLUTION = 0.005
TURN = math.pi / 2


def box(x0: float, y0: float, x1: float, y1: float) -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0, 1000.0))


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


def gate(slack: float) -> Scene:
    gap = 640 + 2 * slack
    return Scene(
        (box(1600, -10, 1700, 900 - gap / 2), box(1600, 900 + gap / 2, 1700, 1810)),
        (box(-250, -320, 900, 320),),
        at(400, 700, 0),
        at(2300, 1000, 0),
        ((0.0, 0.0), (3400.0, 1800.0)),
    )


def corner(slack: float, back: float) -> Scene:
    c = (640 + 575) / math.sqrt(2) + slack
    return Scene(
        (box(c, c, 2600, 2600),),
        (box(-back, -320, 1150 - back, 320),),
        at(c / 2, 1420 + back, -TURN),
        at(1390 + back, c / 2, 0),
        ((0.0, 0.0), (2600.0, 2600.0)),
    )


def side_entry(slack: float, back: float) -> Scene:
    ahead = 1900 + 2 * slack
    x0 = (600 + ahead) / 2 - 425
    middle = (600 + ahead) / 2
    return Scene(
        (
            box(-200, -80, x0, 0),
            box(x0 + 850, -80, 3400, 0),
            box(-200, 0, 600, 1260),
            box(ahead, 0, 3400, 1260),
        ),
        (box(-back, -320, 1150 - back, 320),),
        at(middle, -1330 + back, TURN),
        at(middle - 575 + back, 640, 0),
        ((-200.0, -2080.0), (3400.0, 1250.0)),
    )


def clutter(seed: int) -> Scene:
    r = random.Random(seed)
    posts = []
    while len(posts) < 12:
        x, y = r.uniform(900, 4200), r.uniform(100, 2900)
        if math.hypot(x - 4400, y - 2400) > 1000 and math.hypot(x - 600, y - 500) > 1000:
            posts.append(box(x, y, x + 120, y + 120))
    return Scene(
        tuple(posts),
        (box(-250, -320, 900, 320),),
        at(400, 500, 0),
        at(4200, 2400, 0),
        ((0.0, 0.0), (5300.0, 3000.0)),
    )


SCENES = (
    ("clutter, roomy", clutter(1)),
    ("gate, 30 a side", gate(30)),
    ("gate, 3 a side", gate(3)),
    ("gate, 3 a side short", gate(-3)),
    ("corner, mid axle, 30 spare", corner(30, 575)),
    ("corner, 4 short", corner(-4, 575)),
    ("side entry, mid axle, 30 spare", side_entry(30, 575)),
    ("side entry, 0.35 axle, 50 spare", side_entry(50, 400)),
    ("side entry, mid axle, 8 short", side_entry(-83, 575)),
)


def by_kernel(packed: Packed):  # type: ignore[no-untyped-def]
    return lambda s: kernel.clearance(*packed, s.getX(), s.getY(), s.getYaw(), 1.0)[0] > 0


def by_fcl(scene: Scene):  # type: ignore[no-untyped-def]
    """Boxes of FCL: every prism of these scenes is a rectangle; the bounds as four more."""

    def solid(prism: Prism, x: float = 0.0, y: float = 0.0) -> Any:
        xs, ys = [p[0] for p in prism.polygon], [p[1] for p in prism.polygon]
        shape = fcl.Box(max(xs) - min(xs), max(ys) - min(ys), 1000.0)
        middle = np.array([(max(xs) + min(xs)) / 2 + x, (max(ys) + min(ys)) / 2 + y, 500.0])
        return fcl.CollisionObject(shape, fcl.Transform(np.eye(3), middle)), middle

    from sillway.fit.drive.certificate import walls

    world = fcl.DynamicAABBTreeCollisionManager()
    world.registerObjects([solid(o)[0] for o in (*scene.obstacles, *walls(scene))])
    world.setup()
    chair, middle = solid(scene.body[0])

    def valid(s: Any) -> bool:
        c, n = math.cos(s.getYaw()), math.sin(s.getYaw())
        turn = np.array([[c, -n, 0.0], [n, c, 0.0], [0.0, 0.0, 1.0]])
        chair.setTransform(fcl.Transform(turn, turn @ middle + np.array([s.getX(), s.getY(), 0.0])))
        data = fcl.CollisionData()
        world.collide(chair, data, fcl.defaultCollisionCallback)
        return not data.result.is_collision

    return valid


def ompl_way(scene: Scene, valid: Any, limit_s: float) -> tuple[float, list[Pose] | None]:
    space = ob.SE2StateSpace()
    bounds = ob.RealVectorBounds(2)
    for i in range(2):
        bounds.setLow(i, scene.bounds[0][i])
        bounds.setHigh(i, scene.bounds[1][i])
    space.setBounds(bounds)
    setup = og.SimpleSetup(space)
    setup.setStateValidityChecker(valid)
    setup.getSpaceInformation().setStateValidityCheckingResolution(RESOLUTION)
    ends = []
    for region in (scene.start, scene.goal):
        state = space.allocState()
        state.setX(region.x[0])
        state.setY(region.y[0])
        state.setYaw(region.theta[0])
        ends.append(state)
    setup.setStartAndGoalStates(*ends)
    setup.setPlanner(og.RRTConnect(setup.getSpaceInformation()))
    begin = time.perf_counter()
    setup.solve(limit_s)
    took = time.perf_counter() - begin
    if not setup.haveExactSolutionPath():
        return took, None
    return took, [(s.getX(), s.getY(), s.getYaw()) for s in setup.getSolutionPath().getStates()]


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


def main(runs: int, limit_s: float) -> None:
    ou.setLogLevel(ou.LogLevel.LOG_NONE)
    ou.RNG.setSeed(11)
    solve(SCENES[0][1], SCENES[0][1], explain=False)
    print(
        f"{'scene':32s} {'slide':>7s}  {'s':>6s} | {'answer':18s} {'s':>6s} | "
        f"OMPL ({runs} runs, {limit_s:g} s): validity, solved, median s, colliding (worst mm)"
    )
    for name, scene in SCENES:
        packed = pack(scene)
        begin = time.perf_counter()
        told = type(explore(scene, Budget())).__name__
        slide_s = time.perf_counter() - begin
        begin = time.perf_counter()
        end = begin + 3.0
        budget = Budget(late=lambda end=end: time.perf_counter() > end)
        answer = solve(scene, scene, budget, explain=False)
        answer_s = time.perf_counter() - begin
        cells = []
        for label, valid in (("ours", by_kernel(packed)), ("FCL", by_fcl(scene))):
            ways = [ompl_way(scene, valid, limit_s) for _ in range(runs)]
            solved = sorted(t for t, way in ways if way)
            worst = [worst_mm(packed, way) for _, way in ways if way]
            hit = [w for w in worst if w < 0]
            middle = f"{solved[len(solved) // 2]:.3f}" if solved else "-"
            collides = f"{len(hit)}" + (f" ({min(hit):.1f})" if hit else "")
            cells.append(f"{label}: {len(solved)}/{runs} {middle:>6s} {collides}")
        print(
            f"{name:32s} {told:>7.7s}  {slide_s:6.3f} | {answer.verdict!s:18.18s} {answer_s:6.3f}"
            f" | {'; '.join(cells)}",
            flush=True,
        )


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 3, float(sys.argv[2]) if len(sys.argv) > 2 else 2
    )
