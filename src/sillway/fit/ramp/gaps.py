"""Gaps of a chair's points and edges to the way and to bars overhead, over all poses of cells.

All are upright distances, bounded in each cell's sheared frame (see `cells`): both ends for each
column, the rows being points or edges.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sillway.fit.ramp.body import Bar, Contact, SideBody, SidePart
from sillway.fit.ramp.cells import MOST_TURN, Cells, Stance
from sillway.fit.ramp.contact import Array, HubPath, Index, Mask
from sillway.fit.ramp.profile import FAR_MM, Profile


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Body points as rows: u ahead and v above O, their tolerances, the ends of edges."""

    u: Array
    v: Array
    tol_x: Array
    tol_z: Array
    names: tuple[str, ...]
    edge_a: Index
    edge_b: Index

    @property
    def edge_names(self) -> tuple[str, ...]:
        """What each edge belongs to."""
        return tuple(self.names[k] for k in self.edge_a)


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Points in all columns: sheared height's ends, x and how far x can be off.

    `middle` is the sheared height at the middle values; it is off by `own` at most where both
    wheels stand on one segment without error, by `tilt` more per error of that segment's slope.
    """

    low: Array
    high: Array
    x: Array
    x_off: Array
    middle: Array
    own: Array
    tilt: Array


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Ends of a least gap per column, and which row (name, against) is nearest."""

    low: Array
    up: Array
    row: Index
    labels: tuple[tuple[str, str], ...]


def points_of(parts: Sequence[SidePart], stance: Stance, side: int) -> Points:
    """Corners of parts, with the edges that can face down (side -1) or up (1) in any pose."""
    u: list[float] = []
    v: list[float] = []
    tx: list[float] = []
    tz: list[float] = []
    names: list[str] = []
    first: list[int] = []
    second: list[int] = []
    least = -math.sin(MOST_TURN)
    for part in parts:
        ring = [(stance.facing * x, z - stance.origin_z) for x, z in part.polygon]
        area = sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)
        )
        base, n = len(u), len(ring)
        for k, (a, b) in enumerate(zip(ring, ring[1:] + ring[:1], strict=True)):
            # Outward normal of a ring that runs anticlockwise: (dz, -dx).
            along = (a[0] - b[0]) * math.copysign(1.0, area)
            long = math.hypot(b[0] - a[0], b[1] - a[1])
            if long > 0.0 and side * along / long > least:
                first.append(base + k)
                second.append(base + (k + 1) % n)
        u += [p[0] for p in ring]
        v += [p[1] for p in ring]
        tx += [part.tol_x_mm] * n
        tz += [part.tol_z_mm] * n
        names += [part.name] * n
    # Corners of no such edge are covered by those that are.
    used = sorted({*first, *second})
    place = {k: n for n, k in enumerate(used)}

    def column(values: list[float]) -> Array:
        return np.array([values[k] for k in used], dtype=float).reshape(-1, 1)

    return Points(
        column(u), column(v), column(tx), column(tz), tuple(names[k] for k in used),
        np.array([place[k] for k in first], dtype=np.intp),
        np.array([place[k] for k in second], dtype=np.intp),
    )  # fmt: skip


def place(cells: Cells, u: Array, v: Array, tol_x: Array, tol_z: Array) -> Placed:
    """Where body points can be."""
    c, cos, sin = cells, cells.cos, cells.sin
    a, b = c.a0 + c.a1 * u, c.b0 + c.b1 * u
    a_up, a_down = np.maximum(a, 0.0), np.minimum(a, 0.0)
    b_up, b_down = np.maximum(b, 0.0), np.minimum(b, 0.0)
    bend = 0.5 * c.off**2 / cos
    over = (v - a * c.vi - b * c.vj) * bend
    middle = c.height + v / cos
    tol = (tol_z + tol_x * c.off) / cos
    high = a_up * c.gi_hi + a_down * c.gi_lo + b_up * c.gj_hi + b_down * c.gj_lo
    low = a_up * c.gi_lo + a_down * c.gi_hi + b_up * c.gj_lo + b_down * c.gj_hi
    ox, oz = u * cos - v * sin, u * sin + v * cos
    x_off = c.half + np.abs(oz) * c.off + 0.5 * np.abs(ox) * c.off**2
    x_off = x_off + tol_x + tol_z * (np.abs(sin) + c.off)
    return Placed(
        middle + low - np.maximum(over, 0.0) - tol,
        middle + high - np.minimum(over, 0.0) + tol,
        c.x + ox,
        x_off,
        middle,
        np.abs(a) * c.ei + np.abs(b) * c.ej + np.abs(over) + tol,
        np.abs(sin * (v - a * c.vi - b * c.vj)),
    )


def _over(path: HubPath, cells: Cells, at: Placed, more: Array | float = 0.0
) -> tuple[Array, Array]:  # fmt: skip
    """Ends of the gap between hubs (or points) and their path."""
    shape = at.x.shape
    tan = np.broadcast_to(np.tan(cells.turn), shape)
    low, high = path.span(at.x.ravel(), (at.x_off + more).ravel(), tan.ravel())
    level = tan * (at.x - cells.x)
    low, high = at.low + level - high.reshape(shape), at.high + level - low.reshape(shape)
    if path.exact or not np.any(cells.same >= 0):
        return low, high
    # Where wheels and point are over one segment, its errors lift all of them alike.
    alone, stray = path.alone(at.x.ravel(), (at.x_off + more).ravel(), tan.ravel())
    alone = alone.reshape(shape)
    with_it = (alone >= 0) & (alone == cells.same)
    middle = at.middle + level - path.at(at.x.ravel())[0].reshape(shape)
    off = at.own + at.tilt * path.ts[alone, 0] + stray.reshape(shape)
    low = np.where(with_it, np.maximum(low, middle - off), low)
    return low, np.where(with_it, np.minimum(high, middle + off), high)


def _corners(profile: Profile) -> list[tuple[float, float, float, float, str]]:
    """Ends of segments that the way turns at."""
    found: dict[tuple[float, float], tuple[float, float, float, float, str]] = {}
    for s in profile.segments:
        for x, z, tx, tz in (
            (s.x0, s.z0, s.tol_x0, s.tol_z0), (s.x1, s.z1, s.tol_x1, s.tol_z1),
        ):  # fmt: skip
            if abs(x) >= FAR_MM:
                continue
            old = found.get((x, z), (x, z, 0.0, 0.0, s.name))
            found[x, z] = (x, z, max(tx, old[2]), max(tz, old[3]), old[4])
    return list(found.values())


def _edge_part(
    at: Placed, points: Points, lo: Array, hi: Array
) -> tuple[Array, Array, Mask, Array, Array]:
    """Where along every edge x can lie in [lo, hi]: t ends, if at all, and the edge's x ends."""
    ax, bx = at.x[points.edge_a], at.x[points.edge_b]
    run = bx - ax
    run = np.where(np.abs(run) < 1e-9, 1e-9, run)
    t0, t1 = (lo - ax) / run, (hi - ax) / run
    first, last = np.minimum(t0, t1), np.maximum(t0, t1)
    there = (first <= 1.0) & (last >= 0.0)
    return np.clip(first, 0.0, 1.0), np.clip(last, 0.0, 1.0), there, ax, bx


def over_way(
    cells: Cells, stance: Stance, points: Points, contacts: Sequence[Contact]
) -> Near | None:
    """Gap of the points, of the edges over the way's corners, and of round contacts."""
    lows, ups, labels = [], [], []
    tan = np.tan(cells.turn)
    if points.names:
        at = place(cells, points.u, points.v, points.tol_x, points.tol_z)
        low, up = _over(stance.path(0.0), cells, at)
        lows, ups = [low], [up]
        labels = [(name, "the way") for name in points.names]
        a, b = points.edge_a, points.edge_b
        off = np.maximum(at.x_off[a], at.x_off[b])
        for x, z, tx, tz, name in _corners(stance.profile):
            reach = off + tx
            first, last, there, ax, bx = _edge_part(at, points, x - reach, x + reach)
            level = z - tan * (x - cells.x)
            more = tz + np.abs(tan) * tx
            la, rise = at.low[a], at.low[b] - at.low[a]
            least = np.minimum(la + first * rise, la + last * rise) - level - more
            ha, rise = at.high[a], at.high[b] - at.high[a]
            most = np.maximum(ha + first * rise, ha + last * rise) - level + more
            sure = (np.minimum(ax, bx) <= x - reach) & (x + reach <= np.maximum(ax, bx))
            lows.append(np.where(there, least, np.inf))
            ups.append(np.where(sure, most, np.inf))
            labels += [(edge, f"edge of {name}") for edge in points.edge_names]
    for c in contacts:
        foot = stance.foot(c)
        one = np.ones((1, 1))
        at = place(cells, one * foot.u, one * foot.v, one * foot.tol_x, one * foot.tol_z)
        low, up = _over(foot.path, cells, at, foot.tol_r)
        bent = 0.5 * foot.tol_r * cells.off**2 / cells.cos
        lows.append(low - bent)
        ups.append(up + bent)
        labels.append((c.name, "the way"))
    if not lows:
        return None
    low, up = np.concatenate(lows), np.concatenate(ups)
    return Near(np.min(low, axis=0), np.min(up, axis=0), np.argmin(low, axis=0), tuple(labels))


def under_bars(cells: Cells, points: Points, bars: Sequence[Bar]) -> tuple[Near, Array] | None:
    """Gap of upper edges under bars; and what each point leaves while passing a bar.

    Passing: as the chair rolls on, a point passes each x* once whatever the values, so the gap is
    at most the largest that it can have there. Rows: bars' x* by points; minus infinity in columns
    where the point cannot be at x*.
    """
    if not points.names or not bars:
        return None
    n = cells.x.size
    reach = float(np.max(np.hypot(points.u, points.v) + points.tol_x + points.tol_z))
    near = np.zeros(n, dtype=bool)
    for bar in bars:
        lo, hi = bar.x0_mm.value - bar.x0_mm.tol, bar.x1_mm.value + bar.x1_mm.tol
        near |= (cells.x + cells.half + reach >= lo) & (cells.x - cells.half - reach <= hi)
    spread = Near(np.full(n, np.inf), np.full(n, np.inf), np.zeros(n, dtype=np.intp), (("", ""),))
    passing = np.full((len(points.names) * sum(len(spots(bar)) for bar in bars), n), -np.inf)
    if not np.any(near):
        return spread, passing
    got, passing[:, near] = _under_near(cells.take(near), points, bars)
    spread.low[near], spread.up[near], spread.row[near] = got.low, got.up, got.row
    return replace(spread, labels=got.labels), passing


def _under_near(cells: Cells, points: Points, bars: Sequence[Bar]) -> tuple[Near, Array]:
    tan = np.tan(cells.turn)
    at = place(cells, points.u, points.v, points.tol_x, points.tol_z)
    a, b = points.edge_a, points.edge_b
    off = np.maximum(at.x_off[a], at.x_off[b])
    ax, bx = at.x[a], at.x[b]
    left, right = np.minimum(ax, bx), np.maximum(ax, bx)
    span = np.where(right - left < 1e-9, 1e-9, bx - ax)
    lows, ups, labels, passing = [], [], [], []
    for bar in bars:
        lo, hi = bar.x0_mm.value - bar.x0_mm.tol, bar.x1_mm.value + bar.x1_mm.tol
        first, last, there, _, _ = _edge_part(at, points, lo - off, hi + off)
        # Upright, x + off <= hi and x - off >= lo bend the edge's bound once: three places suffice.
        kink = np.where(tan >= 0.0, hi - off - ax, lo + off - ax) / span
        top = np.full(ax.shape, -np.inf)
        for t in (first, last, np.minimum(np.maximum(kink, first), last)):
            x = ax + t * (bx - ax)
            x = np.where(tan >= 0.0, np.minimum(x + off, hi), np.maximum(x - off, lo))
            zeta = at.high[a] + t * (at.high[b] - at.high[a])
            top = np.maximum(top, zeta + tan * (x - cells.x))
        z, tol = bar.z_mm.value, bar.z_mm.tol
        lows.append(np.where(there, z - tol - top, np.inf))
        labels += [(name, bar.name) for name in points.edge_names]
        lo, hi = bar.x0_mm.value + bar.x0_mm.tol, bar.x1_mm.value - bar.x1_mm.tol
        under = (at.x - at.x_off >= lo) & (at.x + at.x_off <= hi)
        least = at.low + tan * (at.x - cells.x) - np.abs(tan) * at.x_off
        ups.append(np.where(under, z + tol - least, np.inf))
        for spot in spots(bar):
            # Where x surely is under an edge: the lower one of its ends there.
            t0, t1 = (spot - off - ax) / span, (spot + off - ax) / span
            rise = at.low[b] - at.low[a]
            least = at.low[a] + np.minimum(t0 * rise, t1 * rise) + tan * (spot - cells.x)
            sure = (left <= spot - off) & (spot + off <= right)
            ups.append(np.where(sure, z + tol - least, np.inf))
            here = np.abs(at.x - spot) <= at.x_off
            least = at.low + tan * (spot - cells.x)
            passing.append(np.where(here, z + tol - least, -np.inf))
    low = np.concatenate(lows)
    up = np.min(np.concatenate(ups), axis=0)
    near = Near(np.min(low, axis=0), up, np.argmin(low, axis=0), tuple(labels))
    return near, np.concatenate(passing)


def spots(bar: Bar) -> tuple[float, ...]:
    """x surely under a bar: its ends and its middle."""
    lo, hi = bar.x0_mm.value + bar.x0_mm.tol, bar.x1_mm.value - bar.x1_mm.tol
    return (lo, 0.5 * (lo + hi), hi) if lo < hi else ()


def passed(cells: Cells, points: Points, bars: Sequence[Bar]) -> Array:
    """Whether each point surely passes each x* between the first and the last cell."""
    at = place(cells, points.u, points.v, points.tol_x, points.tol_z)
    first, last = cells.x == np.min(cells.x), cells.x == np.max(cells.x)
    before = np.max((at.x + at.x_off)[:, first], axis=1)
    after = np.min((at.x - at.x_off)[:, last], axis=1)
    spot = [x for bar in bars for x in spots(bar)]
    return np.array([(before < x) & (x < after) for x in spot]).ravel()


def turns(cells: Cells) -> Near:
    """Minus the largest lean either way."""
    lean = np.abs(cells.turn)
    row = np.zeros(lean.shape, dtype=np.intp)
    return Near(-lean - cells.off, -np.maximum(lean - cells.off, 0.0), row, (("", ""),))


def tipping(
    cells: Cells, stance: Stance, body: SideBody, over: Contact, towards: float
) -> Near:  # fmt: skip
    """Angle left before the centre of mass stands above where a contact touches.

    Args:
        towards: 1 where the chair would tip backwards along the way, -1 forwards.
    """
    foot = stance.foot(over)
    cos, sin = cells.cos, cells.sin
    ox, oz = foot.turned(cos, sin)
    window = cells.half + np.abs(oz) * cells.off + 0.5 * np.abs(ox) * cells.off**2
    window = window + foot.tol_x + foot.tol_z * (np.abs(sin) + cells.off) + foot.tol_r
    slope_lo, slope_hi = foot.path.slopes(cells.x + ox, window)
    # The touched point lies r (sin, -cos) of that slope from the hub.
    ends = [s / np.sqrt(1.0 + s * s) for s in (slope_lo, slope_hi)]
    drops = [foot.path.r * np.sqrt(1.0 - e * e) for e in ends]
    level_foot = np.array([foot.path.r * towards * e for e in ends])
    flat = np.where(ends[0] * ends[1] <= 0.0, foot.path.r, np.maximum(*drops))
    x_tol = foot.tol_x + foot.tol_z * (np.abs(sin) + cells.off) + foot.tol_r
    z_tol = foot.tol_z + foot.tol_x * (np.abs(sin) + cells.off) + foot.tol_r
    # Axes: corners of the box of the centre of mass, ends of the turn, columns.
    corners = [(x, z) for x in body.com_x_mm for z in body.com_z_mm]
    gu = np.array([stance.facing * x - foot.u for x, _ in corners]).reshape(-1, 1, 1)
    gv = np.array([z - stance.origin_z - foot.v for _, z in corners]).reshape(-1, 1, 1)
    both = np.array([cells.turn - cells.off, cells.turn + cells.off])
    c, s = np.cos(both), np.sin(both)
    level, high = towards * (gu * c - gv * s), gu * s + gv * c
    # Between the two turns the arc bulges by at most its sagitta.
    sag = 0.5 * np.hypot(gu, gv)[:, 0] * cells.off**2
    level_lo = np.min(level, axis=1) - np.max(level_foot, axis=0) - x_tol - sag
    level_hi = np.max(level, axis=1) - np.min(level_foot, axis=0) + x_tol + sag
    high_lo = np.maximum(np.min(high, axis=1) + np.minimum(*drops) - z_tol - sag, 1.0)
    high_hi = np.maximum(np.max(high, axis=1) + flat + z_tol + sag, 1.0)
    worst = np.arctan2(level_lo, np.where(level_lo > 0.0, high_hi, high_lo))
    best = np.arctan2(level_hi, np.where(level_hi > 0.0, high_lo, high_hi))
    low, up = np.min(worst, axis=0), np.max(best, axis=0)
    row = np.zeros(low.shape, dtype=np.intp)
    return Near(low, up, row, ((over.name, ""),))
