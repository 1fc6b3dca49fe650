"""All poses over short stretches of the way, every value anywhere in its tolerance.

A cell is a stretch X ± half of the drive axle's place. For its middle the pose is solved exactly
at the middle values; how far all other poses of the cell can be from it is bounded here.

Heights are taken in the frame sheared by the middle pose, zeta = z - tan p (x - X), in which the
chair's own level lines stay level. A body point (u ahead, v above O) stands there at

    zeta = K + (u sin d + v cos d) / cos p,    d = its turn away from p,

exactly, so if the hubs i and j are off by Gi and Gj in zeta, the point is off by

    (1 - w) Gi + w Gj - (1 - cos d) k / cos p,  w = (u - ui) / (uj - ui),

k being its height over the line of hubs. On an even slope Gi and Gj vanish whatever the places of
the wheels along the chair, so those cost nothing where they do not matter. G is bounded by the
ends of the sheared hub path over a window as wide as all that can shift the hub along the way
(`HubPath.span`). A radius that is off by dr lifts hub and hub path alike: it costs a window wider
by dr and dr (1 - cos d).

A sprung wheel bears anywhere in its travel (spring rates are unknown): such a chair turns about
the drive hub anywhere between the pose on one stop and the pose on the other. These fans are cut
into narrow ones, each with d within its half width. Where both stops can be reached at once, the
drive wheels hang and the chair stands on the two sprung wheels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from itertools import product
from typing import NamedTuple

import numpy as np

from sillway.fit.ramp.body import Contact, SideBody
from sillway.fit.ramp.contact import ROUND_MM, Array, HubPath, Index, Mask
from sillway.fit.ramp.pose import Foot, rest
from sillway.fit.ramp.profile import Profile

# No chair turns further than this in any pose that is told; beyond it the climb is not proved.
MOST_TURN = 0.7
# Widenings of a turn's allowance tried before a cell is given up.
TRIES = 7
# Half width of fans, for the coarsest cells: a head 1.3 m up then moves some 20 mm.
FAN_RAD = 0.016


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Poses as columns; several may belong to one cell.

    Attributes:
        cell: which cell a column belongs to.
        x, half: middle and half width of the cell.
        turn, height: middle pose; cos, sin, tan of it.
        off: most turn away from it.
        a0, a1, b0, b1: a point at u is off by (a0 + a1 u) Gi + (b0 + b1 u) Gj.
        vi, vj: heights of the two hubs (0 for fans).
        gi_lo, gi_hi, gj_lo, gj_hi: ends of Gi and Gj.
        same: the segment that both wheels stand on, and on no other; or -1. Then Gi and Gj are
            its own errors in height straight below the middle hubs, but for at most ei and ej.
        fair: the bounds hold.
    """

    cell: Index
    x: Array
    half: Array
    turn: Array
    height: Array
    off: Array
    a0: Array
    a1: Array
    b0: Array
    b1: Array
    vi: Array
    vj: Array
    gi_lo: Array
    gi_hi: Array
    gj_lo: Array
    gj_hi: Array
    same: Index
    ei: Array
    ej: Array
    fair: Mask

    @property
    def cos(self) -> Array:
        """Cosine of the turn."""
        return np.cos(self.turn)

    @property
    def sin(self) -> Array:
        """Sine of the turn."""
        return np.sin(self.turn)

    def take(self, keep: Mask | Index) -> Cells:
        """Some columns only."""
        return Cells(*(getattr(self, f.name)[keep] for f in fields(self)))

    @staticmethod
    def join(many: list[Cells]) -> Cells:
        """The columns of all."""
        return Cells(*(np.concatenate([getattr(c, f.name) for c in many]) for f in fields(Cells)))


class _Hub(NamedTuple):
    """Ends of G of one contact; the segment it stands on alone, how G strays from its error."""

    low: Array
    high: Array
    alone: Index
    stray: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    turn: Array
    height: Array
    off: Array
    gi: _Hub
    gj: _Hub
    same: Index
    fair: Mask


class Stance:
    """How a chair stands on a way: its feet, ready to be solved at any X."""

    def __init__(self, body: SideBody, profile: Profile, facing: int) -> None:
        drive = body.drive
        self.origin_z = drive.clearance_mm.value + drive.radius_mm.value
        self.facing, self.profile = facing, profile
        self.paths: dict[float, HubPath] = {}
        rolling = [c for c in body.contacts if c.rolls and not c.drive]
        self.drive = self.foot(drive)
        self.ahead = [c for c in rolling if facing * c.x_mm.value > 0]
        self.behind = [c for c in rolling if facing * c.x_mm.value < 0]
        self.rigid = len(rolling) == 1 and not rolling[0].sprung

    def path(self, radius: float) -> HubPath:
        """The hub path of a wheel; the way itself for 0."""
        if radius not in self.paths:
            self.paths[radius] = HubPath(self.profile, radius)
        return self.paths[radius]

    def foot(self, c: Contact, raised: float = 0.0) -> Foot:
        """A contact, its hub moved up in the chair by ``raised``."""
        v = c.clearance_mm.value + c.radius_mm.value + raised - self.origin_z
        u = self.facing * c.x_mm.value
        tols = c.x_mm.tol, c.clearance_mm.tol, c.radius_mm.tol
        return Foot(u, v, self.path(c.radius_mm.value), *tols)

    def _ends(self, x: Array, half: Array) -> tuple[Array, Array, Mask, Mask]:
        """Least and most turn about the drive hub; where both are fair; where it may hang."""
        lows = [_pair(self.drive, self.foot(c, c.travel_up_mm), x, half) for c in self.ahead]
        highs = [_pair(self.foot(c, c.travel_up_mm), self.drive, x, half) for c in self.behind]
        pairs, hangs = [*lows, *highs], np.zeros(x.shape, dtype=bool)
        least = np.max([p.turn - p.off for p in lows], axis=0) if lows else None
        most = np.min([p.turn + p.off for p in highs], axis=0) if highs else None
        if least is not None and most is not None:
            sure = np.max([p.turn + p.off for p in lows], axis=0)
            hangs = sure >= np.min([p.turn - p.off for p in highs], axis=0)
        elif most is None:  # it sinks until the first wheel ahead bears
            down = [self.foot(c, -c.travel_down_mm) for c in self.ahead]
            drooped = [_pair(self.drive, foot, x, half) for foot in down]
            most, pairs = np.max([p.turn + p.off for p in drooped], axis=0), [*pairs, *drooped]
        else:
            down = [self.foot(c, -c.travel_down_mm) for c in self.behind]
            drooped = [_pair(foot, self.drive, x, half) for foot in down]
            least, pairs = np.min([p.turn - p.off for p in drooped], axis=0), [*pairs, *drooped]
        fair = np.all([p.fair for p in pairs], axis=0)
        assert least is not None
        return least, most, fair, hangs

    def cells(self, x: Array, half: Array, first: int, fan_rad: float) -> Cells:
        """All poses of these cells, numbered from ``first``."""
        number = np.arange(first, first + x.size)
        if self.rigid:
            other = self.foot((*self.ahead, *self.behind)[0])
            feet = (self.drive, other) if self.ahead else (other, self.drive)
            return _columns(number, x, half, feet, _pair(*feet, x, half))
        least, most, fair, lift = self._ends(x, half)
        made = []
        on = least <= most
        if np.any(on):
            at = number[on], x[on], half[on], least[on], most[on], fair[on]
            made.append(_fans(self.drive, *at, fan_rad))
        if np.any(lift):
            for f, r in product(self.ahead, self.behind):
                feet = self.foot(r, r.travel_up_mm), self.foot(f, f.travel_up_mm)
                pair = _pair(*feet, x[lift], half[lift])
                made.append(_columns(number[lift], x[lift], half[lift], feet, pair))
        return Cells.join(made)

    def middle(self, x: Array, com: tuple[float, float]) -> tuple[Array, Array, Mask]:
        """Turn and height at the middle values, and where the drive wheels hang.

        Springs are taken to level the chair between its stops; rigid wheels to leave it where its
        centre of mass (ahead of, above O) is lower.
        """
        if self.rigid:
            other = self.foot((*self.ahead, *self.behind)[0])
            feet = (self.drive, other) if self.ahead else (other, self.drive)
            return *rest(*feet, x), np.zeros(x.shape, dtype=bool)
        lows = [rest(self.drive, self.foot(c, c.travel_up_mm), x)[0] for c in self.ahead]
        highs = [rest(self.foot(c, c.travel_up_mm), self.drive, x)[0] for c in self.behind]
        level = [rest(self.drive, self.foot(c), x)[0] for c in self.ahead]
        level += [rest(self.foot(c), self.drive, x)[0] for c in self.behind]
        turn = np.mean(level, axis=0)
        least = np.max(lows, axis=0) if lows else turn
        most = np.min(highs, axis=0) if highs else turn
        if not any(c.sprung for c in (*self.ahead, *self.behind)):
            ends = [com[0] * np.sin(p) + com[1] * np.cos(p) for p in (least, most)]
            turn = np.where(ends[0] <= ends[1], least, most)
        if not lows or not highs:
            turn = np.max(level, axis=0) if lows else np.min(level, axis=0)
            hangs = np.zeros(x.shape, dtype=bool)
        else:
            turn, hangs = np.clip(turn, least, np.maximum(least, most)), least > most + 1e-9
        height = self.drive.path.at(x)[0]
        for f, r in product(self.ahead, self.behind):
            up, over = rest(self.foot(r, r.travel_up_mm), self.foot(f, f.travel_up_mm), x)
            higher = hangs & (over > height)
            turn, height = np.where(higher, up, turn), np.where(higher, over, height)
        return turn, height, hangs


def _hub(foot: Foot, x: Array, half: Array, turn: Array, height: Array, off: Array
) -> _Hub:  # fmt: skip
    """Ends of G of one contact."""
    cos, sin = np.cos(turn), np.sin(turn)
    ox, oz = foot.turned(cos, sin)
    window = half + np.abs(oz) * off + 0.5 * np.abs(ox) * off**2
    window = window + foot.tol_x + foot.tol_z * (np.abs(sin) + off) + foot.tol_r
    low, high = foot.path.span(x + ox, window, sin / cos)
    spare = (foot.tol_z + foot.tol_x * off + 0.5 * foot.tol_r * off**2) / cos
    if foot.path.exact:
        alone, stray = np.full(x.shape, -1), np.zeros_like(x)
    else:
        alone, stray = foot.path.alone(x + ox, window, sin / cos)
    return _Hub(low - (height + oz) - spare, high - (height + oz) + spare, alone, stray + spare)


def _pair(rear: Foot, front: Foot, x: Array, half: Array) -> _Pair:
    """The poses on two contacts: no turn within the allowance is larger than what is found."""
    turn, height = rest(rear, front, x)
    cos, du, dv = np.cos(turn), front.u - rear.u, abs(front.v - rear.v)
    off = (0.1 * half + rear.tol_z + front.tol_z + 0.05 * (rear.tol_x + front.tol_x)) / du + 1e-6
    fair = np.zeros(x.shape, dtype=bool)
    for _ in range(TRIES):
        gi = _hub(rear, x, half, turn, height, off)
        gj = _hub(front, x, half, turn, height, off)
        spread = np.maximum(gj.high - gi.low, gi.high - gj.low)
        same = np.where(gi.alone == gj.alone, gi.alone, -1)
        # Both on one segment: the chair turns as that does.
        turns = rear.path.ts[same, 0] * (du * cos + dv)
        spread = np.where(same >= 0, np.minimum(spread, gi.stray + gj.stray + turns), spread)
        need = np.arcsin(np.clip((cos * spread + 0.5 * dv * off**2) / du, 0.0, 1.0)) + 1e-12
        fair = (need <= off) & (np.abs(turn) + need < MOST_TURN)
        hopeless = np.abs(turn) + need >= MOST_TURN
        if bool(np.all(fair | hopeless)):
            break
        off = np.where(need <= off, off, np.minimum(1.2 * need, MOST_TURN))
    off = np.where(fair, need, off)
    gi = _hub(rear, x, half, turn, height, off)
    gj = _hub(front, x, half, turn, height, off)
    same = np.where(gi.alone == gj.alone, gi.alone, -1)
    return _Pair(turn, height, off, gi, gj, same, fair)


def _columns(number: Index, x: Array, half: Array, feet: tuple[Foot, Foot], pair: _Pair) -> Cells:
    one = np.ones_like(x)
    rear, front = feet
    du = front.u - rear.u
    return Cells(
        number, x, half, pair.turn, pair.height, pair.off,
        one * (1.0 + rear.u / du), one * (-1.0 / du), one * (-rear.u / du), one / du,
        one * rear.v, one * front.v, *pair.gi[:2], *pair.gj[:2],
        pair.same, pair.gi.stray, pair.gj.stray, pair.fair,
    )  # fmt: skip


def _fans(
    drive: Foot, number: Index, x: Array, half: Array, least: Array, most: Array, fair: Mask,
    fan_rad: float,
) -> Cells:  # fmt: skip
    """The chair about its drive hub, between two turns: Gj stands for sin d / cos p."""
    least, most = np.maximum(least, -MOST_TURN), np.minimum(most, MOST_TURN)
    parts = np.maximum(np.ceil((most - least) / (2.0 * fan_rad)), 1.0).astype(np.intp)
    which = np.repeat(np.arange(x.size), parts)
    nth = np.arange(which.size) - np.repeat(np.cumsum(parts) - parts, parts)
    off = (0.5 * (most - least) / parts)[which]
    turn = least[which] + off * (2 * nth + 1)
    off = off + ROUND_MM / 1e3
    x, half = x[which], half[which]
    height = drive.path.at(x)[0]
    one, zero = np.ones_like(x), np.zeros_like(x)
    swing = np.sin(off) / np.cos(turn)
    return Cells(
        number[which], x, half, turn, height, off, one, zero, zero, one, zero, zero,
        *_hub(drive, x, half, turn, height, off)[:2], -swing, swing,
        np.full(x.shape, -1), zero, zero, fair[which],
    )  # fmt: skip


def tolerance_mm(body: SideBody, profile: Profile) -> float:
    """The largest tolerance of chair and way; 0 where all is exact."""
    tols = [t for s in profile.segments for t in (s.tol_x0, s.tol_x1, s.tol_z1, s.tol_slope)]
    for c in body.contacts:
        tols += [c.x_mm.tol, c.radius_mm.tol, c.clearance_mm.tol]
    tols += [math.hypot(p.tol_x_mm, p.tol_z_mm) for p in body.parts]
    return max(tols)
