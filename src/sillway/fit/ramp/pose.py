"""The chair on two of its contacts: its exact pose, and how far it can stray over a cell.

All here is in the rolling frame: the chair seen so that it moves towards +x (backing mirrors it).
Reference point O: above the drive axle's floor point, at the height r0 of the lowest wheel hub;
that is at chair coordinates (0, r0), moving at x = X. With the body turned by p (positive: the
leading end up), a contact whose hub is offset by o from O asks for O at least as high as

    c(X, p) = h(X + ox(p)) - oz(p),    h = its hub path,

so the lowest body at (X, p) stands at the largest c, and the body at rest is where two contacts
i (behind) and j (ahead) ask for the same height, with the centre of mass between them. Writing
s for slopes of the hub paths and l = ox + s oz (the lever of a contact about O):

    dc/dp = -l,   dp/dX = (sj - si) / (lj - li),   dO/dX = si - li dp/dX.

If ci, cj change by Di, Dj (other values), p changes by (Dj - Di) / (lj - li), and the height of a
body point Q over a line of slope s changes by (1 - w) Di + w Dj, w = (Qx + s Qz - li) / (lj - li).
The hub paths are Lipschitz and piecewise smooth, so the mean value theorem with slopes from
`HubPath.hull` turns these into bounds. A cell is *proved* once the turn allowed for is larger than
the turn so bounded: the pose then exists there, is the only one near, and cannot have strayed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.contact import Array, HubPath, Hull, Index, Mask

MOST_TURN_RAD = 0.8  # no chair stands at 45 degrees; brackets the search for the pose
ROUND_MM = 1e-6  # above the rounding of heights of some 1e4 mm in double precision
PASSES = 6  # widenings tried before a cell is handed back as not proved


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """A contact in the rolling frame: hub offset from O [mm], its tolerances, its hub path."""

    name: str
    x: float
    z: float
    tol_x: float
    tol_z: float
    path: HubPath

    def turned(self, cos: Array, sin: Array) -> tuple[Array, Array]:
        """Offset from O with the body turned."""
        return self.x * cos - self.z * sin, self.x * sin + self.z * cos


def rest(rear: Foot, front: Foot, x: Array) -> tuple[Array, Array]:
    """Turn and height of O with both contacts touching, O at x; exact to rounding.

    cj - ci falls as the body turns up (its slope is -(lj - li)); safeguarded Newton steps on the
    exact hub paths, which end at the root of the last smooth piece.
    """
    lo, hi = np.full_like(x, -MOST_TURN_RAD), np.full_like(x, MOST_TURN_RAD)
    turn = np.zeros_like(x)
    height = np.zeros_like(x)
    for _ in range(60):
        cos, sin = np.cos(turn), np.sin(turn)
        ax, az = rear.turned(cos, sin)
        bx, bz = front.turned(cos, sin)
        ha, sa = rear.path.at(x + ax)
        hb, sb = front.path.at(x + bx)
        height = ha - az
        miss = (hb - bz) - height
        if np.max(np.abs(miss)) < 1e-9:
            break
        lo, hi = np.where(miss > 0.0, turn, lo), np.where(miss < 0.0, turn, hi)
        lever = (bx + sb * bz) - (ax + sa * az)
        step = turn + miss / np.where(lever > 1.0, lever, 1.0)
        fair = (step > lo) & (step < hi) & (lever > 1.0)
        turn = np.where(fair, step, 0.5 * (lo + hi))
    return turn, height


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """The chair on one pair of contacts over cells X ± half: the middle pose and its bounds.

    Attributes:
        ok: the cell is proved; all bounds hold only there.
        turn, height: middle pose [rad, mm]; cos, sin of the turn.
        stray: how far the turn can be from it anywhere in the cell, for all values.
        stray_x: the part of it due to the extent of the cell.
        rate_c, rate_r: dp/dX, middle and radius.
        si_c, si_r, li_c, li_r, lj_c, lj_r: slopes and levers, middle and radius.
        base: smallest lj - li.
        di, dj: how far ci and cj can change with the values.
    """

    x: Array
    half: Array
    ok: Mask
    turn: Array
    height: Array
    cos: Array
    sin: Array
    stray: Array
    stray_x: Array
    rate_c: Array
    rate_r: Array
    si_c: Array
    si_r: Array
    li_c: Array
    li_r: Array
    lj_c: Array
    lj_r: Array
    base: Array
    di: Array
    dj: Array
    hull_i: Hull
    hull_j: Hull

    @property
    def stray_v(self) -> Array:
        """The part of the stray due to the values alone."""
        return self.stray - self.stray_x

    def gap(
        self, qx: Array, qz: Array, q_r: Array, slope_c: Array, slope_r: Array, n: Index
    ) -> tuple[Array, Array]:
        """How far a gap can stray in cells ``n``: with X over the cell, and with the values.

        ``(qx, qz)`` is the body point from O as turned, ``q_r`` how far either can stray, and
        the other side of the gap a line of this slope.
        """
        turned_c = qx + slope_c * qz
        turned_r = q_r * (1.0 + np.abs(slope_c) + slope_r) + slope_r * np.abs(qz)
        over_c, over_r = turned_c - self.li_c[n], turned_r + self.li_r[n]
        rate_c, rate_r = self.rate_c[n], self.rate_r[n]
        along = np.abs(self.si_c[n] - slope_c + rate_c * over_c)
        along = along + self.si_r[n] + slope_r
        along = along + np.abs(rate_c) * over_r + rate_r * (np.abs(over_c) + over_r)
        ahead = np.abs(over_c) + over_r
        behind = np.abs(self.lj_c[n] - turned_c) + self.lj_r[n] + turned_r
        values = (behind * self.di[n] + ahead * self.dj[n]) / self.base[n]
        return along * self.half[n], values


def _lever(foot: Foot, cos: Array, sin: Array, stray: Array, hull: Hull) -> tuple[Array, Array]:
    """Middle and radius of ox + s oz over the strays and slopes."""
    ox, oz = foot.turned(cos, sin)
    far = math.hypot(foot.x, foot.z)
    slack = foot.tol_x + foot.tol_z + foot.path.tr
    ox_r = np.minimum(np.abs(oz) * stray + 0.5 * far * stray**2, far * stray) + slack
    oz_r = np.minimum(np.abs(ox) * stray + 0.5 * far * stray**2, far * stray) + slack
    s_c, s_r = 0.5 * (hull.slope_lo + hull.slope_hi), 0.5 * (hull.slope_hi - hull.slope_lo)
    s_r = np.where(hull.slope_hi > hull.slope_lo, s_r, 0.0)
    return ox + s_c * oz, ox_r + np.abs(s_c) * oz_r + s_r * (np.abs(oz) + oz_r)


def hull_of(
    foot: Foot, x: Array, half: Array, cos: Array, sin: Array, stray: Array
) -> tuple[Hull, Array]:
    """The hub path where this contact's hub may be, and its change with the chair's values."""
    ox, oz = foot.turned(cos, sin)
    far = math.hypot(foot.x, foot.z)
    side = np.minimum(np.abs(oz) * stray + 0.5 * far * stray**2, far * stray)
    cos_s, sin_s = np.minimum(np.abs(cos) + stray, 1.0), np.minimum(np.abs(sin) + stray, 1.0)
    off_x = cos_s * foot.tol_x + sin_s * (foot.tol_z + foot.path.tr)
    off_z = cos_s * foot.tol_z + sin_s * foot.tol_x
    reach = half + side + off_x
    hull = foot.path.hull(x + ox - reach, x + ox + reach)
    # A larger radius lifts the hub in the chair too; only 1 - cos of it is left over.
    bent = foot.path.tr * (1.0 - np.maximum(np.abs(cos) - stray, 0.0))
    return hull, hull.band + off_z + bent + hull.steepest * off_x


def stand(rear: Foot, front: Foot, x: Array, half: Array) -> Stand:
    """Solve the pose at every x and bound it over x ± half and all tolerances."""
    turn, height = rest(rear, front, x)
    cos, sin = np.cos(turn), np.sin(turn)
    span = front.x - rear.x
    stray = 2.0 * (0.05 * half + rear.tol_z + front.tol_z) / span + 1e-7
    ok = np.zeros(x.shape, dtype=bool)
    for _ in range(PASSES):
        hull_i, di = hull_of(rear, x, half, cos, sin, stray)
        hull_j, dj = hull_of(front, x, half, cos, sin, stray)
        li_c, li_r = _lever(rear, cos, sin, stray, hull_i)
        lj_c, lj_r = _lever(front, cos, sin, stray, hull_j)
        base = (lj_c - lj_r) - (li_c + li_r)
        fair = base > 0.1 * span
        base = np.where(fair, base, 0.1 * span)
        rise_lo, rise_hi = hull_j.slope_lo - hull_i.slope_hi, hull_j.slope_hi - hull_i.slope_lo
        rate = np.maximum(np.abs(rise_lo), np.abs(rise_hi)) / base
        stray_x = rate * half
        need = stray_x + (di + dj) / base + 1e-9
        ok = fair & (need <= stray)
        if bool(np.all(ok | ~fair)):
            break
        stray = np.where(ok | ~fair, stray, 1.25 * need)
    # rise / lever: the lever's far end only shrinks the rate.
    lever_hi = np.maximum((lj_c + lj_r) - (li_c - li_r), base)
    rate_hi = np.where(rise_hi > 0.0, rise_hi / base, rise_hi / lever_hi)
    rate_lo = np.where(rise_lo < 0.0, rise_lo / base, rise_lo / lever_hi)
    si_c = 0.5 * (hull_i.slope_lo + hull_i.slope_hi)
    return Stand(
        x=x,
        half=half,
        ok=ok,
        turn=turn,
        height=height,
        cos=cos,
        sin=sin,
        stray=need,
        stray_x=stray_x,
        rate_c=0.5 * (rate_lo + rate_hi),
        rate_r=0.5 * (rate_hi - rate_lo),
        si_c=si_c,
        si_r=0.5 * (hull_i.slope_hi - hull_i.slope_lo),
        li_c=li_c,
        li_r=li_r,
        lj_c=lj_c,
        lj_r=lj_r,
        base=base,
        di=di + ROUND_MM,
        dj=dj + ROUND_MM,
        hull_i=hull_i,
        hull_j=hull_j,
    )
