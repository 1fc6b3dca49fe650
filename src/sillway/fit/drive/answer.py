"""One manoeuvre question answered from both sides.

The yes is sought in the bad scene (every measurement at its bad end), the no in the good one. What
neither settles is too close to call, and says why. Cheap things come first: an easy yes never
touches the subdivision. Compiled code is loaded only when something is asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sillway.fit.drive.scene import Budget, Pose, Scene, Verdict

if TYPE_CHECKING:
    from sillway.fit.drive.certificate import Certificate
    from sillway.fit.drive.packed import Floats, Packed
    from sillway.fit.drive.subdivide import Open, Shut, Undecided

# Explaining a no or a close call is worth less than deciding it: fewer and coarser boxes.
_EXPLAIN_BOXES = 40_000
_EXPLAIN_FINEST_MM = 1.0
# The pinch is told to this [mm].
_PINCH_MM = 2.0

TOLERANCE = "tolerance"
SHUFFLING = "shuffling"
RESOLUTION = "resolution"
GAVE_UP = "gave up"


@dataclass(frozen=True, slots=True)
class Pinch:
    """Where a way is narrowest, or closed.

    Attributes:
        obstacle: counts on past the scene's obstacles through the four walls of the bounds.
        spare_mm: (least, most) clearance the widest way can have there; negative: it is short.
    """

    pose: Pose
    body: int
    body_name: str
    obstacle: int
    obstacle_name: str
    spare_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Settle:
    """A measurement that would settle a close call: of a prism of the body or of the cabin."""

    of: str
    index: int
    name: str


@dataclass(frozen=True, slots=True)
class DriveAnswer:
    """What a question came to.

    Attributes:
        verdict: FITS, NO or CLOSE.
        certificate: of the yes, in the bad scene; for a close call a path in the good scene, if
            one was found (then measuring may still turn it into a yes).
        shut: behind a no, for the good scene (see proof.prove).
        why: of a close call: "tolerance" (a yes at one end of the measurements, none shown at the
            other), "shuffling" (a way that slides sideways exists, no drive with few reversals was
            found), "resolution" (nearer to the threshold than the proof resolves), "gave up" (the
            budget ended first).
        pinch: where it is decided. grey_mm: (low, high) spare clearance of the widest way that
            slides, from the bad scene's lower bound to the good scene's upper bound.
    """

    verdict: Verdict
    certificate: Certificate | None = None
    shut: Shut | None = None
    why: str = ""
    pinch: Pinch | None = None
    settle: tuple[Settle, ...] = ()
    grey_mm: tuple[float, float] | None = None


def solve(
    bad: Scene,
    good: Scene,
    budget: Budget | None = None,
    *,
    widest: bool = False,
    explain: bool = True,
) -> DriveAnswer:
    """Answer a question.

    Args:
        bad, good: the scene with every measurement at its bad and at its good end; may be one.
        widest: seek the widest path instead of the one with the fewest reversals.
        explain: also tell where a no is closed, and the grey band of a close call.

    Raises:
        BadInput: a scene cannot be used.
    """
    from sillway.fit.drive import search, subdivide
    from sillway.fit.drive.packed import pack

    budget = budget or Budget()
    packed = pack(bad)
    found = search.quick(bad, packed)
    if found:
        if widest:
            found = _widest(bad, packed, found, budget)
        return DriveAnswer(Verdict.FITS, certificate=found)
    at_best = subdivide.explore(good, budget)
    if isinstance(at_best, subdivide.Shut):
        pinch, _ = _pinch(good, budget) if explain else (None, 0.0)
        return DriveAnswer(Verdict.NO, shut=at_best, pinch=pinch)
    at_worst = at_best if bad is good else subdivide.explore(bad, budget)
    if not isinstance(at_worst, subdivide.Shut):
        found = search.find(bad, packed, _guide(at_worst), late=budget.late)
    if found:
        if widest:
            found = _widest(bad, packed, found, budget)
        return DriveAnswer(Verdict.FITS, certificate=found)
    return _close(bad, good, at_worst, at_best, budget, explain)


def _widest(scene: Scene, packed: Packed, found: Certificate, budget: Budget) -> Certificate:
    """The widest of the path found and of one drawn along the widest slide."""
    from sillway.fit.drive import search, subdivide

    coarse = Budget(min(budget.max_boxes, _EXPLAIN_BOXES), _EXPLAIN_FINEST_MM, budget.late)
    way = subdivide.widest(scene, coarse, _PINCH_MM).way
    guide = way.centre if way else None
    return search.widest(scene, packed, guide, found, late=budget.late)


def _guide(told: Open | Shut | Undecided) -> Floats | None:
    from sillway.fit.drive.subdivide import Open

    return told.centre if isinstance(told, Open) else None


def _close(
    bad: Scene,
    good: Scene,
    at_worst: Open | Shut | Undecided,
    at_best: Open | Shut | Undecided,
    budget: Budget,
    explain: bool,
) -> DriveAnswer:
    """Say why a question stays open."""
    from sillway.fit.drive import search
    from sillway.fit.drive.packed import pack
    from sillway.fit.drive.subdivide import Open, Shut

    driven = None
    if bad is not good and not budget.late():
        driven = search.find(good, pack(good), _guide(at_best), late=budget.late)
    if driven or (isinstance(at_worst, Shut) and isinstance(at_best, Open)):
        why = TOLERANCE
    elif budget.late():
        why = GAVE_UP
    elif isinstance(at_worst, Open) or isinstance(at_best, Open):
        why = SHUFFLING
    else:
        why = RESOLUTION if "resolution" in (_why(at_worst), _why(at_best)) else GAVE_UP
    pinch, most = _pinch(good, budget) if explain else (None, 0.0)
    grey = None
    if explain and pinch:
        worst, _ = (pinch, most) if bad is good else _pinch(bad, budget)
        if worst:
            grey = (worst.spare_mm[0], most)
    if pinch is None and isinstance(at_best, Open):
        pinch = _narrowest(good, pack(good), at_best)
    return DriveAnswer(
        Verdict.CLOSE,
        certificate=driven,
        why=why,
        pinch=pinch,
        settle=_settles(pinch),
        grey_mm=grey,
    )


def _why(told: Open | Shut | Undecided) -> str:
    return getattr(told, "why", "")


def _settles(pinch: Pinch | None) -> tuple[Settle, ...]:
    if pinch is None:
        return ()
    return (
        Settle("obstacle", pinch.obstacle, pinch.obstacle_name),
        Settle("body", pinch.body, pinch.body_name),
    )


def _pinch(scene: Scene, budget: Budget) -> tuple[Pinch | None, float]:
    """Where the widest way that slides is narrowest, and the most clearance it can have."""
    from sillway.fit.drive import subdivide

    if budget.late():
        return None, 0.0
    coarse = Budget(min(budget.max_boxes, _EXPLAIN_BOXES), _EXPLAIN_FINEST_MM, budget.late)
    told = subdivide.widest(scene, coarse, _PINCH_MM)
    if told.way is None or told.at is None or told.pair < 0:
        return None, told.high_mm
    spare = (told.low_mm, told.high_mm)
    return _faces(scene, told.way.tree.packed, told.at, told.pair, spare), told.high_mm


def _narrowest(scene: Scene, packed: Packed, way: Open) -> Pinch | None:
    """The narrowest pose along a tube."""
    from sillway.fit.drive.kernel import pose_clearance

    poses = [(float(x), float(y), float(t)) for x, y, t in way.centre]
    seen = [(*pose_clearance(packed, pose), pose) for pose in poses]
    if not seen:
        return None
    distance, pair, pose = min(seen)
    return _faces(scene, packed, pose, pair, (float(way.clearance_mm.min()), distance))


def _faces(
    scene: Scene, packed: Packed, pose: Pose, pair: int, spare_mm: tuple[float, float]
) -> Pinch:
    from sillway.fit.drive.certificate import body_and_obstacle, walls

    body, obstacle = body_and_obstacle(scene, packed, pose, pair)
    name = (*scene.obstacles, *walls(scene))[obstacle].name
    return Pinch(pose, body, scene.body[body].name, obstacle, name, spare_mm)
