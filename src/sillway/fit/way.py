"""The way from the ramp to the place, asked of the drive engine, and its answer as a check."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.ops import nearest_points

from sillway.fit.cabin import BACKING, BELOW_FLOOR, FORWARDS, WayIn, assumptions, floor_edges
from sillway.fit.check import Check, CheckClass, Finding, Margin, Settle
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Budget, Point, Pose, Prism, Scene
from sillway.fit.known import Basis
from sillway.fit.result import Certificate, Frame, Narrowest
from sillway.records.van import Van
from sillway.units import show_length

if TYPE_CHECKING:
    from sillway.fit.drive import certificate as certificates
    from sillway.fit.drive.subdivide import Shut

DIRECTIONS = (FORWARDS, BACKING)
CHECK_ID = "cabin.way"
_QUESTION = "Can the chair be driven from the ramp to its place?"
# A proof of no may take so many boxes; a call that needs more stays open.
_MOST_BOXES = 250_000
# Telling where it is closed is worth less than deciding it: fewer and coarser boxes, and the
# clearance there to so many mm.
_EXPLAIN_BOXES = 40_000
_EXPLAIN_FINEST_MM = 1.0
_EXPLAIN_MM = 2.0
# Looks at the clock that a short search ends after: some three runs of the search, half a second.
_SOME_STEPS = 3
# Frames for playback: one each so far along, or turned so far.
_FRAME_MM = 60.0
_FRAME_RAD = math.radians(5.0)
_WHY = {
    "tolerance": "it hangs on the tolerances",
    "shuffling": "a way exists that slides sideways, but no drive with few reversals was found",
    "resolution": "nearer to the threshold than the proof resolves",
    "gave up": "the search ended first",
}


class Effort(IntEnum):
    """How long a way is searched for."""

    EASY = 0  # only where one is easily found
    SOME = 1  # where the answer is a close call whatever the way: for the sheet's sake
    FULL = 2


def _after(steps: int, late: Callable[[], bool]) -> Callable[[], bool]:
    """Late also once it has been asked so often."""
    asked = itertools.count(1)
    return lambda: late() or next(asked) > steps


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: how the chair stands after the sill, and the scene it then drives in."""

    way_in: WayIn
    bad: Scene


@dataclass(frozen=True, slots=True)
class Way:
    """What the way comes to.

    Attributes:
        direction: of entry, where a way was found.
        certificate: of a yes; the whole path from outside to the place.
        shut: of a no, for every direction.
        check: the answer as a check.
        pinch: where it is narrowest or closed.
    """

    check: Check
    direction: str = ""
    certificate: Certificate | None = None
    shut: Shut | None = None
    pinch: Narrowest | None = None


def drive_in(
    basis: Basis,
    van: Van,
    one: Asked,
    wheels: Prism,
    late: Callable[[], bool],
    *,
    effort: Effort,
) -> Way | None:
    """A certified way in this direction, or None where none was found.

    Args:
        wheels: the rectangle round the wheels, which may not leave the floor.
    """
    from sillway.fit.drive import search
    from sillway.fit.drive.packed import pack
    from sillway.fit.drive.subdivide import Open, Shut, explore

    packed = pack(one.bad)
    found = search.quick(one.bad, packed)
    if found is None and effort is not Effort.EASY:
        if effort is Effort.SOME:
            late = _after(_SOME_STEPS, late)
        told = explore(one.bad, Budget(max_boxes=_MOST_BOXES, late=late))
        if isinstance(told, Shut):
            return None
        guide = told.centre if isinstance(told, Open) else None
        found = search.find(one.bad, packed, guide, late=late)
    if found is None:
        return None
    whole = _whole(basis, van, one, found, wheels, late)
    return None if whole is None else _yes(basis, van, one, whole)


def shut(good: Scene, late: Callable[[], bool]) -> Shut | None:
    """The proof that nobody gets to the goal, if there is one."""
    from sillway.fit.drive import subdivide

    told = subdivide.explore(good, Budget(max_boxes=_MOST_BOXES, late=late))
    return told if isinstance(told, subdivide.Shut) else None


def no_way(basis: Basis, van: Van, found: Shut, late: Callable[[], bool], *, explain: bool) -> Way:
    """A proof of no as a way, with where it is closed if that is to be told."""
    scene = found.tree.scene
    pinch, _, high = _pinch(scene, late) if explain else (None, 0.0, 0.0)
    where = f", {pinch.body} to {pinch.obstacle}" if pinch else ""
    short = -high if math.isfinite(high) else 0.0
    said = f"short by {show_length(short)}{where}" if short > 0 else f"closed{where}"
    best = min(-short, -_LEAST_SHORT_MM)
    check = Check(
        CHECK_ID, _QUESTION, CheckClass.PHYSICAL, Finding.FAILS, Margin(best, best, "mm"),
        "a way that touches nothing", said, assumptions(basis, van), _source(basis),
        note="No way, also sliding sideways, from anywhere outside, either way round.",
    )  # fmt: skip
    return Way(check, "", None, found, pinch)


def open_way(
    basis: Basis,
    van: Van,
    bad: Scene | None,
    good: Scene,
    late: Callable[[], bool],
    *,
    explain: bool,
) -> Way:
    """What neither a certificate nor a proof settles, and why."""
    from sillway.fit.drive.subdivide import Open, Shut, explore

    budget = Budget(max_boxes=_MOST_BOXES, late=late)
    worst = explore(bad, budget) if bad is not None and not late() else None
    if late():
        why = "gave up"
    elif bad is None or isinstance(worst, Shut):
        why = "tolerance"
    else:
        why = "shuffling" if isinstance(worst, Open) else "resolution"
    pinch, margin = None, None
    if not explain and not late():
        pinch = _narrow(explore(good, budget))
    elif not late():
        pinch, _, high = _pinch(good, late)
        if bad is not None:
            _, low, _ = _pinch(bad, late)
            if math.isfinite(low) and math.isfinite(high):
                margin = Margin(min(low, high), high, "mm")
    where = f" where {pinch.body} passes {pinch.obstacle}" if pinch else ""
    settle = tuple(
        Settle(name, f"measure {name} again, as closely as can be")
        for name in ([pinch.obstacle, f"chair {pinch.body}"] if pinch else ["the narrowest spot"])
    )
    check = Check(
        CHECK_ID, _QUESTION, CheckClass.PHYSICAL, Finding.CLOSE, margin,
        "a drive that touches nothing", f"not settled: {_WHY[why]}{where}",
        assumptions(basis, van), _source(basis), settle,
    )  # fmt: skip
    return Way(check, "", None, None, pinch)


def _whole(
    basis: Basis,
    van: Van,
    one: Asked,
    found: certificates.Certificate,
    wheels: Prism,
    late: Callable[[], bool],
) -> certificates.Certificate | None:
    """The path from outside over the sill, certified whole; wheels stay on the floor inside."""
    from sillway.fit.drive import search
    from sillway.fit.drive.certificate import certify
    from sillway.fit.drive.packed import pack

    packed = pack(one.bad)
    if not wheels_stay(basis, van, one.bad, found.path, found.arcs, wheels):
        edges = floor_edges(basis, van, one.bad.bounds)
        held = replace(
            one.bad, obstacles=(*one.bad.obstacles, *edges), body=(*one.bad.body, wheels)
        )
        again = search.find(held, pack(held), late=late)
        if again is None:
            return None
        found = again
    path = (one.way_in.outside, *found.path)
    arcs = {segment + 1: centre for segment, centre in found.arcs.items()}
    return certify(one.bad, packed, path, arcs)


def wheels_stay(
    basis: Basis,
    van: Van,
    bad: Scene,
    path: Sequence[Pose],
    arcs: Mapping[int, Point],
    wheels: Prism,
) -> bool:
    """Whether the rectangle round the wheels stays on the floor over the whole path."""
    from sillway.fit.drive.certificate import segment_clearance
    from sillway.fit.drive.packed import pack

    edges = tuple(floor_edges(basis, van, bad.bounds))
    floor = pack(replace(bad, obstacles=edges, body=(replace(wheels, z=BELOW_FLOOR),)))
    return all(
        segment_clearance(floor, a, b, arcs.get(i), 0.0, 0.0)[0] >= 0.0
        for i, (a, b) in enumerate(pairwise(path))
    )


def _yes(basis: Basis, van: Van, one: Asked, whole: certificates.Certificate) -> Way:
    narrowest = _narrowest(
        whole.scene, whole.narrowest.pose, whole.narrowest.body, whole.narrowest.obstacle
    )
    certificate = Certificate(
        whole.scene.obstacles,
        whole.scene.body,
        whole.path,
        dict(whole.arcs),
        whole.claimed_clearance_mm,
        narrowest,
    )
    claimed = whole.claimed_clearance_mm
    against = f", {narrowest.body} to {narrowest.obstacle}" if narrowest else ""
    reversals = f"{whole.reversals} reversal{'' if whole.reversals == 1 else 's'}"
    check = Check(
        CHECK_ID, _QUESTION, CheckClass.PHYSICAL, Finding.HOLDS, Margin(claimed, claimed, "mm"),
        "a drive that touches nothing", f"at least {show_length(claimed)} all the way{against}",
        assumptions(basis, van), _source(basis),
        note=f"{one.way_in.direction}, {reversals}; {comfort(basis, claimed)}",
    )  # fmt: skip
    return Way(check, one.way_in.direction, certificate, None, narrowest)


def comfort(basis: Basis, clearance_mm: float) -> str:
    """What a clearance asks of the driver, in the lot's own words."""
    from sillway import rules

    if clearance_mm >= basis.number("comfort.clearance.comfortable"):
        return rules.text("comfort.word.comfortable", basis.on)
    if clearance_mm >= basis.number("comfort.clearance.care"):
        return rules.text("comfort.word.care", basis.on)
    return rules.text("comfort.word.tight", basis.on)


# A proof of no shows that something is missing even where its size was not told.
_LEAST_SHORT_MM = 0.1


def _source(basis: Basis) -> str:
    return cite(basis, "physics.passage")


def _pinch(scene: Scene, late: Callable[[], bool]) -> tuple[Narrowest | None, float, float]:
    """Where the widest way that slides is narrowest, and the bracket of its clearance there. [mm]

    Negative clearance is what is short.
    """
    from sillway.fit.drive.certificate import body_and_obstacle, walls
    from sillway.fit.drive.subdivide import widest

    told = widest(scene, Budget(_EXPLAIN_BOXES, _EXPLAIN_FINEST_MM, late), _EXPLAIN_MM)
    if told.way is None or told.at is None or told.pair < 0:
        return None, told.low_mm, told.high_mm
    body, obstacle = body_and_obstacle(scene, told.way.tree.packed, told.at, told.pair)
    around = replace(scene, obstacles=(*scene.obstacles, *walls(scene)))
    spot = _narrowest(around, told.at, body, obstacle)
    return spot and replace(spot, clearance_mm=told.high_mm), told.low_mm, told.high_mm


def _narrow(told: object) -> Narrowest | None:
    """Where the way that was found sliding is narrowest; there may be a wider one."""
    from sillway.fit.drive.certificate import body_and_obstacle, walls
    from sillway.fit.drive.kernel import pose_clearance
    from sillway.fit.drive.subdivide import Open

    if not isinstance(told, Open):
        return None
    scene, packed = told.tree.scene, told.tree.packed
    poses = [(float(x), float(y), float(t)) for x, y, t in told.centre]
    _, pair, pose = min((*pose_clearance(packed, pose), pose) for pose in poses)
    around = replace(scene, obstacles=(*scene.obstacles, *walls(scene)))
    return _narrowest(around, pose, *body_and_obstacle(scene, packed, pose, pair))


def _narrowest(scene: Scene, pose: Pose, body: int, obstacle: int) -> Narrowest | None:
    """The two nearest points of a body prism and an obstacle at a pose."""
    if not 0 <= obstacle < len(scene.obstacles) or not 0 <= body < len(scene.body):
        return None
    x, y, theta = pose
    c, s = math.cos(theta), math.sin(theta)
    chair = affine_transform(Polygon(scene.body[body].polygon), (c, -s, s, c, x, y))
    thing = Polygon(scene.obstacles[obstacle].polygon)
    a, b = nearest_points(chair, thing)
    return Narrowest(
        pose, (a.x, a.y), (b.x, b.y), scene.body[body].name, scene.obstacles[obstacle].name,
        chair.distance(thing),
    )  # fmt: skip


def along(path: Sequence[Pose], arcs: Mapping[int, Point]) -> list[Pose]:
    """Poses along a path, close enough together to show it moving."""
    from sillway.fit.drive.primitives import around, forward

    out = [path[0]]
    for i, (a, b) in enumerate(pairwise(path)):
        turn, centre = b[2] - a[2], arcs.get(i)
        if turn == 0.0 and centre is None:
            length = (b[0] - a[0]) * math.cos(a[2]) + (b[1] - a[1]) * math.sin(a[2])
            n = max(math.ceil(abs(length) / _FRAME_MM), 1)
            out += [forward(a, length * k / n) for k in range(1, n)]
        else:
            n = max(math.ceil(abs(turn) / _FRAME_RAD), 1)
            pivot = centre if centre is not None else (a[0], a[1])
            out += [around(a, pivot, turn * k / n) for k in range(1, n)]
        out.append(b)
    return out


def frames(
    certificate: Certificate, bad: Scene, climb: Callable[[Pose], tuple[float, float]]
) -> tuple[Frame, ...]:
    """Frames for playback: pose, clearance there, and how the chair stands on the ramp.

    Args:
        climb: height of the body origin [mm] and pitch [rad] at a plan pose.
    """
    from sillway.fit.drive.kernel import pose_clearance
    from sillway.fit.drive.packed import pack

    packed = pack(bad)
    out = []
    for pose in along(certificate.path, certificate.arcs):
        clearance = max(pose_clearance(packed, pose)[0], certificate.claimed_clearance_mm)
        z, pitch = climb(pose)
        out.append(Frame(pose, clearance, z, pitch))
    return tuple(out)
