"""The way from the ramp to the place, asked of the drive engine, and its answer as a check."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.ops import nearest_points

from sillway.fit.cabin import BACKING, BELOW_FLOOR, FORWARDS, WayIn, assumptions, floor_edges
from sillway.fit.check import Check, CheckClass, Finding, Margin, Settle
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Budget, Point, Pose, Prism, Scene, Verdict
from sillway.fit.known import Basis
from sillway.fit.result import Certificate, Frame, Narrowest
from sillway.records.van import Van
from sillway.units import show_length

if TYPE_CHECKING:
    from sillway.fit.drive import certificate as certificates
    from sillway.fit.drive.answer import DriveAnswer, Pinch
    from sillway.fit.drive.subdivide import Shut

DIRECTIONS = (FORWARDS, BACKING)
CHECK_ID = "cabin.way"
_QUESTION = "Can the chair be driven from the ramp to its place?"
# A proof of no may take so many boxes; a call that needs more stays open.
_MOST_BOXES = 250_000
# Frames for playback: one each so far along, or turned so far.
_FRAME_MM = 60.0
_FRAME_RAD = math.radians(5.0)
_WHY = {
    "tolerance": "it hangs on the tolerances",
    "shuffling": "a way exists that slides sideways, but no drive with few reversals was found",
    "resolution": "nearer to the threshold than the proof resolves",
    "gave up": "the search ended first",
    "": "the search ended first",
}


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


def find_way(
    basis: Basis,
    van: Van,
    asked: Sequence[Asked],
    good: Scene,
    wheels: Prism,
    late: Callable[[], bool],
    *,
    explain: bool = True,
    quick_only: bool = False,
) -> Way | None:
    """Drive in one of the directions, or prove that nobody can, or say what is open.

    Args:
        asked: the directions to try, the better one first.
        good: the scene whose no is a no.
        wheels: the rectangle round the wheels, which may not leave the floor.
        quick_only: only look for an easy yes; None where there is none.
    """
    from sillway.fit.drive import search
    from sillway.fit.drive.answer import solve
    from sillway.fit.drive.packed import pack

    for one in asked:
        if (found := search.quick(one.bad, pack(one.bad))) is not None:
            whole = _whole(basis, van, one, found, wheels, late)
            if whole is not None:
                return _yes(basis, van, one, whole)
    if quick_only:
        return None
    budget = Budget(max_boxes=_MOST_BOXES, late=late)
    open_answer: DriveAnswer | None = None
    for number, one in enumerate(asked):
        answer = solve(one.bad, good, budget, explain=explain and number == 0)
        if answer.verdict is Verdict.NO:
            return _no(basis, van, good, answer)
        if answer.verdict is Verdict.FITS and answer.certificate is not None:
            whole = _whole(basis, van, one, answer.certificate, wheels, late)
            if whole is not None:
                return _yes(basis, van, one, whole)
        open_answer = open_answer or answer
    return _open(basis, van, good, open_answer)


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


def _no(basis: Basis, van: Van, good: Scene, answer: DriveAnswer) -> Way:
    pinch = _pinch(good, answer.pinch)
    short = -answer.pinch.spare_mm[1] if answer.pinch else 0.0
    where = f", {pinch.body} to {pinch.obstacle}" if pinch else ""
    said = f"short by {show_length(short)}{where}" if short > 0 else f"closed{where}"
    best = min(-short, -_LEAST_SHORT_MM)
    check = Check(
        CHECK_ID, _QUESTION, CheckClass.PHYSICAL, Finding.FAILS, Margin(best, best, "mm"),
        "a way that touches nothing", said, assumptions(basis, van), _source(basis),
        note="No way, also sliding sideways, from anywhere outside, either way round.",
    )  # fmt: skip
    return Way(check, "", None, answer.shut, pinch)


# A proof of no shows that something is missing even where its size was not told.
_LEAST_SHORT_MM = 0.1


def _open(basis: Basis, van: Van, good: Scene, answer: DriveAnswer | None) -> Way:
    pinch = _pinch(good, answer.pinch) if answer else None
    margin = Margin(*answer.grey_mm, "mm") if answer and answer.grey_mm else None
    why = _WHY[answer.why if answer else ""]
    where = f" where {pinch.body} passes {pinch.obstacle}" if pinch else ""
    settle = tuple(
        Settle(name, f"measure {name} again, as closely as can be")
        for name in ([pinch.obstacle, f"chair {pinch.body}"] if pinch else ["the narrowest spot"])
    )
    check = Check(
        CHECK_ID, _QUESTION, CheckClass.PHYSICAL, Finding.CLOSE, margin,
        "a drive that touches nothing", f"not settled: {why}{where}",
        assumptions(basis, van), _source(basis), settle,
    )  # fmt: skip
    return Way(check, "", None, None, pinch)


def _source(basis: Basis) -> str:
    return cite(basis, "physics.passage")


def _pinch(scene: Scene, pinch: Pinch | None) -> Narrowest | None:
    if pinch is None:
        return None
    spot = _narrowest(scene, pinch.pose, pinch.body, pinch.obstacle)
    return spot and replace(spot, clearance_mm=pinch.spare_mm[1])


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
