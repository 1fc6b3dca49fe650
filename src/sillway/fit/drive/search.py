"""Find a drivable path: fewest reversals, then least turning, then widest clearance.

Rough ways come from three places: the few shapes that need no search, a lattice that may lean into
the walls (lattice.py), and the same lattice drawn along a way that slides (subdivide.py). Each is
moved clear of the walls (polish.py), and counts only once certify() has bounded its whole sweep.
What is not found may still exist.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from sillway.fit.drive import lattice, polish
from sillway.fit.drive.certificate import LEAST_CLAIM_MM, Certificate, certify
from sillway.fit.drive.packed import Floats, Packed
from sillway.fit.drive.primitives import tidy
from sillway.fit.drive.scene import Car, Point, Pose, PoseBox, Scene, never

# A path that changes direction more often is shuffling, not driving in.
MOST_REVERSALS = 6
# The clearances a rough path is pushed towards, one after the other [mm].
_TARGETS_MM = (8.0, 3.0)
_ROUNDS = 60
# Widening asks for this much more than the last path kept, until it no longer gains _GAIN_MM.
_WIDEN_MM = 8.0
_WIDEN_LESS_MM = 2.0
_GAIN_MM = 0.5
_WIDENINGS = 6
_WIDENINGS_WIDEST = 40
# A path's end may miss the goal by this before it is closed up [mm], and after.
_MISS_MM = 2.0
_CLOSED_MM = 1e-7
# Prices of a way on the lattice, in mm driven.
_PRICES = {"switch": 80.0, "turn_per_rad": 300.0, "scare": 8.0}
_GUIDE_POSES = 80
# The widest path: a lattice shy of walls nearer than this, on so many levels; drives cut in two so
# often, while a path has no more motions than this.
_SHY_MM = 120.0
_SHY_LEVELS = 3
_CUTS = 2
_MOST_MOTIONS = 40
# Once a path is found, one more run is made where a reversal costs this.
_RELUCTANT_MM = 4000.0


@dataclass(frozen=True, slots=True)
class Level:
    """One run of the lattice.

    Attributes:
        overlap_mm: how deep a pose may lean into a wall.
        greed: weight of what lies ahead against what lies behind; 1 looks widest.
        stray: what leaving the guide costs, against following it.
        poses: how many may be opened.
        reversal_mm: what a reversal costs, in mm driven.
        soft_mm: nearer to a wall than this costs more.
    """

    cell_mm: float
    turn_deg: float
    overlap_mm: float
    greed: float
    stray: float
    poses: int
    guided: bool
    reversal_mm: float = 800.0
    soft_mm: float = 40.0


QUICK = (Level(60.0, 7.5, 20.0, 2.0, 2.0, 20_000, False),)
LEVELS = (
    Level(40.0, 5.0, 30.0, 2.0, 2.0, 60_000, True),
    Level(40.0, 5.0, 30.0, 1.0, 1.5, 120_000, True),
    Level(25.0, 3.0, 30.0, 2.0, 2.0, 120_000, True),
    Level(25.0, 3.0, 20.0, 1.0, 1.0, 150_000, False),
    Level(15.0, 2.0, 30.0, 1.0, 1.0, 250_000, False),
    Level(10.0, 1.25, 12.0, 2.0, 2.0, 300_000, True),
)


def _floats(values: object) -> Floats:
    """An array of floats, whatever numbers a scene was written with."""
    return np.array(values, dtype=np.float64)


@dataclass(slots=True)
class Rough:
    """A path to be pushed clear: motions as polish.lay_out reads them, and where it begins."""

    motions: Floats
    start: Floats

    def copy(self) -> Rough:
        return Rough(self.motions.copy(), self.start.copy())


def quick(scene: Scene, packed: Packed) -> Certificate | None:
    """A path where one is easily found, within a few milliseconds."""
    for rough in _simple_shapes(scene):
        found = _settle(scene, packed, rough)
        if found:
            return _better(scene, packed, found, never)
    found = _first(scene, packed, None, QUICK, MOST_REVERSALS, never)
    return _better(scene, packed, found, never) if found else None


def find(
    scene: Scene,
    packed: Packed,
    guide: Floats | None = None,
    *,
    most_reversals: int = MOST_REVERSALS,
    late: Callable[[], bool] = never,
) -> Certificate | None:
    """The best path found, or None where none was.

    Args:
        guide: poses (x, y, theta) a row [mm, rad] of a way that may slide sideways, to search
            along; without it the lattice is on its own.
        late: asked between steps; True ends the search with what there is.
    """
    found = None
    for rough in _simple_shapes(scene):
        found = _settle(scene, packed, rough)
        if found:
            break
    if not found:
        found = _first(scene, packed, guide, (*QUICK, *LEVELS), most_reversals, late)
    if found:
        found = _better(scene, packed, found, late)
    return found


def widest(
    scene: Scene,
    packed: Packed,
    guide: Floats | None,
    found: Certificate,
    late: Callable[[], bool] = never,
) -> Certificate:
    """The widest path that comes from ``found``, or from a lattice shy of walls along a guide."""
    best = _widened(scene, packed, found, late)
    for level in LEVELS[:_SHY_LEVELS]:
        if late():
            break
        rough = _from_lattice(scene, packed, guide, replace(level, soft_mm=_SHY_MM))
        other = _settle(scene, packed, rough) if rough else None
        if other and other.reversals <= MOST_REVERSALS:
            other = _widened(scene, packed, other, late)
            best = max(best, other, key=lambda c: c.claimed_clearance_mm)
    return best


def _widened(
    scene: Scene, packed: Packed, found: Certificate, late: Callable[[], bool]
) -> Certificate:
    """The same path, then with its drives cut in two, moved until nothing more is gained."""
    for _ in range(_CUTS + 1):
        found = _wider(scene, packed, found, late, _WIDENINGS_WIDEST)
        if isinstance(scene.drive, Car) or late():
            break
        rows: list[list[float]] = []
        for kind, amount, side in _rough_of(found).motions.tolist():
            if kind == 1.0:
                rows += [[1.0, amount / 2, side], [0.0, 0.0, 0.0]]
            rows.append([kind, amount / 2 if kind == 1.0 else amount, side])
        if len(rows) > _MOST_MOTIONS:
            break
        finer = Rough(_floats(rows), _floats(found.path[0]))
        found = _wider(scene, packed, found, late, _WIDENINGS_WIDEST, finer)
    return found


def _first(
    scene: Scene,
    packed: Packed,
    guide: Floats | None,
    levels: tuple[Level, ...],
    most_reversals: int,
    late: Callable[[], bool],
) -> Certificate | None:
    for level in levels:
        if late():
            return None
        rough = _from_lattice(scene, packed, guide, level)
        if rough is None:
            continue
        found = _settle(scene, packed, rough)
        if found and found.reversals and not late():
            calm = replace(level, greed=1.0, reversal_mm=_RELUCTANT_MM)
            rough = _from_lattice(scene, packed, guide, calm)
            other = _settle(scene, packed, rough) if rough else None
            if other and _rank(other) < _rank(found):
                found = other
        if found and found.reversals <= most_reversals:
            return found
    return None


# --- rough paths -----------------------------------------------------------------------------


def _middle(box: PoseBox) -> Pose:
    return (sum(box.x) / 2, sum(box.y) / 2, sum(box.theta) / 2)


def _wrapped(angle: float) -> float:
    return (angle + math.pi) % (2 * math.pi) - math.pi


def _simple_shapes(scene: Scene) -> Iterator[Rough]:
    """Straight; turn, drive, turn; drive, turn, drive. A car only the first."""
    a, b = _middle(scene.start), _middle(scene.goal)
    start = _floats(a)
    dx, dy = b[0] - a[0], b[1] - a[1]
    if isinstance(scene.drive, Car):
        way = dx * math.cos(a[2]) + dy * math.sin(a[2])
        yield Rough(_floats([[1.0, way, 0.0]]), start.copy())
        return
    far, line = math.hypot(dx, dy), math.atan2(dy, dx)
    for sign in (1.0, -1.0):
        heading = line if sign > 0 else line + math.pi
        first, last = _wrapped(heading - a[2]), _wrapped(b[2] - heading)
        yield Rough(
            _floats([[0.0, first, 0.0], [1.0, sign * far, 0.0], [0.0, last, 0.0]]), start.copy()
        )
    turn = _wrapped(b[2] - a[2])
    across = math.sin(turn)
    if abs(across) < 0.05:
        return
    # Where the start's line meets the goal's.
    one = (dx * math.sin(b[2]) - dy * math.cos(b[2])) / across
    two = (dy * math.cos(a[2]) - dx * math.sin(a[2])) / across
    for way in (turn, turn - math.copysign(2 * math.pi, turn)):
        rows = [[0, 0, 0], [1, one, 0], [0, way, 0], [1, two, 0], [0, 0, 0]]
        yield Rough(_floats(rows), start.copy())


def _roots(box: PoseBox) -> Floats:
    """Poses to begin at: the middle, and the ends of what has extent."""
    axes = [
        [(low + high) / 2] + ([low, high] if high > low else [])
        for low, high in (box.x, box.y, box.theta)
    ]
    return _floats([[x, y, t] for x in axes[0] for y in axes[1] for t in axes[2]])


def guide_rows(guide: Floats | None) -> Floats:
    """The guide with the price from each pose to its end, thinned."""
    if guide is None or len(guide) == 0:
        return np.zeros((0, 4))
    headings = np.unwrap(guide[:, 2])
    steps = np.hypot(np.diff(guide[:, 0]), np.diff(guide[:, 1]))
    steps = steps + _PRICES["turn_per_rad"] * np.abs(np.diff(headings))
    ahead = np.append(np.cumsum(steps[::-1])[::-1], 0.0)
    rows = np.column_stack([guide, ahead])
    if len(rows) > _GUIDE_POSES:
        rows = rows[np.linspace(0, len(rows) - 1, _GUIDE_POSES).astype(int)]
    return np.ascontiguousarray(rows)


def _core_mm(scene: Scene) -> float:
    """Radius of a disc about the origin that lies in every layer of the body (0: none does)."""
    core = math.inf
    for prism in scene.body:
        corners = [*prism.polygon, prism.polygon[0]]
        for (ax, ay), (bx, by) in pairwise(corners):
            size = math.hypot(bx - ax, by - ay)
            if size > 0:
                core = min(core, (ax * by - bx * ay) / size)
    return max(0.0, core)


def _from_lattice(scene: Scene, packed: Packed, guide: Floats | None, level: Level) -> Rough | None:
    radius = scene.drive.min_turn_radius_mm if isinstance(scene.drive, Car) else 0.0
    weights = np.zeros(13)
    weights[lattice.CELL] = level.cell_mm
    weights[lattice.TURN] = math.radians(level.turn_deg)
    weights[lattice.OVERLAP] = level.overlap_mm
    weights[lattice.SOFT] = level.soft_mm
    weights[lattice.SCARE] = _PRICES["scare"]
    weights[lattice.REVERSAL] = level.reversal_mm
    weights[lattice.SWITCH] = _PRICES["switch"]
    weights[lattice.TURN_PRICE] = _PRICES["turn_per_rad"]
    weights[lattice.GREED] = level.greed
    weights[lattice.RADIUS] = radius
    weights[lattice.MOST] = level.poses
    weights[lattice.CORE] = _core_mm(scene)
    weights[lattice.STRAY] = level.stray
    goal = _floats([*scene.goal.x, *scene.goal.y, *scene.goal.theta])
    roots = _roots(scene.start)
    along = guide_rows(guide if level.guided else None)
    rows, _ = lattice.search_lattice(*packed, roots, goal, along, weights)
    if len(rows) == 0:
        return None
    start = roots[int(rows[0, 1])].copy()
    steps = rows[1:]
    return Rough(_car_motions(steps, radius) if radius > 0 else _spot_motions(steps), start)


def _spot_motions(steps: Floats) -> Floats:
    """Turn, drive, turn, … turn: like steps joined."""
    out: list[list[float]] = [[0.0, 0.0, 0.0]]
    for move, amount in steps:
        kind = 1.0 if move < lattice.LEFT else 0.0
        if out[-1][0] == kind:
            out[-1][1] += amount
        else:
            out.append([kind, amount, 0.0])
    if out[-1][0] != 0.0:
        out.append([0.0, 0.0, 0.0])
    return _floats(out)


def _car_motions(steps: Floats, radius: float) -> Floats:
    """Arcs with a straight piece, perhaps empty, before, between and after them."""
    out: list[list[float]] = []
    for move, amount in steps:
        code = int(move) % 4
        side = 0.0 if code < lattice.LEFT else (radius if code == lattice.LEFT else -radius)
        kind = 1.0 if code < lattice.LEFT else 0.0
        if out and out[-1][0] == kind and out[-1][2] == side and out[-1][1] * amount >= 0:
            out[-1][1] += amount
            continue
        if kind == 0.0 and (not out or out[-1][0] == 0.0):
            out.append([1.0, 0.0, 0.0])
        out.append([kind, amount, side])
    if not out or out[-1][0] == 0.0:
        out.append([1.0, 0.0, 0.0])
    return _floats(out)


# --- from rough to certified -----------------------------------------------------------------


def _signs(motions: Floats) -> Floats:
    """The direction each driven motion keeps; a turn on the spot may go either way."""
    driven = (motions[:, 0] == 1.0) | (motions[:, 2] != 0.0)
    return np.where(driven, np.sign(motions[:, 1]), 0.0)


def _settle(scene: Scene, packed: Packed, rough: Rough) -> Certificate | None:
    """Push a rough path clear, close it up and certify it."""
    for target in _TARGETS_MM:
        found = _pushed(scene, packed, rough, target)
        if found:
            return found
    return None


def _pushed(scene: Scene, packed: Packed, rough: Rough, target: float) -> Certificate | None:
    """Push ``rough`` (in place) towards a clearance; its certificate if it comes to one."""
    goal = _goal_near(scene.goal, rough)
    box = _floats([*scene.start.x, *scene.start.y, *scene.start.theta])
    signs = _signs(rough.motions)
    least, miss, _ = polish.push_clear(
        *packed, rough.motions, signs, rough.start, box, goal, target, _ROUNDS
    )
    if least < LEAST_CLAIM_MM or miss > _MISS_MM:
        return None
    return _certified(scene, packed, rough, goal)


def _certified(scene: Scene, packed: Packed, rough: Rough, goal: Floats) -> Certificate | None:
    closed = rough.copy()
    if _close_up(closed, goal, float(packed.room[5])) > _CLOSED_MM:
        return None
    path, arcs = _poses(closed)
    if not arcs:
        path = tidy(path)
    return certify(scene, packed, path, arcs)


def _goal_near(goal: PoseBox, rough: Rough) -> Floats:
    """The goal box, its headings shifted by the whole turns the path makes."""
    turns = rough.motions[rough.motions[:, 0] == 0.0, 1].sum()
    end = rough.start[2] + turns
    whole = 2 * math.pi * round((end - sum(goal.theta) / 2) / (2 * math.pi))
    return _floats([*goal.x, *goal.y, goal.theta[0] + whole, goal.theta[1] + whole])


def _end_and_slopes(rough: Rough) -> tuple[Floats, Floats]:
    """The last pose, and how it moves with the amount of each motion."""
    laid = np.empty((len(rough.motions) + 1, 5))
    polish.lay_out(rough.motions, rough.start, laid)
    end = laid[-1, :3].copy()
    straight = rough.motions[:, 0] == 1.0
    slopes = np.zeros((3, len(rough.motions)))
    slopes[0] = np.where(straight, np.cos(laid[:-1, 2]), laid[:-1, 4] - end[1])
    slopes[1] = np.where(straight, np.sin(laid[:-1, 2]), end[0] - laid[:-1, 3])
    slopes[2] = np.where(straight, 0.0, 1.0)
    return end, slopes


def _close_up(rough: Rough, goal: Floats, reach_mm: float) -> float:
    """Bring the end into the goal by the least changes, in place; what it still misses [mm]."""
    low, high = goal[0::2], goal[1::2]
    inner = np.minimum(1e-6, (high - low) / 4)
    weight = np.where(rough.motions[:, 0] == 1.0, 1.0, 1.0 / reach_mm**2)
    # A driven motion of no length stays so: it might turn into a reversal.
    driven = (rough.motions[:, 0] == 1.0) | (rough.motions[:, 2] != 0.0)
    weight = np.where(driven & (np.abs(rough.motions[:, 1]) < 1e-6), 0.0, weight)
    scale = _floats([1.0, 1.0, reach_mm])
    for _ in range(8):
        end, slopes = _end_and_slopes(rough)
        miss = np.clip(end, low, high) - end
        if float(np.linalg.norm(miss * scale)) <= _CLOSED_MM / 10:
            break
        miss = np.clip(end, low + inner, high - inner) - end
        system = (slopes * weight) @ slopes.T
        step = weight * (slopes.T @ np.linalg.lstsq(system, miss, rcond=1e-12)[0])
        rough.motions[:, 1] += step
    end, _ = _end_and_slopes(rough)
    return float(np.linalg.norm((np.clip(end, low, high) - end) * scale))


def _poses(rough: Rough) -> tuple[list[Pose], dict[int, Point]]:
    """The path and its arcs, empty motions left out."""
    laid = np.empty((len(rough.motions) + 1, 5))
    polish.lay_out(rough.motions, rough.start, laid)
    path: list[Pose] = [_pose(laid[0])]
    arcs: dict[int, Point] = {}
    for k, (_, amount, side) in enumerate(rough.motions):
        if abs(amount) < 1e-12:
            continue
        if side != 0.0:
            arcs[len(path) - 1] = (float(laid[k, 3]), float(laid[k, 4]))
        path.append(_pose(laid[k + 1]))
    return path, arcs


def _pose(row: Floats) -> Pose:
    return float(row[0]), float(row[1]), float(row[2])


# --- making a path better --------------------------------------------------------------------


def _rough_of(found: Certificate) -> Rough:
    """The motions of a certified path."""
    spot = not isinstance(found.scene.drive, Car)
    rows: list[list[float]] = []
    for i, (a, b) in enumerate(pairwise(found.path)):
        c, s = math.cos(a[2]), math.sin(a[2])
        if i in found.arcs:
            cx, cy = found.arcs[i]
            rows.append([0.0, b[2] - a[2], c * (cy - a[1]) - s * (cx - a[0])])
        elif a[2] != b[2]:
            rows.append([0.0, b[2] - a[2], 0.0])
        else:
            rows.append([1.0, (b[0] - a[0]) * c + (b[1] - a[1]) * s, 0.0])
    out: list[list[float]] = []
    filler = [0.0, 0.0, 0.0] if spot else [1.0, 0.0, 0.0]
    for row in rows:
        if (not out or out[-1][0] != filler[0]) and row[0] != filler[0]:
            out.append(list(filler))
        out.append(row)
    if not out or out[-1][0] != filler[0]:
        out.append(list(filler))
    return Rough(_floats(out), _floats(found.path[0]))


def _better(
    scene: Scene,
    packed: Packed,
    found: Certificate,
    late: Callable[[], bool],
) -> Certificate:
    """Leave out what a path does not need, then widen it."""
    if not isinstance(scene.drive, Car):
        found = _shorter(scene, packed, found, late)
    return _wider(scene, packed, found, late, _WIDENINGS)


def _rank(found: Certificate) -> tuple[int, float]:
    return found.reversals, round(found.turning_rad, 2)


def _shorter(
    scene: Scene, packed: Packed, found: Certificate, late: Callable[[], bool]
) -> Certificate:
    """Try the path without each of its drives, the shortest first."""
    again = True
    while again and not late():
        again = False
        rough = _rough_of(found)
        drives = [k for k in range(len(rough.motions)) if rough.motions[k, 0] == 1.0]
        if len(drives) < 2:
            break
        for k in sorted(drives, key=lambda k: abs(float(rough.motions[k, 1]))):
            rows = [list(map(float, row)) for row in rough.motions]
            rows[k - 1][1] += rows[k + 1][1]
            del rows[k : k + 2]
            trial = _settle(scene, packed, Rough(_floats(rows), rough.start.copy()))
            if trial and _rank(trial) <= _rank(found):
                found, again = trial, True
                break
            if late():
                break
    return found


def _wider(
    scene: Scene,
    packed: Packed,
    found: Certificate,
    late: Callable[[], bool],
    times: int,
    rough: Rough | None = None,
) -> Certificate:
    """Push for more clearance as long as it comes without more reversals."""
    rough = rough or _rough_of(found)
    step = _WIDEN_MM
    for _ in range(times):
        if late():
            break
        trial = _pushed(scene, packed, rough, found.claimed_clearance_mm + step)
        gain = 0.0
        if trial and trial.reversals <= found.reversals:
            gain = trial.claimed_clearance_mm - found.claimed_clearance_mm
        if trial and gain > 0:
            found = trial
        if gain < _GAIN_MM:
            if step < _WIDEN_MM:
                break
            # A smaller wish listens more to the narrowest spot.
            step, rough = _WIDEN_LESS_MM, _rough_of(found)
    return found
