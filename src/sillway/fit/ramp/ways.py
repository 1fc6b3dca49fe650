"""The ways a chair can stand: on which two of its contacts, at what travel of its springs.

Springs are of unknown strength, so a sprung wheel bears anywhere in its travel: such a stand takes
its hub height as a value with a tolerance, the travel cut into slices to keep bounds narrow. A
sprung wheel keeps the body up on its own only at its bump stop. The drive wheels with one sprung
wheel somewhere in its travel cover every way of standing on the drive wheels: whichever way the
springs let the body lean, one of the sprung wheels touches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.body import Contact, SideBody
from sillway.fit.ramp.contact import Array, HubPath, Mask
from sillway.fit.ramp.gaps import Bounds
from sillway.fit.ramp.pose import Foot, Stand, hull_of, stand
from sillway.fit.ramp.profile import Profile

SLICE_MM = 10.0  # of spring travel per stand: pitch slices of about a degree

LEAN_RAD = 0.45  # a climb that leans further (a slope of 1:2) is not proved


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """Two contacts to stand on, and those that must then be clear (rear first).

    Attributes:
        free: a spring's travel is part of it, so balance about the two contacts is not asked.
    """

    rear: Foot
    front: Foot
    others: tuple[Foot, ...]
    free: bool


@dataclass(frozen=True, slots=True, eq=False)
class Feet:
    """All contacts in the rolling frame: rolling ones at their bump stops, then the parts."""

    facing: int
    origin_z: float  # O's height in the chair frame
    drive: Foot
    rolling: tuple[Foot, ...]
    parts: tuple[Foot, ...]
    ways: tuple[Way, ...]
    usual: tuple[Way, ...]  # springs as on level ground: to tell one pose where many can be
    com: tuple[tuple[float, float], ...]  # corners of its box, from O


def feet(body: SideBody, profile: Profile, facing: int) -> Feet:
    """Set up all feet and ways of ``body`` (facing +1: forwards, -1: backing)."""
    # A low reference keeps small wheels' levers steady where their slopes are vague (at a lip).
    origin_z = min(c.radius_mm.value for c in body.contacts if c.rolls)
    paths: dict[tuple[float, float], HubPath] = {}

    def foot(c: Contact, raised: float = 0.0, play: float = 0.0) -> Foot:
        key = (c.radius_mm.value, c.radius_mm.tol)
        if key not in paths:
            paths[key] = HubPath(profile, *key)
        z = c.clearance_mm.value + c.radius_mm.value + raised - origin_z
        tol_z = c.clearance_mm.tol + play
        return Foot(c.name, facing * c.x_mm.value, z, c.x_mm.tol, tol_z, paths[key])

    order = sorted(body.contacts, key=lambda c: facing * c.x_mm.value)
    rolling = [c for c in order if c.rolls]
    bump = {c.name: foot(c, c.travel_up_mm) for c in rolling}
    ways: list[Way] = []
    usual: list[Way] = []
    for i, a in enumerate(rolling):
        for b in rolling[i + 1 :]:
            others = tuple(bump[c.name] for c in rolling if c is not a and c is not b)
            on_drive = a.drive or b.drive
            if not on_drive or not (a.sprung or b.sprung):
                ways.append(Way(bump[a.name], bump[b.name], others, False))
                usual.append(ways[-1])
                continue
            usual.append(Way(foot(a), foot(b), others, True))
            ways += [
                Way(foot(a, *at), foot(b, *bt), others, True)
                for at in _slices(a)
                for bt in _slices(b)
            ]
    parts = tuple(foot(c) for c in order if not c.rolls)
    com = tuple(
        (facing * x, z - origin_z)
        for x in dict.fromkeys(body.com_x_mm)
        for z in dict.fromkeys(body.com_z_mm)
    )
    return Feet(
        facing,
        origin_z,
        foot(body.drive),
        tuple(bump.values()),
        parts,
        tuple(ways),
        tuple(usual),
        com,
    )


def _slices(c: Contact) -> list[tuple[float, float]]:
    """Middle and half width of each slice of travel; one of no width for a rigid contact."""
    lo, hi = -c.travel_down_mm, c.travel_up_mm
    count = max(1, math.ceil((hi - lo) / SLICE_MM))
    half = 0.5 * (hi - lo) / count
    return [(lo + (2 * k + 1) * half, half) for k in range(count)]


def grounded(f: Feet, part: Foot, lean: tuple[float, float]) -> tuple[Way, ...]:
    """The ways of standing on a part that has grounded, from leans on the wheels in ``lean``.

    A part that grounds ahead of the centre of mass turns the body up from where it leaned on its
    wheels, never down: raising one contact leaves the height of the centre of mass falling towards
    that side and rising beyond. So a partner that stays ahead of the centre of mass from that lean
    upwards is left out; for a part behind likewise, the other way round.
    """
    made = []
    for other in (*f.rolling, *(p for p in f.parts if p is not part)):
        rear, front = (other, part) if other.x < part.x else (part, other)
        ahead = part.x > max(c[0] for c in f.com)
        behind = part.x < min(c[0] for c in f.com)
        turns = (lean[0], LEAN_RAD) if ahead else (-LEAN_RAD, lean[1])
        same = (ahead or behind) and _beyond(f, other, turns, 1.0 if ahead else -1.0)
        if front.x - rear.x >= 1.0 and not same:
            rest = tuple(o for o in f.rolling if o is not other)
            made.append(Way(rear, front, rest, False))
    return tuple(made)


def _beyond(f: Feet, foot: Foot, turns: tuple[float, float], side: float) -> bool:
    """Whether a contact stays on one side of the centre of mass over a range of leans.

    Its distance is a sinusoid of the lean; where both ends are positive it is concave between.
    """
    slack = foot.path.r + foot.path.tr + foot.tol_x + foot.tol_z
    return all(
        side * ((foot.x - cx) * math.cos(p) - (foot.z - cz) * math.sin(p)) > slack
        for cx, cz in f.com
        for p in turns
    )


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A way over cells: the stand and where it is possible at all."""

    way: Way
    stand: Stand
    possible: Mask


def stand_on(f: Feet, way: Way, x: Array, half: Array, alone: bool) -> Standing:
    """Pose and bounds of one way, and where it can be how the chair stands.

    It cannot where another wheel, at its bump stop, would be below the outline for sure, or where
    the centre of mass is for sure not between the two contacts. Balance is judged generously: a
    contact counts as standing anywhere between its touched point and where its normal passes the
    reference's height, since it is not known at what height the chair is pushed.
    """
    s = stand(way.rear, way.front, x, half)
    possible = np.ones(x.shape, dtype=bool)
    if alone:
        return Standing(way, s, possible)
    for other in way.others:
        possible &= (clear_of(s, other)[1] >= 0.0) | ~s.ok
    if not way.free:
        cx = np.array([c[0] for c in f.com])[:, None] * s.cos
        cx = cx - np.array([c[1] for c in f.com])[:, None] * s.sin
        reach = s.stray * max(math.hypot(*c) for c in f.com)
        lo, hi = np.min(cx, axis=0) - reach, np.max(cx, axis=0) + reach
        first = np.minimum(s.li_c - s.li_r, _touched(s, way.rear, s.hull_i.slope_lo))
        last = np.maximum(s.lj_c + s.lj_r, _touched(s, way.front, s.hull_j.slope_hi))
        possible &= ((hi >= first) & (lo <= last)) | ~s.ok
    return Standing(way, s, possible)


def _touched(s: Stand, foot: Foot, slope: Array) -> Array:
    """x of the touched point from O, slope at the given end of its range."""
    ox, oz = foot.turned(s.cos, s.sin)
    side = np.sign(slope) * np.abs(oz) * s.stray
    bounded = np.clip(slope, -1e6, 1e6)
    return ox + side + (foot.path.r + foot.path.tr) * bounded / np.hypot(1.0, bounded)


def clear_of(s: Stand, foot: Foot) -> tuple[Bounds, Array]:
    """Clearance of a contact that does not bear; negative when it would be in the ground.

    Its bounds as `gaps` gives them, and the most it can be over the cell.
    """
    n = np.arange(s.x.size)
    ox, oz = foot.turned(s.cos, s.sin)
    here = s.height + oz - foot.path.at(s.x + ox)[0]
    hull, own = hull_of(foot, s.x, s.half, s.cos, s.sin, s.stray)
    far = math.hypot(foot.x, foot.z)
    zero = np.zeros(s.x.size)
    own_z = foot.tol_z + foot.tol_x + foot.path.tr
    # Heights apart: where its centre can be, less what the way can ask there.
    by_x, by_v = s.gap(ox, oz, far * s.stray, zero, zero, n)
    up = s.height + oz
    least, most = up - by_x - by_v - own_z - hull.high, up + by_x + by_v + own_z - hull.low
    still, _ = hull_of(foot, s.x, zero, s.cos, s.sin, s.stray_v)
    least_v, most_v = up - by_v - own_z - still.high, up + by_v + own_z - still.low
    # Along the way's own slope: tighter where that is known.
    middle, loose = 0.5 * (hull.slope_lo + hull.slope_hi), 0.5 * (hull.slope_hi - hull.slope_lo)
    by_x, by_v = s.gap(ox, oz, far * s.stray, middle, loose, n)
    by_v = np.where(np.isfinite(by_x) & (loose < 1e6), by_v + own, np.inf)
    least, most = np.maximum(least, here - by_x - by_v), np.minimum(most, here + by_x + by_v)
    least_v, most_v = np.maximum(least_v, here - by_v), np.minimum(most_v, here + by_v)
    return Bounds(least, least_v, most_v), most
