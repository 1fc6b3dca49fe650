"""The whole climb with every value anywhere in its tolerance: margins enclosed from both sides.

For every position X of the drive axle on a fine grid the chair's pose is solved exactly at the
middle values. How far any body point can then be off, for all values in their tolerances and all
X within half a grid step, is bounded by

- how far each wheel's hub can be off in height: the spread of its hub path over a window as wide
  as everything that can shift it along the way, plus the profile's own tolerance in height;
- the levers by which a body point follows the two hubs it stands on, |1 - w| and |w|;
- second-order terms: distance times half the square of the turn's error.

A sprung wheel bears anywhere in its travel (spring rates are unknown): such a chair leans anywhere
between the pose on one bump stop and the pose on the other, so both ends are solved and what lies
between is at most the arc's height further out.

Each end of a margin is the least over the grid: the lower one of bounds that hold half a step
around, the upper one of values that some X reaches whatever the values.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from sillway.fit.ramp.body import Bar, Contact, Overhead, SideBody, SidePart
from sillway.fit.ramp.contact import Array, HubPath
from sillway.fit.ramp.pose import Foot, rest
from sillway.fit.ramp.profile import Profile, Segment

STEP_MM = 4.0
# Table of the profile and hub paths. Their slope is at most STEEP where a wheel can roll at all.
TABLE_MM = 1.0
WINDOW_CELLS = 4
# An edge further off than this is not felt by a wheel or a part at x: no wheel is larger.
NEAR_MM = 500.0
# No chair turns further than this in any pose that is told; beyond it the climb is not proved.
MOST_TURN = 0.7
# Rounding of some dozen sums and products of numbers below 1e5 mm, times a thousand. [mm]
ROUND_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """A height over x as a table, with how far it can be off. [mm]"""

    x0: float
    values: Array
    off: Array
    shift: Array
    windows: dict[int, tuple[Array, Array]] = field(default_factory=dict)

    def _window(self, n: int) -> tuple[Array, Array]:
        if n not in self.windows:
            padded = np.pad(self.values, n, mode="edge")
            off = np.pad(self.off, n, mode="edge")
            low = sliding_window_view(padded - off, 2 * n + 1).min(axis=1)
            high = sliding_window_view(padded + off, 2 * n + 1).max(axis=1)
            self.windows[n] = low, high
        return self.windows[n]

    def spread(self, x: Array, window: Array) -> tuple[Array, Array, Array]:
        """Value at x, and how far below and above it the true one can be within each window."""
        at = np.clip(np.rint((x - self.x0) / TABLE_MM).astype(int), 0, len(self.values) - 1)
        value = np.interp(x, self.x0 + TABLE_MM * np.arange(len(self.values)), self.values)
        # Edges shift by their own tolerance; one may shift into the window from beyond it.
        window = window + self.shift[at] + TABLE_MM
        # Windows in steps of some cells, so that few have to be made.
        cells = (np.ceil(window / TABLE_MM).astype(int) // WINDOW_CELLS + 1) * WINDOW_CELLS
        low, high = np.empty_like(value), np.empty_like(value)
        for n in np.unique(cells):
            here = cells == n
            lows, highs = self._window(int(n))
            low[here], high[here] = lows[at[here]], highs[at[here]]
        return value, value - low + ROUND_MM, high - value + ROUND_MM


def _segment_tables(segments: Sequence[Segment], x: Array, radius: float) -> tuple[Array, Array]:
    """Height of a wheel's hub over the segments (radius 0: of the way itself), and its tolerance.

    Moving a segment's ends by (tx, tz) moves the hub path by at most tz, and sideways by tx; the
    sideways part is turned into height by the slope where it is touched.
    """
    heights, offs = [], []
    for s in segments:
        slope = s.slope
        shift = radius * slope / math.hypot(1.0, slope)
        at = np.clip(x + shift, s.x0, s.x1)
        left = radius * radius - (x - at) ** 2
        touches = (left > 0.0) | (x == at)
        top = s.z0 + slope * (at - s.x0) + np.sqrt(np.maximum(left, 0.0))
        t = (at - s.x0) / (s.x1 - s.x0)
        tz = s.tol_z0 + (s.tol_z1 - s.tol_z0) * t
        tx = s.tol_x0 + (s.tol_x1 - s.tol_x0) * t
        # Beside its ends the segment still counts as far as they may reach.
        near = (x > s.x0 - radius - s.tol_x0) & (x < s.x1 + radius + s.tol_x1)
        heights.append(np.where(touches, top, -np.inf))
        offs.append(np.where(near, tz + tx * abs(slope), -np.inf))
    tops = np.array(heights)
    highest = tops.max(axis=0)
    slack = 2.0 * max(max(s.tol_z0, s.tol_z1) for s in segments)
    counts = tops >= highest - slack
    off = np.where(counts, np.array(offs), -np.inf).max(axis=0)
    return highest, np.maximum(off, 0.0)


def _edge_shift(segments: Sequence[Segment], x: Array) -> Array:
    """How far edges of the way within reach of x can be off sideways. [mm]"""
    out = np.zeros_like(x)
    for s in segments:
        for at, tol in ((s.x0, s.tol_x0), (s.x1, s.tol_x1)):
            out = np.maximum(out, np.where(np.abs(x - at) <= NEAR_MM, tol, 0.0))
    return out


def _heights(segments: Sequence[Segment], lo: float, hi: float, radius: float) -> Heights:
    x = lo + TABLE_MM * np.arange(int((hi - lo) / TABLE_MM) + 2, dtype=np.float64)
    return Heights(lo, *_segment_tables(segments, x, radius), _edge_shift(segments, x))


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """The pose on two wheels at every X, and how far each hub can be off."""

    turn: Array
    height: Array
    turn_off: Array
    rear_x: Array
    lever: Array
    rear_down: Array
    rear_up: Array
    front_down: Array
    front_up: Array
    proved: bool

    def point(self, p: float, q: float, tol: float) -> tuple[Array, Array, Array, Array]:
        """x offset and height of a body point (from O), and how far down and up it can be off."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        x, z = p * c - q * s, self.height + p * s + q * c
        w = (x - self.rear_x) / self.lever
        bend = 0.5 * math.hypot(p, q) * self.turn_off**2 + tol * np.abs(s) + ROUND_MM
        down = _lever(1 - w, self.rear_down, self.rear_up) + _lever(
            w, self.front_down, self.front_up
        )
        up = _lever(1 - w, self.rear_up, self.rear_down) + _lever(w, self.front_up, self.front_down)
        return x, z, down + bend, up + bend


def _lever(weight: Array, same: Array, other: Array) -> Array:
    return np.where(weight >= 0, weight * same, -weight * other)


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One stretch of the climb: the grid, the tables, all stands."""

    x: Array
    segments: tuple[Segment, ...]
    bars: tuple[Bar, ...]
    origin_z: float
    facing: int
    stands: tuple[Stand, ...]
    counts: tuple[Array, ...]  # per stand: where it can be
    drive_light: Array
    proved: bool
    points: dict[tuple[float, ...], Point] = field(default_factory=dict)


def _foot(c: Contact, facing: int, origin_z: float, raised: float, path: HubPath) -> Foot:
    z = c.clearance_mm.value + c.radius_mm.value + raised - origin_z
    return Foot(c.name, facing * c.x_mm.value, z, c.x_mm.tol, c.clearance_mm.tol, path)


class _Hubs:
    """Hub paths of the wheels and their tables, made once for a stretch."""

    def __init__(self, profile: Profile, lo: float, hi: float) -> None:
        self.profile, self.lo, self.hi = profile, lo, hi
        self.paths: dict[float, HubPath] = {}
        self.heights: dict[float, Heights] = {}

    def path(self, radius: float) -> HubPath:
        if radius not in self.paths:
            self.paths[radius] = HubPath(self.profile.exact(), radius)
        return self.paths[radius]

    def table(self, radius: float) -> Heights:
        if radius not in self.heights:
            self.heights[radius] = _heights(self.profile.segments, self.lo, self.hi, radius)
        return self.heights[radius]


def _stand(hubs: _Hubs, rear: Foot, front: Foot, x: Array) -> Stand:
    turn, height = rest(rear, front, x)
    c, s = np.cos(turn), np.sin(turn)
    rx, rz = rear.x * c - rear.z * s, rear.x * s + rear.z * c
    fx, fz = front.x * c - front.z * s, front.x * s + front.z * c
    lever = fx - rx
    turn_off = np.full_like(x, 0.01)
    proved = False
    parts = [np.zeros_like(x)] * 4
    # The windows depend on how far the turn can be off, and that on them: grow until it holds.
    for _ in range(6):
        parts = []
        for foot, ox, oz in ((rear, rx, rz), (front, fx, fz)):
            window = 0.5 * STEP_MM + foot.tol_x + np.abs(oz) * turn_off
            value, down, up = hubs.table(foot.path.r).spread(x + ox, window)
            exact = height + oz
            parts += [down + exact - value + foot.tol_z, up + value - exact + foot.tol_z]
        least = lever - rear.tol_x - front.tol_x
        spread = np.maximum(parts[0] + parts[3], parts[1] + parts[2])
        need = spread / np.maximum(least, 1.0)
        proved = bool(np.all(need <= turn_off)) and float(np.min(least)) > 0.0
        if proved:
            break
        turn_off = np.maximum(turn_off, 1.1 * need)
    proved = proved and float(np.max(np.abs(turn) + turn_off)) < MOST_TURN
    rear_down, rear_up, front_down, front_up = parts
    return Stand(
        turn, height, turn_off, rx, np.maximum(least, 1.0),
        rear_down, rear_up, front_down, front_up, proved,
    )  # fmt: skip


def stretch(
    body: SideBody, profile: Profile, overhead: Overhead, facing: int, start: float, end: float
) -> Way:
    drive = body.drive
    origin_z = drive.clearance_mm.value + drive.radius_mm.value
    reach = max(abs(c.x_mm.value) + c.radius_mm.value for c in body.contacts) + 400.0
    hubs = _Hubs(profile, start - reach, end + reach)
    steps = max(math.ceil((end - start) / STEP_MM), 1)
    x = start + STEP_MM * np.arange(steps + 1, dtype=np.float64)

    def foot(c: Contact, raised: float) -> Foot:
        return _foot(c, facing, origin_z, raised, hubs.path(c.radius_mm.value))

    rolling = [c for c in body.contacts if c.rolls and not c.drive]
    ahead = [c for c in rolling if facing * c.x_mm.value > 0]
    behind = [c for c in rolling if facing * c.x_mm.value < 0]
    on = foot(drive, 0.0)
    lows, highs = [], []  # stands that keep the turn from below, and from above
    for c in ahead:
        lows.append(_stand(hubs, on, foot(c, c.travel_up_mm), x))
    for c in behind:
        highs.append(_stand(hubs, foot(c, c.travel_up_mm), on, x))
    if not behind:
        highs += [_stand(hubs, on, foot(c, -c.travel_down_mm), x) for c in ahead]
    if not ahead:
        lows += [_stand(hubs, foot(c, -c.travel_down_mm), on, x) for c in behind]
    least = np.max([s.turn - s.turn_off for s in lows], axis=0)
    most = np.min([s.turn + s.turn_off for s in highs], axis=0)
    loaded = least <= most
    stands = [*lows, *highs]
    counts = [
        loaded & (s.turn + s.turn_off >= least) & (s.turn - s.turn_off <= most) for s in stands
    ]
    nominal = (
        np.max([s.turn for s in lows], axis=0) > np.min([s.turn for s in highs], axis=0) + 1e-9
    )
    if ahead and behind:
        lift = np.max([s.turn + s.turn_off for s in lows], axis=0) >= np.min(
            [s.turn - s.turn_off for s in highs], axis=0
        )
        for f in ahead:
            for r in behind:
                stand = _stand(hubs, foot(r, r.travel_up_mm), foot(f, f.travel_up_mm), x)
                stands.append(stand)
                counts.append(lift)
    proved = all(s.proved for s, c in zip(stands, counts, strict=True) if np.any(c))
    proved = proved and bool(np.all(np.any(counts, axis=0)))
    return Way(
        x, profile.segments, overhead.bars, origin_z, facing, tuple(stands), tuple(counts), nominal,
        proved,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Point:
    """A body point at every X over all stands that can be: ends of its height, and its x."""

    x: Array
    x_off: Array
    low: Array
    high: Array
    middle: Array


def _point(way: Way, p: float, q: float, tol_x: float, tol_z: float) -> Point:
    """``p`` ahead in the direction of travel, ``q`` above O."""
    xs, lows, highs, mids, offs = [], [], [], [], []
    for stand, counts in zip(way.stands, way.counts, strict=True):
        x, z, down, up = stand.point(p, q, tol_x)
        along = np.abs(p * np.sin(stand.turn) + q * np.cos(stand.turn))
        off = along * stand.turn_off + tol_x + tol_z * np.abs(np.sin(stand.turn))
        off = off + 0.5 * math.hypot(p, q) * stand.turn_off**2
        xs.append(np.where(counts, x, np.nan))
        offs.append(np.where(counts, off, 0.0))
        lows.append(np.where(counts, z - down, np.inf))
        highs.append(np.where(counts, z + up, -np.inf))
        mids.append(np.where(counts, z, np.nan))
    x_low, x_high = np.nanmin(xs, axis=0), np.nanmax(xs, axis=0)
    turns = np.array(
        [np.where(c, s.turn, np.nan) for s, c in zip(way.stands, way.counts, strict=True)]
    )
    fan = np.nanmax(turns, axis=0) - np.nanmin(turns, axis=0)
    sag = math.hypot(p, q) * fan**2 / 8.0
    x = 0.5 * (x_low + x_high)
    x_off = 0.5 * (x_high - x_low) + np.max(offs, axis=0) + sag + 0.5 * STEP_MM
    low, high = np.min(lows, axis=0) - sag - tol_z, np.max(highs, axis=0) + sag + tol_z
    return Point(way.x + x, x_off, low, high, np.nanmean(mids, axis=0))


@dataclass(frozen=True, slots=True)
class Found:
    """The least of something over a stretch: its two ends, where, and what comes near what."""

    lower: float
    upper: float
    x_mm: float
    part: str = ""
    against: str = ""

    @staticmethod
    def none() -> Found:
        """Nothing comes near."""
        return Found(math.inf, math.inf, 0.0)

    def and_(self, other: Found) -> Found:
        """The lesser of both, end by end; the place is that of the lesser lower end."""
        nearer = self if self.lower <= other.lower else other
        return replace(
            nearer, lower=min(self.lower, other.lower), upper=min(self.upper, other.upper)
        )


def _found(way: Way, low: Array, up: Array, part: str, against: str) -> Found:
    i = int(np.argmin(low))
    if not np.isfinite(low[i]) and low[i] > 0:
        return Found.none()
    return Found(float(low[i]), float(np.min(up)), float(way.x[i]), part, against)


def under_bars(way: Way, parts: Sequence[SidePart]) -> Found:
    """Least gap between the parts and everything overhead, along the vertical."""
    best = Found.none()
    for part in parts:
        for a, b in _edges(way, part):
            for bar in way.bars:
                lo, hi = bar.x0_mm.value - bar.x0_mm.tol, bar.x1_mm.value + bar.x1_mm.tol
                top = _highest_between(a, b, lo, hi)
                sure = _sure_between(
                    a, b, bar.x0_mm.value + bar.x0_mm.tol, bar.x1_mm.value - bar.x1_mm.tol
                )
                low = bar.z_mm.value - bar.z_mm.tol - top
                up = bar.z_mm.value + bar.z_mm.tol - sure
                best = best.and_(_found(way, low, up, part.name, bar.name))
    return best


def _edges(way: Way, part: SidePart) -> Iterator[tuple[Point, Point]]:
    points = []
    for x, z in part.polygon:
        key = (x, z, part.tol_x_mm, part.tol_z_mm)
        if key not in way.points:
            way.points[key] = _point(way, way.facing * x, z - way.origin_z, *key[2:])
        points.append(way.points[key])
    yield from zip(points, [*points[1:], points[0]], strict=True)


def _highest_between(a: Point, b: Point, lo: float, hi: float) -> Array:
    """Highest that an edge can reach between two x; minus infinity where it cannot be there."""
    off = np.maximum(a.x_off, b.x_off)
    return _on_edge(a.x, a.high, b.x, b.high, lo - off, hi + off, np.maximum)


def _sure_between(a: Point, b: Point, lo: float, hi: float) -> Array:
    """A height that an edge surely reaches between two x; minus infinity where none is sure."""
    off = np.maximum(a.x_off, b.x_off)
    return _on_edge(a.x, a.low, b.x, b.low, lo + off, hi - off, np.maximum)


def _on_edge(
    ax: Array, az: Array, bx: Array, bz: Array, lo: Array, hi: Array, pick: np.ufunc
) -> Array:
    run = bx - ax
    flat = np.abs(run) < 1e-9
    safe = np.where(flat, 1.0, run)
    t0, t1 = (lo - ax) / safe, (hi - ax) / safe
    first, last = np.minimum(t0, t1), np.maximum(t0, t1)
    first, last = np.where(flat, 0.0, first), np.where(flat, 1.0, last)
    inside = np.where(flat, (ax >= lo) & (ax <= hi), (first <= 1.0) & (last >= 0.0)) & (lo <= hi)
    first, last = np.clip(first, 0.0, 1.0), np.clip(last, 0.0, 1.0)
    rise = bz - az
    worst = np.inf if pick is np.minimum else -np.inf
    return np.where(inside, pick(az + first * rise, az + last * rise), worst)


def over_way(way: Way, parts: Sequence[SidePart]) -> Found:
    """Least gap between the parts' undersides and the way, along the vertical."""
    best = Found.none()
    lo, hi = float(way.x[0]) - 3000.0, float(way.x[-1]) + 3000.0
    ground = _heights(way.segments, lo, hi, 0.0)
    tops = [(s.x0, s.z0, s.tol_x0, s.tol_z0, s.name) for s in way.segments]
    tops += [(s.x1, s.z1, s.tol_x1, s.tol_z1, s.name) for s in way.segments]
    for part in parts:
        for a, b in _edges(way, part):
            value, sure, up = ground.spread(a.x, a.x_off)
            best = best.and_(
                _found(way, a.low - value - up, a.high - value + sure, part.name, "the way")
            )
            for x, z, tx, tz, name in tops:
                off = np.maximum(a.x_off, b.x_off) + tx
                low = _on_edge(a.x, a.low, b.x, b.low, x - off, x + off, np.minimum) - z - tz
                none = np.full_like(low, np.inf)
                best = best.and_(_found(way, low, none, part.name, f"edge of {name}"))
    return best


def largest_turn(way: Way) -> Found:
    """Minus the largest lean either way."""
    low, up = np.full_like(way.x, np.inf), np.full_like(way.x, np.inf)
    for s, counts in zip(way.stands, way.counts, strict=True):
        low = np.minimum(low, np.where(counts, -np.abs(s.turn) - s.turn_off, np.inf))
        up = np.minimum(up, np.where(counts, -np.maximum(np.abs(s.turn) - s.turn_off, 0.0), np.inf))
    return _found(way, low, up, "", "")


def tipping(way: Way, body: SideBody, over: Contact, towards: float) -> Found:
    """Angle left before the centre of mass stands above a contact.

    Args:
        towards: 1 where the chair would tip backwards along the way, -1 forwards.
    """
    low, up = np.full_like(way.x, np.inf), np.full_like(way.x, np.inf)
    fx, fz = way.facing * over.x_mm.value, over.clearance_mm.value + over.radius_mm.value
    fz -= way.origin_z
    lean = max(abs(math.atan(s.slope)) for s in way.segments)
    for s, counts in zip(way.stands, way.counts, strict=True):
        for cx in body.com_x_mm:
            for cz in body.com_z_mm:
                gx, gz = way.facing * cx - fx, cz - way.origin_z - fz
                c, sn = np.cos(s.turn), np.sin(s.turn)
                level, high = gx * c - gz * sn, gx * sn + gz * c + over.radius_mm.value
                # The touched point lies off the hub's plumb line by at most the way's slope.
                foot = over.radius_mm.value * math.sin(lean)
                slack = over.x_mm.tol + over.clearance_mm.tol + math.hypot(gx, gz) * s.turn_off
                worst = np.arctan2(towards * level - foot - slack, np.maximum(high, 1.0))
                fair = np.arctan2(towards * level + foot + slack, np.maximum(high, 1.0))
                low = np.minimum(low, np.where(counts, worst, np.inf))
                up = np.minimum(up, np.where(counts, fair, np.inf))
    return _found(way, low, up, over.name, "")


def contact_parts(body: SideBody) -> list[SidePart]:
    """Anti-tippers and footplates as parts: the lowest point of each, and its round edge."""
    out = []
    for c in body.contacts:
        if c.rolls:
            continue
        r, low, x = c.radius_mm.value, c.clearance_mm.value, c.x_mm.value
        chord = r * math.sin(math.pi / 4)
        polygon = (
            (x - chord, low + r - chord),
            (x, low),
            (x + chord, low + r - chord),
            (x, low + 2 * r + 1),
        )
        tol_z = c.clearance_mm.tol + c.radius_mm.tol
        # The true arc lies below the chords by at most this.
        sag = r * (1 - math.cos(math.pi / 8))
        out.append(SidePart(c.name, polygon, c.x_mm.tol + c.radius_mm.tol, tol_z + sag))
    return out


def inner_and_outer(body: SideBody) -> tuple[list[SidePart], list[SidePart]]:
    """Undersides between the outermost wheels, and what sticks out beyond them."""
    wheels = [c.x_mm.value for c in body.contacts if c.rolls]
    lo, hi = min(wheels), max(wheels)
    inner: list[SidePart] = []
    outer = contact_parts(body)
    for part in (p for p in body.parts if p.under):
        xs = [x for x, _ in part.polygon]
        (inner if lo <= min(xs) and max(xs) <= hi else outer).append(part)
    return inner, outer
