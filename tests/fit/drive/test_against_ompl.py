"""Against a general-purpose sampling planner (OMPL) on random scenes, validity by shapely.

It slides sideways, so it answers the easier question: where we prove a no it must find nothing, and
where it finds a way with clearance we must not prove a no. Its own path is only sampled: it counts
as a contradiction after a dense re-check.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise
from typing import Any

import pytest
from ompl import base as ob
from ompl import geometric as og
from ompl import util as ou
from shapely import Polygon, prepare, unary_union
from shapely.affinity import affine_transform

from sillway.fit.drive.answer import solve
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Budget, Pose, PoseBox, Prism, Scene, Verdict
from sillway.fit.drive.subdivide import Open, explore

SCENES = 40
SECONDS_EACH = 0.4
# A way this wide is above everything the subdivision's finest box could hide [mm].
GREY_MM = 4.0
BOUNDS = ((0.0, 0.0), (3000.0, 1800.0))


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def random_scene(seed: int) -> Scene:
    """A gate of about the body's width, some clutter, a turn at the end."""
    r = random.Random(seed)
    length, width = r.uniform(500, 900), r.uniform(350, 600)
    back = r.uniform(0.15, 0.6) * length
    gap = width + r.uniform(-25, 60)
    middle, thick = r.uniform(700, 1100), r.uniform(40, 300)
    shapes = [
        rectangle(1300, -10, 1300 + thick, middle - gap / 2),
        rectangle(1300, middle + gap / 2, 1300 + thick, 1810),
    ]
    for _ in range(r.randint(0, 3)):
        x, y, s = r.uniform(1700, 2900), r.uniform(0, 1800), r.uniform(40, 150)
        turn = r.uniform(0, 2 * math.pi)
        corners = [(turn + k * 2 * math.pi / 3) for k in range(3)]
        shapes.append(tuple((x + s * math.cos(a), y + s * math.sin(a)) for a in corners))
    return Scene(
        tuple(Prism(s, (0.0, 1.0)) for s in shapes),
        (Prism(rectangle(-back, -width / 2, length - back, width / 2), (0.0, 1.0)),),
        at(100 + back, middle + r.uniform(-150, 150), r.uniform(-0.3, 0.3)),
        at(2300 + r.uniform(-100, 100), r.uniform(700, 1100), r.uniform(-1.6, 1.6)),
        BOUNDS,
    )


class Judge:
    """Validity and clearance by shapely."""

    def __init__(self, scene: Scene) -> None:
        (x0, y0), (x1, y1) = scene.bounds
        outside = Polygon(
            rectangle(x0 - 9e3, y0 - 9e3, x1 + 9e3, y1 + 9e3), [rectangle(x0, y0, x1, y1)]
        )
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


def sampled_way(scene: Scene, judge: Judge) -> list[Pose] | None:
    """A way found by bidirectional random trees, or None."""
    space = ob.SE2StateSpace()
    bounds = ob.RealVectorBounds(2)
    for i in range(2):
        bounds.setLow(i, scene.bounds[0][i])
        bounds.setHigh(i, scene.bounds[1][i])
    space.setBounds(bounds)
    setup = og.SimpleSetup(space)

    def pose(state: Any) -> Pose:
        return state.getX(), state.getY(), state.getYaw()

    setup.setStateValidityChecker(lambda state: judge.free(pose(state)))
    information = setup.getSpaceInformation()
    information.setStateValidityCheckingResolution(0.003)
    ends = []
    for box in (scene.start, scene.goal):
        state = space.allocState()
        state.setX(box.x[0])
        state.setY(box.y[0])
        state.setYaw((box.theta[0] + math.pi) % (2 * math.pi) - math.pi)
        ends.append(state)
    setup.setStartAndGoalStates(ends[0], ends[1])
    setup.setPlanner(og.RRTConnect(information))
    setup.solve(SECONDS_EACH)
    if not setup.haveExactSolutionPath():
        return None
    return [pose(state) for state in setup.getSolutionPath().getStates()]


@pytest.fixture(scope="module", autouse=True)
def quiet() -> None:
    ou.setLogLevel(ou.LogLevel.LOG_NONE)
    ou.RNG.setSeed(7)


@pytest.mark.parametrize("seed", range(SCENES))
def test_we_do_not_contradict_each_other(seed: int) -> None:
    scene = random_scene(seed)
    judge = Judge(scene)
    ends = [(b.x[0], b.y[0], b.theta[0]) for b in (scene.start, scene.goal)]
    answer = solve(scene, scene, explain=False)
    if answer.certificate:
        assert recheck_path(answer.certificate.to_json()) == []
        assert answer.verdict is Verdict.FITS
    if not all(judge.free(pose) for pose in ends):
        assert answer.verdict is Verdict.NO
        return
    way = sampled_way(scene, judge)
    if way is None:
        return
    clearance = judge.clearance(way)
    if clearance > 0:
        assert answer.verdict is not Verdict.NO
    if clearance > GREY_MM:
        assert isinstance(explore(scene, Budget()), Open)


def test_the_scenes_hold_every_verdict() -> None:
    """Else the comparison above would say little."""
    verdicts = [
        solve(scene, scene, explain=False).verdict for scene in map(random_scene, range(SCENES))
    ]
    assert verdicts.count(Verdict.FITS) >= SCENES / 4
    assert verdicts.count(Verdict.NO) >= SCENES / 8
