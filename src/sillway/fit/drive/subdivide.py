"""Can the body get from start to goal at all, if it could also slide sideways?

``explore`` answers for a scene as given: Open with a tube of free boxes of poses, Shut with the
leaves that prove it, Undecided when the budget or the resolution ends first. ``widest`` brackets
the widest clearance a way can keep; ``pinch`` tells how much is missing where there is none.

Shut means: no path of positive clearance joins any pose of start to any pose of goal with the body
inside the bounds. Open is holonomic: it may slide sideways, so it guides a drive and is none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sillway.fit.drive import boxes as bx
from sillway.fit.drive import flood
from sillway.fit.drive.kernel import pose_clearance
from sillway.fit.drive.packed import Floats, Ints, Packed, pack
from sillway.fit.drive.scene import Budget, Pose, PoseBox, Scene

# Links a box has on average stay below this; the pool is address space until it is used.
LINKS_PER_BOX = 24
# Searches between two looks at the clock.
ROUNDS = 32
# A bracket of the widest way is refined to this [mm].
BRACKET_MM = 2.0
# One probe of a bracket costs at most so many boxes; an undecided one is stepped round.
PROBE_BOXES = 60_000
# Clearance along a tube is not looked at beyond this [mm].
TUBE_CLEARANCE_MM = 500.0
# The search for an end of the bracket begins with this step and doubles it [mm].
FIRST_STEP_MM = 16.0


@dataclass(frozen=True, eq=False, repr=False)
class Tree:
    """The subdivision as it ended: the arrays of boxes.py, and the scene they belong to."""

    scene: Scene
    packed: Packed
    grow_mm: float
    finest_mm: float
    lo: Ints
    lev: Ints
    state: np.typing.NDArray[np.int8]
    mask: Ints
    low: Floats
    wit: Ints
    flag: np.typing.NDArray[np.int8]
    head: Ints
    link: Ints
    seen: Ints
    queue: Ints
    count: Ints
    frame: Floats
    trig: Floats
    region: Floats
    axis: np.typing.NDArray[np.int8]
    gain: Floats

    @property
    def arrays(self) -> tuple[object, ...]:
        """In the order the compiled functions take them."""
        return (
            *(self.lo, self.lev, self.state, self.mask, self.low, self.wit, self.flag, self.head),
            *(self.link, self.seen, self.queue, self.count, self.frame, self.trig, self.region),
            *(self.axis, self.gain),
        )

    @property
    def cabin(self) -> tuple[object, ...]:
        """The packed scene as the compiled functions take it."""
        return tuple(self.packed)

    @property
    def boxes(self) -> int:
        """How many boxes were made."""
        return int(self.count[bx.BOXES])

    @cached_property
    def leaves(self) -> Ints:
        """Indices of the boxes that were not split."""
        return np.flatnonzero(self.state[: self.boxes] != bx.SPLIT)

    def centres(self, which: Ints) -> Floats:
        """Centres (x, y, theta) of boxes [mm, rad]."""
        size = (bx.ROUND >> self.lev[which]).astype(np.float64)
        found: Floats = self.frame[:, 0] + self.frame[:, 1] * (self.lo[which] + 0.5 * size)
        return found

    def halves(self, which: Ints) -> Floats:
        """Half sizes (x, y, theta) of boxes [mm, rad]."""
        found: Floats = 0.5 * self.frame[:, 1] * (bx.ROUND >> self.lev[which])
        return found

    def clearances(self, which: Ints, enough: float = TUBE_CLEARANCE_MM) -> Floats:
        """Guaranteed clearance over whole boxes, at most ``enough`` [mm]."""
        out = np.empty(len(which))
        bx.box_clearance(self.cabin, self.arrays, which, enough, out)
        return out

    def neighbours(self) -> tuple[Ints, Ints]:
        """Neighbours of each leaf by its place in ``leaves``: those of leaf i are
        ``second[first[i]:first[i + 1]]``; stuck leaves have none listed."""
        leaf_of = np.full(self.boxes, -1, dtype=np.int64)
        leaf_of[self.leaves] = np.arange(len(self.leaves))
        first = np.zeros(len(self.leaves) + 1, dtype=np.int64)
        second = np.empty(int(self.count[bx.LINKS]), dtype=np.int64)
        total = flood.neighbours(self.arrays, leaf_of, first, second)
        return first, second[:total]


@dataclass(frozen=True, eq=False)
class Open:
    """Free boxes join start and goal.

    Attributes:
        tree: all boxes; leaves, their states and neighbours.
        tube: boxes from start to goal, each sharing a face with the next.
        centre, half: of the tube's boxes, a row (x, y, theta) each [mm, rad].
        clearance_mm: guaranteed over each whole box of the tube.
    """

    tree: Tree
    tube: Ints
    centre: Floats
    half: Floats
    clearance_mm: Floats


@dataclass(frozen=True, eq=False)
class Shut:
    """No way, also sideways: start and goal are not joined through free and mixed boxes.

    Attributes:
        tree: all boxes; the flood is ``flood``.
        flood: free and mixed leaves that reach to the start.
        blocked: "start" or "goal" where that itself is stuck everywhere, else "".
    """

    tree: Tree
    flood: Ints
    blocked: str

    @property
    def resolution_mm(self) -> float:
        """Size of the smallest box by its effect on the body."""
        size = self.tree.frame[:, 2] * (bx.ROUND >> self.tree.lev[self.tree.leaves])
        return float(2.0 * size.max(axis=1).min())


@dataclass(frozen=True, eq=False)
class Undecided:
    """The budget ended first, or what decides is finer than the resolution.

    Attributes:
        why: "resolution", "boxes" or "late".
    """

    tree: Tree
    why: str


@dataclass(frozen=True, slots=True)
class Widest:
    """Bracket of the widest clearance a way can keep [mm]: one of low_mm exists, none of high_mm.

    Attributes:
        low_mm: shown (negative: the body would have to shrink by that much).
        high_mm: excluded; infinite where nothing was excluded.
        at, pair: the narrowest pose of the widest tube found and the row of packed.pairs it faces.
        way: the tube at low_mm, if one was found.
    """

    low_mm: float
    high_mm: float
    at: Pose | None
    pair: int
    way: Open | None


def explore(scene: Scene, budget: Budget, grow_mm: float = 0.0) -> Open | Shut | Undecided:
    """Look for a way that keeps more than ``grow_mm`` from everything, or show there is none.

    Raises:
        BadInput: the scene cannot be used.
    """
    packed = pack(scene)
    tree = _plant(scene, packed, budget, grow_mm)
    blocked = _stuck_end(scene, packed, grow_mm)
    told = flood.GOING
    while told == flood.GOING:
        told = int(flood.advance(tree.cabin, tree.arrays, grow_mm, tree.finest_mm, ROUNDS))
        if told == flood.GOING and budget.late():
            return Undecided(tree, "late")
    if told == flood.OPEN:
        parent = np.empty(tree.boxes, dtype=np.int64)
        path = np.empty(tree.boxes, dtype=np.int64)
        tube = path[: flood.trace(tree.arrays, parent, path)].copy()
        return Open(tree, tube, tree.centres(tube), tree.halves(tube), tree.clearances(tube))
    if told == flood.SHUT:
        leaves = tree.leaves
        wet = leaves[
            (tree.seen[leaves, 0] == tree.count[bx.SEARCH]) & (tree.state[leaves] < bx.STUCK)
        ]
        if not blocked:
            for name, bit in (("start", bx.AT_START), ("goal", bx.AT_GOAL)):
                if np.all(tree.state[leaves[(tree.flag[leaves] & bit) != 0]] == bx.STUCK):
                    blocked = name
                    break
        return Shut(tree, wet, blocked)
    return Undecided(tree, "resolution" if told == flood.TOO_FINE else "boxes")


def _stuck_end(scene: Scene, packed: Packed, grow_mm: float) -> str:
    for name, box in (("start", scene.start), ("goal", scene.goal)):
        point = all(a == b for a, b in (box.x, box.y, box.theta))
        if point and pose_clearance(packed, _middle(box))[0] < grow_mm - 2 * packed.room[4]:
            return name
    return ""


def _middle(box: PoseBox) -> Pose:
    return (sum(box.x) / 2, sum(box.y) / 2, sum(box.theta) / 2)


def _plant(scene: Scene, packed: Packed, budget: Budget, grow_mm: float) -> Tree:
    """One box for all poses the body can have inside the bounds."""
    n = max(budget.max_boxes, 64)
    # Links a split may need are checked before it; a small tree needs room for one box's worth.
    links = LINKS_PER_BOX * n + 8192
    words = -(-len(packed.pairs) // bx.WORD)
    margin = apron(packed) + max(0.0, -grow_mm)
    x0, y0, x1, y1 = packed.room[:4]
    units = [(x1 - x0 + 2 * margin), (y1 - y0 + 2 * margin), 2 * math.pi]
    step = np.array(units) / bx.ROUND
    reach = float(packed.room[5])
    frame = np.array(
        [
            (x0 - margin, step[0], 0.5 * step[0]),
            (y0 - margin, step[1], 0.5 * step[1]),
            (0.0, step[2], 0.5 * step[2] * reach),
        ]
    )
    half = math.pi / 2.0 ** np.arange(bx.FINEST + 1)
    trig = np.stack([np.where(half < 1.57, np.cos(half), -1.0), np.sin(half)], axis=1)
    ends = [*scene.start.x, *scene.start.y, *scene.start.theta]
    ends += [*scene.goal.x, *scene.goal.y, *scene.goal.theta]
    tree = Tree(
        scene=scene,
        packed=packed,
        grow_mm=grow_mm,
        finest_mm=budget.finest_mm,
        lo=np.empty((n, 3), dtype=np.int64),
        lev=np.empty((n, 3), dtype=np.int64),
        state=np.empty(n, dtype=np.int8),
        mask=np.empty((n, words), dtype=np.int64),
        low=np.empty(n),
        wit=np.empty(n, dtype=np.int64),
        flag=np.empty(n, dtype=np.int8),
        head=np.empty(n, dtype=np.int64),
        link=np.empty((links, 2), dtype=np.int64),
        seen=np.empty((n, 4), dtype=np.int64),
        queue=np.empty(4 * n, dtype=np.int64),
        count=np.zeros(8, dtype=np.int64),
        frame=frame,
        trig=np.ascontiguousarray(trig),
        region=np.array(ends, dtype=np.float64),
        axis=np.empty(n, dtype=np.int8),
        gain=np.empty(n),
    )
    tree.lo[0], tree.lev[0] = 0, 0
    tree.low[0], tree.wit[0], tree.head[0], tree.seen[0] = math.inf, -1, -1, -1
    for word in range(words):
        tree.mask[0, word] = (1 << min(bx.WORD, len(packed.pairs) - bx.WORD * word)) - 1
    tree.count[[bx.BOXES, bx.SPARE, bx.WORDS]] = 1, -1, words
    tree.flag[0] = bx.regions(tree.lo, tree.lev, frame, tree.region, 0, 3)
    bx.classify(tree.cabin, tree.arrays, 0, grow_mm)
    if tree.flag[0] & bx.AT_START and tree.state[0] != bx.STUCK:
        tree.queue[0] = 0
        tree.count[bx.STARTS] = 1
    return tree


def apron(packed: Packed) -> float:
    """How far outside the bounds the body's origin may be while the body is inside [mm]."""
    first, last = packed.poly[packed.pairs[0, 0]]
    rows = packed.geo[first:last]
    if np.all(rows[:, 4] >= 0):
        return 0.0
    return float(packed.room[5])


def widest(scene: Scene, budget: Budget, bracket_mm: float = BRACKET_MM) -> Widest:
    """Bracket the widest clearance that a way from start to goal can keep.

    Grows or shrinks the body until the way shuts or opens, then halves the bracket. Where there
    is no way the numbers are negative: the pinch is short by that much.

    Raises:
        BadInput: the scene cannot be used.
    """
    first = explore(scene, budget)
    low, high, way = -math.inf, math.inf, None
    if isinstance(first, Open):
        low, way = float(first.clearance_mm.min()), first
    elif isinstance(first, Shut):
        high = 0.0
    packed = first.tree.packed
    budget = replace(budget, max_boxes=min(budget.max_boxes, PROBE_BOXES))
    step = FIRST_STEP_MM
    unsure = [0.0] if isinstance(first, Undecided) else []
    while high - low > bracket_mm and not budget.late():
        if math.isinf(high):
            probe = max(low, 0.0) + step
            step *= 2
        elif math.isinf(low):
            probe = min(high, 0.0) - step
            step *= 2
        elif not unsure:
            probe = (low + high) / 2
        else:
            below, above = min(unsure) - low, high - max(unsure)
            if max(below, above) <= bracket_mm / 4:
                break  # what is left between is what cannot be decided
            gap = max(below, above)
            probe = low + gap / 2 if below >= above else high - gap / 2
        told = explore(scene, budget, probe)
        if isinstance(told, Open):
            low, way = max(probe, float(told.clearance_mm.min())), told
        elif isinstance(told, Shut):
            high = probe
        else:
            unsure.append(probe)
        unsure = [value for value in unsure if low < value < high]
        if abs(probe) > packed.room[5] * 4:
            break
    at, pair = None, -1
    if way is not None:
        narrow = [pose_clearance(packed, (x, y, t)) for x, y, t in way.centre.tolist()]
        where = min(range(len(narrow)), key=lambda i: narrow[i])
        x, y, t = way.centre[where].tolist()
        at, pair = (x, y, t), narrow[where][1]
    return Widest(low, high, at, pair, way)
