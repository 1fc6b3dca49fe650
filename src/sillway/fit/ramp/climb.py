"""The whole climb: from level ground to level floor, every position of the drive axle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.body import Bar, Overhead, SideBody
from sillway.fit.ramp.cells import Stance
from sillway.fit.ramp.contact import Array
from sillway.fit.ramp.profile import Given, Profile
from sillway.fit.ramp.search import MARGINS, Found, Search

# Places tried for where the drive wheels hang at the middle values. [mm]
_LIGHT_STEP_MM = 12.0


@dataclass(frozen=True, slots=True)
class Pose:
    """Where the chair's origin is (floor point below the drive axle) and how it leans.

    A chair point (a, b) stands at x = x_mm + facing a cos p - b sin p and
    z = z_mm + facing a sin p + b cos p with p = facing * pitch_rad.

    Attributes:
        pitch_rad: positive when the chair's front is up.
        facing: +1 forwards into the van, -1 backing.
    """

    x_mm: float
    z_mm: float
    pitch_rad: float
    facing: int

    def place(self, a_mm: float, b_mm: float) -> tuple[float, float]:
        """Where a chair point stands.

        >>> Pose(100.0, 50.0, 0.0, -1).place(300.0, 20.0)
        (-200.0, 70.0)
        """
        p = self.facing * self.pitch_rad
        a = self.facing * a_mm
        x = self.x_mm + a * math.cos(p) - b_mm * math.sin(p)
        return x, self.z_mm + a * math.sin(p) + b_mm * math.cos(p)


@dataclass(frozen=True, slots=True)
class Margin:
    """The smallest value of something over the whole climb, enclosed.

    Attributes:
        lower: never less than this (the worst the tolerances allow; minus infinity: not proved).
        upper: never more than this (the best they allow; infinity: nothing comes near).
        pose: the middle pose where it is smallest; None when nothing comes near.
        part, against: what comes near what (empty for angles).
    """

    lower: float
    upper: float
    pose: Pose | None = None
    part: str = ""
    against: str = ""


@dataclass(frozen=True, slots=True)
class Climb:
    """What the climb comes to. Gaps in mm, signed (negative: they would overlap); angles in rad.

    All of it for a chair that stands on its wheels: whether something grounds is told by `belly`
    and `foot`, whether it tips over by `tip`.

    Attributes:
        header: chair and rider under headers and ceiling, along the vertical.
        belly: underside between the outermost wheels over ramp, crest and floor.
        foot: what sticks out beyond the wheels (footplate, anti-tippers, parts) over them.
        pitch: the largest lean either way; `lower`..`upper` enclose it, `upper` is the worst.
        tip: angle left before tipping over the trailing wheel (the downhill one on the ramp).
        tip_guarded: the same over the last wheel or anti-tipper, whichever is further back.
        tip_ahead: the same over the leading wheel (matters where the way dips).
        drive_light_mm: stretches of the drive axle's x where at the middle values the drive
            wheels hang between sprung wheels that stand on their bump stops.
        proved: False where the tolerances are too wide for any bound; then the safe ends are
            infinite.
    """

    facing: int
    header: Margin
    belly: Margin
    foot: Margin
    pitch: Margin
    tip: Margin
    tip_guarded: Margin
    tip_ahead: Margin
    drive_light_mm: tuple[tuple[float, float], ...]
    proved: bool


def climb(
    body: SideBody,
    profile: Profile,
    overhead: Overhead,
    facing: int = 1,
    until_mm: float | None = None,
) -> Climb:
    """The climb at the middle values, tolerances left aside.

    Sprung wheels still bear anywhere in their travel, and the centre of mass anywhere in its box,
    so with those the ends are as far apart as that makes them.

    Args:
        facing: +1 forwards, -1 backing.
        until_mm: drive axle position to stop at; default: all of the chair is past the sill and
            past the overhead bars that end within a chair's length of it.
    """
    return climb_interval(body.exact(), profile.exact(), overhead.exact(), facing, until_mm)


def climb_interval(
    body: SideBody,
    profile: Profile,
    overhead: Overhead,
    facing: int = 1,
    until_mm: float | None = None,
) -> Climb:
    """The climb with every value anywhere in its tolerance: margins from worst to best.

    `lower` holds for all values together at their worst, `upper` for all at their best (pitch the
    other way round). How it is bounded: see `cells` and `gaps`.
    """
    start, end = _range(body, profile, overhead)
    if until_mm is not None:
        end = max(until_mm, start + 1.0)
    # Where nothing is bounded, nothing times infinity is no number; `_margin` makes it no bound.
    with np.errstate(invalid="ignore", over="ignore"):
        found = [s.found() for s in _stretches(body, profile, overhead, facing, start, end)]
    proved = all(f.proved for f in found)
    stance = Stance(body.exact(), profile.exact(), facing)
    lowers = np.array([f.lower for f in found])
    nearest = [found[n] for n in np.argmin(lowers, axis=0)]
    poses = _poses(stance, body, np.array([f.x[k] for k, f in enumerate(nearest)]))
    margins = {
        name: _margin(nearest[k], found, k, poses[k], proved) for k, name in enumerate(MARGINS)
    }
    turn = margins.pop("turn")
    return Climb(
        facing=facing,
        pitch=Margin(max(-turn.upper, 0.0), -turn.lower, turn.pose),
        drive_light_mm=_light(stance, start, end),
        proved=proved,
        **margins,
    )


def _stretches(
    body: SideBody, profile: Profile, overhead: Overhead, facing: int, start: float, end: float
) -> list[Search]:
    """First with tolerances told from the foot, higher up with those told from the sill."""
    middle = min(max(_switch(profile), start), end)
    if not profile.from_foot or not start < middle < end:
        return [Search(body, profile, overhead, facing, start, end)]
    off_x, off_z = profile.sill_off_mm
    bars = tuple(
        Bar(
            b.name,
            Given(b.x0_mm.value, b.x0_mm.tol + off_x),
            Given(b.x1_mm.value, b.x1_mm.tol + off_x),
            Given(b.z_mm.value, b.z_mm.tol + off_z),
        )
        for b in overhead.bars
    )
    near = Profile(profile.from_foot, profile.foot_x_mm)
    return [
        Search(
            body, near, Overhead(bars), facing, start - off_x, middle + off_x, (-math.inf, middle)
        ),
        Search(body, profile, overhead, facing, middle, end, (middle, math.inf)),
    ]


def _switch(profile: Profile) -> float:
    """Where on the ramp tolerances told from the sill get smaller than those from the foot."""
    if not profile.from_foot:
        return 0.0
    ramps = [
        [s for s in way if s.name.startswith("ramp")]
        for way in (profile.segments, profile.from_foot)
    ]
    for far, near in zip(*ramps, strict=True):
        tilt = abs(far.slope)
        a = near.tol_z0 - far.tol_z0 + tilt * (near.tol_x0 - far.tol_x0)
        b = near.tol_z1 - far.tol_z1 + tilt * (near.tol_x1 - far.tol_x1)
        if a >= 0.0 or b >= 0.0:
            share = -a / (b - a) if a < 0.0 else 0.0
            return float(far.x0 + (far.x1 - far.x0) * share)
    return 0.0


def _margin(nearest: Found, found: list[Found], k: int, pose: Pose, proved: bool) -> Margin:
    lower, uppers = float(nearest.lower[k]), [float(f.upper[k]) for f in found]
    upper = min(math.inf if math.isnan(u) else u for u in uppers)
    if math.isnan(lower):
        lower, proved = -math.inf, False
    if math.isinf(lower) and lower > 0:
        return Margin(lower, upper)
    return Margin(lower if proved else -math.inf, upper, pose, *nearest.labels[k])


def _poses(stance: Stance, body: SideBody, x_mm: Array) -> list[Pose]:
    com = stance.facing * 0.5 * sum(body.com_x_mm), 0.5 * sum(body.com_z_mm) - stance.origin_z
    turns, heights, _ = stance.middle(x_mm, com)
    # The chair's origin lies origin_z below O, the hub of the drive wheels.
    x = x_mm + stance.origin_z * np.sin(turns)
    z = heights - stance.origin_z * np.cos(turns)
    return [
        Pose(float(a), float(b), stance.facing * float(t), stance.facing)
        for a, b, t in zip(x, z, turns, strict=True)
    ]


def pose_at(body: SideBody, profile: Profile, facing: int, x_mm: float) -> Pose:
    """The pose at the middle values with the drive axle's hub at x, for drawing and playback."""
    stance = Stance(body.exact(), profile.exact(), facing)
    return _poses(stance, body, np.array([x_mm]))[0]


def _light(stance: Stance, start: float, end: float) -> tuple[tuple[float, float], ...]:
    """Stretches of X where the drive wheels carry nothing at the middle values."""
    if not stance.ahead or not stance.behind:
        return ()
    x = np.arange(start, end, _LIGHT_STEP_MM, dtype=np.float64)
    out: list[tuple[float, float]] = []
    for at, light in zip(x, stance.middle(x, (0.0, 0.0))[2], strict=True):
        if light and out and at - out[-1][1] <= _LIGHT_STEP_MM * 1.5:
            out[-1] = (out[-1][0], float(at))
        elif light:
            out.append((float(at), float(at)))
    return tuple(out)


def _range(body: SideBody, profile: Profile, overhead: Overhead) -> tuple[float, float]:
    """Drive axle positions from all on the ground before the foot to all on the floor.

    Any point of the chair is at most its distance from the drive hub away, leaning or not.
    """
    r0 = body.drive.radius_mm.value
    reach = max(
        (math.hypot(x, z - r0) + p.tol_x_mm + p.tol_z_mm for p in body.parts for x, z in p.polygon),
        default=0.0,
    )
    wheels = [abs(c.x_mm.value) + c.x_mm.tol + 2.0 * c.radius_mm.value for c in body.contacts]
    flat = max([*wheels, *(abs(x) + p.tol_x_mm for p in body.parts for x, _ in p.polygon)])
    foot_tol = max((s.tol_x0 for s in profile.segments if s.name.startswith("ramp")), default=0.0)
    start, end = profile.foot_x_mm - foot_tol - flat, flat
    for bar in overhead.bars:
        start = min(start, bar.x0_mm.value - bar.x0_mm.tol - reach)
        last = bar.x1_mm.value + bar.x1_mm.tol
        if last < flat:
            end = max(end, last + reach)
    return start, end
