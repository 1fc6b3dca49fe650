"""Random scenes, and a general-purpose sampling planner (OMPL) to hold an answer against on them.

The planner slides sideways, so it answers the easier question: where a no is proved it must find
nothing, and where it finds a way with clearance no no may be proved. Its own path is only sampled:
it counts as a contradiction after a dense re-check.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from closed_forms import at, box
from ompl import base as ob
from ompl import geometric as og
from ompl import util as ou
from shapely import Polygon, prepare, unary_union
from shapely.affinity import affine_transform

from sillway.fit.drive.answer import solve
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Budget, Pose, Prism, Scene, Verdict
from sillway.fit.drive.subdivide import Open, explore

# A way this wide is above everything the subdivision's finest box could hide [mm].
GREY_MM = 4.0
BOUNDS = ((0.0, 0.0), (3000.0, 1800.0))
# States are looked at this far apart, as a share of the space's extent.
RESOLUTION = 0.003


def random_scene(seed: int) -> Scene:
    """A gate of about the body's width, some clutter, a turn at the end."""
    r = random.Random(seed)
    length, width = r.uniform(500, 900), r.uniform(350, 600)
    back = r.uniform(0.15, 0.6) * length
    gap = width + r.uniform(-25, 60)
    middle, thick = r.uniform(700, 1100), r.uniform(40, 300)
    shapes = [
        box(1300, -10, 1300 + thick, middle - gap / 2),
        box(1300, middle + gap / 2, 1300 + thick, 1810),
    ]
    for _ in range(r.randint(0, 3)):
        x, y, s = r.uniform(1700, 2900), r.uniform(0, 1800), r.uniform(40, 150)
        turn = r.uniform(0, 2 * math.pi)
        corners = [(turn + k * 2 * math.pi / 3) for k in range(3)]
        shapes.append(tuple((x + s * math.cos(a), y + s * math.sin(a)) for a in corners))
    return Scene(
        tuple(Prism(s, (0.0, 1.0)) for s in shapes),
        (Prism(box(-back, -width / 2, length - back, width / 2), (0.0, 1.0)),),
        at(100 + back, middle + r.uniform(-150, 150), r.uniform(-0.3, 0.3)),
        at(2300 + r.uniform(-100, 100), r.uniform(700, 1100), r.uniform(-1.6, 1.6)),
        BOUNDS,
    )


class Judge:
    """Validity and clearance by shapely."""

    def __init__(self, scene: Scene) -> None:
        (x0, y0), (x1, y1) = scene.bounds
        outside = Polygon(box(x0 - 9e3, y0 - 9e3, x1 + 9e3, y1 + 9e3), [box(x0, y0, x1, y1)])
        self.blocked = unary_union([outside, *(Polygon(o.polygon) for o in scene.obstacles)])
        self.body = Polygon(scene.body[0].polygon)
        prepare(self.blocked)

    def placed(self, pose: Pose) -> Polygon:
        c, s = math.cos(pose[2]), math.sin(pose[2])
        return affine_transform(self.body, [c, -s, s, c, pose[0], pose[1]])

    def free(self, pose: Pose) -> bool:
        return not self.blocked.intersects(self.placed(pose))

    def clearance(self, path: list[Pose]) -> float:
        """Least clearance at poses at most about 2 mm apart; 0 where it collides."""
        least = math.inf
        for a, b in pairwise(path):
            turn = (b[2] - a[2] + math.pi) % (2 * math.pi) - math.pi
            steps = int(max(math.dist(a[:2], b[:2]), abs(turn) * 900) / 2) + 1
            for k in range(steps + 1):
                f = k / steps
                pose = (a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * turn)
                least = min(least, self.blocked.distance(self.placed(pose)))
        return least


def sampled_way(
    scene: Scene, free: Callable[[Pose], bool], limit_s: float, resolution: float = RESOLUTION
) -> tuple[float, list[Pose] | None]:
    """Processor seconds taken by bidirectional random trees, and the way found or None."""
    space = ob.SE2StateSpace()
    bounds = ob.RealVectorBounds(2)
    for i in range(2):
        bounds.setLow(i, scene.bounds[0][i])
        bounds.setHigh(i, scene.bounds[1][i])
    space.setBounds(bounds)
    setup = og.SimpleSetup(space)

    def pose(state: Any) -> Pose:
        return state.getX(), state.getY(), state.getYaw()

    setup.setStateValidityChecker(lambda state: free(pose(state)))
    information = setup.getSpaceInformation()
    information.setStateValidityCheckingResolution(resolution)
    ends = []
    for region in (scene.start, scene.goal):
        state = space.allocState()
        state.setX(region.x[0])
        state.setY(region.y[0])
        state.setYaw((region.theta[0] + math.pi) % (2 * math.pi) - math.pi)
        ends.append(state)
    setup.setStartAndGoalStates(ends[0], ends[1])
    setup.setPlanner(og.RRTConnect(information))
    begin = time.process_time()
    stop = ob.PlannerTerminationCondition(lambda: time.process_time() - begin > limit_s)
    setup.solve(stop)
    took = time.process_time() - begin
    if not setup.haveExactSolutionPath():
        return took, None
    return took, [pose(state) for state in setup.getSolutionPath().getStates()]


def quiet(seed: int) -> None:
    """No messages, and the same random trees every time."""
    ou.setLogLevel(ou.LogLevel.LOG_NONE)
    ou.RNG.setSeed(seed)


@dataclass(frozen=True, slots=True)
class Comparison:
    """One scene, answered and sampled.

    Attributes:
        clearance_mm: of the planner's way on re-check; None where it found none, was not asked.
        contradictions: in words; none expected.
    """

    verdict: Verdict
    clearance_mm: float | None
    contradictions: tuple[str, ...]


def compare(scene: Scene, limit_s: float) -> Comparison:
    """Hold the answer, its certificate and the slide against the planner."""
    judge = Judge(scene)
    answer = solve(scene, scene, explain=False)
    wrong = []
    if answer.certificate:
        wrong += recheck_path(answer.certificate.to_json())
        if answer.verdict is not Verdict.FITS:
            wrong.append("a certificate without a yes")
    if not all(judge.free((b.x[0], b.y[0], b.theta[0])) for b in (scene.start, scene.goal)):
        if answer.verdict is not Verdict.NO:
            wrong.append("start or goal collides, and it is no no")
        return Comparison(answer.verdict, None, tuple(wrong))
    way = sampled_way(scene, judge.free, limit_s)[1]
    if way is None:
        return Comparison(answer.verdict, None, tuple(wrong))
    clearance = judge.clearance(way)
    if clearance > 0 and answer.verdict is Verdict.NO:
        wrong.append(f"a no is proved, and a way with {clearance:.2f} mm was found")
    if clearance > GREY_MM and not isinstance(explore(scene, Budget()), Open):
        wrong.append(f"a way with {clearance:.2f} mm was found, and the subdivision misses it")
    return Comparison(answer.verdict, clearance, tuple(wrong))
