"""The whole climb: from level ground to level floor, every position of the drive axle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.body import Bar, Overhead, SideBody
from sillway.fit.ramp.events import Event, tell
from sillway.fit.ramp.gaps import Lines, Outline, closest, lines_above, lines_below, outlines
from sillway.fit.ramp.pose import rest
from sillway.fit.ramp.profile import Given, Profile
from sillway.fit.ramp.sweep import (
    AHEAD,
    BELLY,
    FOOT,
    GUARD,
    HEADER,
    TIP,
    TURN,
    Best,
    Scene,
    Swept,
    sweep,
)
from sillway.fit.ramp.ways import Feet, feet


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

    Attributes:
        header: chair and rider under headers and ceiling, along the vertical.
        belly: underside between the outermost wheels over ramp, crest and floor.
        foot: what sticks out beyond the wheels (footplate, anti-tippers, parts) over them.
        pitch: the largest lean either way; `lower`..`upper` enclose it, `upper` is the worst.
        tip: angle left before tipping over the trailing wheel (the downhill one on the ramp).
        tip_guarded: the same over the last wheel or anti-tipper, whichever is further back.
        tip_ahead: the same over the leading wheel (matters where the way dips).
        events: what grounds, lifts or runs out of travel, and where, at the middle values.
        unproved_x_mm: drive axle positions where no pose could be proved (a wheel against a step
            it cannot roll over, a sharp part grounding on an edge); then the margins' safe ends
            are infinite, save that `foot`, told for standing on the wheels alone, stays known
            where only a part is to blame.
    """

    facing: int
    header: Margin
    belly: Margin
    foot: Margin
    pitch: Margin
    tip: Margin
    tip_guarded: Margin
    tip_ahead: Margin
    events: tuple[Event, ...]
    unproved_x_mm: tuple[float, ...]

    @property
    def proved(self) -> bool:
        """Whether every position was."""
        return not self.unproved_x_mm


def climb(
    body: SideBody,
    profile: Profile,
    overhead: Overhead,
    facing: int = 1,
    until_mm: float | None = None,
) -> Climb:
    """The climb at the middle values, tolerances left aside; ends of margins within 0.1 mm.

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
    other way round). Sound by the mean value theorem over the values; see `pose` and `contact`.
    """
    f = feet(body, profile, facing)
    scene = _scene(body, profile, overhead, f)
    start, end = _range(body, profile, overhead)
    end = end if until_mm is None else max(until_mm, start + 1.0)
    split = start
    if profile.from_foot:
        split = min(end, max(start, profile.foot_x_mm + _past_foot(body)))
    swept = sweep(scene, split, end)
    if split > start:
        swept = swept.with_(_near_foot(body, profile, overhead, facing, start, split))
    turn = _margin(scene, swept, TURN)
    return Climb(
        facing=facing,
        header=_margin(scene, swept, HEADER, (scene.over, scene.above)),
        belly=_margin(scene, swept, BELLY, (scene.under_in, scene.below)),
        foot=_margin(scene, swept, FOOT, (scene.under_out, scene.below)),
        pitch=Margin(max(-turn.upper, 0.0), -turn.lower, turn.pose),
        tip=_margin(scene, swept, TIP),
        tip_guarded=_margin(scene, swept, GUARD),
        tip_ahead=_margin(scene, swept, AHEAD),
        events=tell(body, f, start, end),
        unproved_x_mm=swept.unproved,
    )


def _scene(body: SideBody, profile: Profile, overhead: Overhead, f: Feet) -> Scene:
    wheels = [c.x_mm.value for c in body.contacts if c.rolls]
    inner = (min(wheels), max(wheels))
    under = [p for p in body.parts if p.under]
    under_in, under_out = outlines(under, f.facing, f.origin_z, inner)
    over, _ = outlines([p for p in body.parts if p.over], f.facing, f.origin_z, None)
    stops = {c.name for c in body.contacts if c.anti_tip}
    trail = f.rolling[0]
    guards = [trail, *(p for p in f.parts if p.name in stops)]
    return Scene(
        feet=f,
        below=lines_below(profile),
        above=lines_above(overhead.bars),
        under_in=under_in,
        under_out=under_out,
        over=over,
        trail=trail,
        guard=min(guards, key=lambda p: p.x),
        lead=f.rolling[-1],
    )


def _past_foot(body: SideBody) -> float:
    """How far past the foot the reference point is once no rolling wheel can touch it."""
    return max(
        abs(c.x_mm.value) + c.x_mm.tol + 2.0 * (c.radius_mm.value + c.radius_mm.tol)
        for c in body.contacts
        if c.rolls
    )


def _near_foot(
    body: SideBody, profile: Profile, overhead: Overhead, facing: int, start: float, end: float
) -> Swept:
    """The first stretch, with everything measured from the foot: there its tolerance is small.

    The sill and all above it may then be off; the stretch overlaps the other by that much.
    """
    off_x, off_z = profile.sill_off_mm
    near = Profile(profile.from_foot, profile.foot_x_mm)
    bars = tuple(
        Bar(
            b.name,
            Given(b.x0_mm.value, b.x0_mm.tol + off_x),
            Given(b.x1_mm.value, b.x1_mm.tol + off_x),
            Given(b.z_mm.value, b.z_mm.tol + off_z),
        )
        for b in overhead.bars
    )
    over = Overhead(bars)
    return sweep(_scene(body, near, over, feet(body, near, facing)), start - off_x, end + off_x)


def _range(body: SideBody, profile: Profile, overhead: Overhead) -> tuple[float, float]:
    """Drive axle positions from all on the ground before the foot to all on the floor.

    Any point of the chair is at most its distance from the reference point away, leaning or not.
    """
    reach = 0.0
    r0 = min(c.radius_mm.value for c in body.contacts if c.rolls)
    for part in body.parts:
        off = part.tol_x_mm + part.tol_z_mm
        reach = max([reach, *(math.hypot(x, z - r0) + off for x, z in part.polygon)])
    long = 0.0
    for c in body.contacts:
        # Leaning shifts hubs by less than their radius more.
        long = max(
            long, abs(c.x_mm.value) + c.x_mm.tol + 2.0 * (c.radius_mm.value + c.radius_mm.tol)
        )
    foot_tol = max((s.tol_x0 for s in profile.segments if s.name.startswith("ramp")), default=0.0)
    sides = [x for part in body.parts for x, _ in part.polygon]
    flat = max([long, *(abs(x) for x in sides)])
    start = profile.foot_x_mm - foot_tol - flat
    end = flat
    for bar in overhead.bars:
        start = min(start, bar.x0_mm.value - bar.x0_mm.tol - reach)
        last = bar.x1_mm.value + bar.x1_mm.tol
        if last < flat:
            end = max(end, last + reach)
    return start, end


def _margin(
    scene: Scene, swept: Swept, row: int, pair: tuple[Outline, Lines] | None = None
) -> Margin:
    low, up, best = float(swept.low[row]), float(swept.up[row]), swept.best[row]
    if best.way is None:
        return Margin(low, up)
    turns, heights = rest(best.way.rear, best.way.front, np.array([best.x]))
    turn, height = float(turns[0]), float(heights[0])
    part, against = best.contact, "way" if best.contact else ""
    if not part and pair:
        _, part, against = closest(best.x, height, turn, *pair)
    return Margin(low, up, _pose(scene.feet, best, turn, height), part, against)


def _pose(f: Feet, best: Best, turn: float, height: float) -> Pose:
    # The chair's origin lies r0 below O.
    x = best.x + f.origin_z * math.sin(turn)
    return Pose(x, height - f.origin_z * math.cos(turn), f.facing * turn, f.facing)
