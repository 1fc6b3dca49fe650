"""What a fit answers: a verdict, and everything that backs it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from sillway.fit.check import Check, Settle
from sillway.fit.drive.scene import Point, Pose, Prism, Verdict
from sillway.fit.known import Known


@dataclass(frozen=True, slots=True)
class Condition:
    """Something a `fits with conditions` hangs on, and who can settle it."""

    check_id: str
    says: str
    who: str


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Who is where: the chair's place, the way in, each seat's state, each walker's seat."""

    place: str
    place_kind: str
    direction: str  # "forwards" | "backing"
    seats: Mapping[str, str]
    walkers: Mapping[str, str]
    other_chairs: Mapping[str, str] = field(default_factory=dict)

    def changes(self) -> tuple[str, ...]:
        """What must be folded or taken out, as words."""
        return tuple(f"seat {s} {state}" for s, state in self.seats.items() if state != "in use")


@dataclass(frozen=True, slots=True)
class Narrowest:
    """Where along the way the clearance is smallest: the two nearest points and whose they are."""

    pose: Pose
    on_body: Point
    on_obstacle: Point
    body: str
    obstacle: str
    clearance_mm: float


@dataclass(frozen=True, slots=True)
class Certificate:
    """A drivable path whose clearance is guaranteed with every measure at its bad end.

    Attributes:
        obstacles, body: as used, tolerances applied. [mm]
        path: successive poses, each joined to the next by a straight drive or a turn on the spot;
            the first is outside on the ramp, the last is the place.
        arcs: centre of the arc for those segments that a car-like drive bends.
        claimed_clearance_mm: guaranteed lower bound over the whole motion.
    """

    obstacles: tuple[Prism, ...]
    body: tuple[Prism, ...]
    path: tuple[Pose, ...]
    arcs: Mapping[int, Point]
    claimed_clearance_mm: float
    narrowest: Narrowest | None = None


@dataclass(frozen=True, slots=True)
class OtherCertified:
    """Another chair of the party, with what certifies its way.

    Attributes:
        order: which chair comes in so early: 1 is the first; out it goes the other way about.
    """

    name: str
    place: str
    pose: Pose
    direction: str
    order: int
    certificate: Certificate


@dataclass(frozen=True, slots=True)
class Proof:
    """What backs a no: each way the answer could have been yes, and why it is not.

    Attributes:
        covered: the places, directions, postures and seat states that were covered.
        reasons: for each of them the check that fails and by how much at its good end.
        drive: proof objects of the drive engine by what they cover, for `--proof`.
        pinch: where the widest of the ways is closed; its clearance is negative, by what is short.
    """

    covered: tuple[str, ...]
    reasons: tuple[str, ...]
    drive: Mapping[str, object] = field(default_factory=dict)
    pinch: Narrowest | None = None


@dataclass(frozen=True, slots=True)
class SideView:
    """One moment of the climb for the drawing, in side view. [mm]

    Attributes:
        profile: ground, ramp and floor as a polyline, x towards the cabin, floor at 0.
        overhead: underside of header and ceiling as segments.
        body: outlines of the layers as they stand at that moment.
        wheels: (centre x, centre z, radius).
        deciding: the two points whose distance decides here, and the margin.
        check_id: the check that this moment shows.
    """

    says: str
    profile: tuple[Point, ...]
    overhead: tuple[tuple[Point, Point], ...]
    body: tuple[tuple[Point, ...], ...]
    wheels: tuple[tuple[float, float, float], ...]
    deciding: tuple[Point, Point] | None = None
    margin_mm: float | None = None
    check_id: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """One moment of the certified way, for playback.

    Attributes:
        pose: on the certified path, van frame.
        clearance_mm: guaranteed lower bound of the clearance there.
        z_mm: height of the body origin above the cabin floor (below zero on the ramp).
        pitch_rad: tilt of the chair's stand, the end towards the cabin up counting positive.
    """

    pose: Pose
    clearance_mm: float
    z_mm: float = 0.0
    pitch_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """The answer to: will this rider, in this chair, ride in this van?"""

    verdict: Verdict
    van: str
    rider: str
    on: dt.date
    posture: str
    arrangement: Arrangement | None
    checks: tuple[Check, ...]
    conditions: tuple[Condition, ...]
    settle: tuple[Settle, ...]
    assumed: tuple[Known, ...]
    certificate: Certificate | None
    proof: Proof | None
    deciding: str  # id of the check whose margin decides
    spare: tuple[str, ...] = ()
    side_views: tuple[SideView, ...] = ()
    place_pose: Pose | None = None
    body: tuple[Prism, ...] = ()  # nominal, as it rides, chair frame
    playback: tuple[Frame, ...] = ()
    others: tuple[OtherCertified, ...] = ()  # of a yes: every other chair of the party

    def check(self, check_id: str) -> Check:
        """The check of that id.

        Raises:
            KeyError: if this fit asked no such question.
        """
        for check in self.checks:
            if check.id == check_id:
                return check
        raise KeyError(check_id)
