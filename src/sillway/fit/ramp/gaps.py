"""Vertical gaps between the turned body and lines below it (the way) or above it (headers).

Two straight-edged outlines are closest, along the vertical, where one of them has a corner. So
all gaps are those of body corners over or under lines, and of line ends under or over body edges;
each is bounded over a cell by `Stand.gap` (a gap to a body edge moves like that of the body point
across from the line's end, measured along the edge's own slope).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.body import Bar, SidePart
from sillway.fit.ramp.contact import STEEP, Array, Index, Mask
from sillway.fit.ramp.pose import Stand
from sillway.fit.ramp.profile import FAR_MM, Profile


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Straight lines with tolerances as columns; ``side`` +1: the body stays above, -1: below."""

    names: tuple[str, ...]
    x0: Array
    z0: Array
    x1: Array
    z1: Array
    tx0: Array
    tz0: Array
    tx1: Array
    tz1: Array
    slope: Array
    ts: Array
    side: float
    end_x: Array
    end_z: Array
    end_tx: Array
    end_tz: Array
    end_names: tuple[str, ...]


def _lines(rows: Sequence[tuple[str, Sequence[float]]], side: float) -> Lines:
    table = np.array([row for _, row in rows], dtype=float).reshape(len(rows), 9)
    x0, z0, x1, z1, tx0, tz0, tx1, tz1, ts = table.T
    ends: dict[tuple[float, ...], str] = {}
    for name, row in rows:
        for end in (row[0], row[1], row[4], row[5]), (row[2], row[3], row[6], row[7]):
            if abs(end[0]) < FAR_MM:
                ends.setdefault(tuple(end), f"end of {name}" if side > 0 else name)
    px, pz, ptx, ptz = np.array(list(ends), dtype=float).reshape(len(ends), 4).T
    names = tuple(name for name, _ in rows)
    slope = (z1 - z0) / (x1 - x0)
    return Lines(
        names,
        x0,
        z0,
        x1,
        z1,
        tx0,
        tz0,
        tx1,
        tz1,
        slope,
        ts,
        side,
        px,
        pz,
        ptx,
        ptz,
        tuple(ends.values()),
    )


def lines_below(profile: Profile) -> Lines:
    """The way as lines the body stays above."""
    rows = [
        (
            s.name,
            (s.x0, s.z0, s.x1, s.z1, s.tol_x0, s.tol_z0, s.tol_x1, s.tol_z1, s.tol_slope),
        )
        for s in profile.segments
    ]
    return _lines(rows, 1.0)


def lines_above(bars: Sequence[Bar]) -> Lines:
    """Bars as lines the body stays below."""
    rows = [
        (
            b.name,
            (
                b.x0_mm.value,
                b.z_mm.value,
                b.x1_mm.value,
                b.z_mm.value,
                b.x0_mm.tol,
                b.z_mm.tol,
                b.x1_mm.tol,
                b.z_mm.tol,
                0.0,
            ),
        )
        for b in bars
    ]
    return _lines(rows, -1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """Corners of some parts from O in the rolling frame, and edges as pairs of corners."""

    names: tuple[str, ...]
    x: Array
    z: Array
    tx: Array
    tz: Array
    far: Array
    a: Index
    b: Index


def outlines(
    parts: Sequence[SidePart], facing: int, origin_z: float, inner: tuple[float, float] | None
) -> tuple[Outline, Outline]:
    """The parts' outline within ``inner`` (chair x) and outside it; all within when None.

    Edges that cross an end of ``inner`` are split there, so that each point of the body belongs
    to one side for good.
    """
    bags: tuple[list[tuple[str, float, float, float, float]], ...] = ([], [])
    edges: tuple[list[tuple[int, int]], ...] = ([], [])
    for part in parts:
        ring = _split(part.polygon, inner)
        for (ax, az), (bx, bz) in zip(ring, [*ring[1:], ring[0]], strict=True):
            middle = 0.5 * (ax + bx)
            side = 0 if inner is None or inner[0] <= middle <= inner[1] else 1
            bag = bags[side]
            for x, z in ((ax, az), (bx, bz)):
                row = (part.name, facing * x, z - origin_z, part.tol_x_mm, part.tol_z_mm)
                bag.append(row)
            edges[side].append((len(bag) - 2, len(bag) - 1))
    return _outline(bags[0], edges[0]), _outline(bags[1], edges[1])


def _split(
    ring: Sequence[tuple[float, float]], inner: tuple[float, float] | None
) -> list[tuple[float, float]]:
    made: list[tuple[float, float]] = []
    for (ax, az), (bx, bz) in zip(ring, [*ring[1:], ring[0]], strict=True):
        made.append((ax, az))
        cuts = [c for c in inner or () if min(ax, bx) < c < max(ax, bx)]
        for c in sorted(cuts, reverse=ax > bx):
            made.append((c, az + (bz - az) * (c - ax) / (bx - ax)))
    return made


def _outline(
    rows: list[tuple[str, float, float, float, float]], edges: list[tuple[int, int]]
) -> Outline:
    unique: dict[tuple[str, float, float, float, float], int] = {}
    where = [unique.setdefault(row, len(unique)) for row in rows]
    x, z, tx, tz = np.array([row[1:] for row in unique], dtype=float).reshape(len(unique), 4).T
    a = np.array([where[i] for i, _ in edges], dtype=np.intp)
    b = np.array([where[j] for _, j in edges], dtype=np.intp)
    return Outline(tuple(row[0] for row in unique), x, z, tx, tz, np.hypot(x, z), a, b)


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """Per cell: lowest gap over cell and values; lowest over values at the middle X; and the
    most the smallest gap at the middle X can be."""

    low: Array
    low_here: Array
    up_here: Array


def none(n: int) -> Bounds:
    """No gap found."""
    return Bounds(*(np.full(n, np.inf) for _ in range(3)))


def gaps(s: Stand, body: Outline, lines: Lines) -> Bounds:
    """Bounds of the smallest gap between body and lines, for every cell of ``s``."""
    made = none(len(s.x))
    if body.x.size and lines.x0.size:
        _corners(s, body, lines, made)
        _ends(s, body, lines, made)
    return made


def _put(
    made: Bounds, n: Index, gap: Array, by_x: Array, by_v: Array, here: Mask, sure: Mask
) -> None:
    np.minimum.at(made.low, n, gap - by_x - by_v)
    np.minimum.at(made.low_here, n, np.where(here, gap - by_v, np.inf))
    np.minimum.at(made.up_here, n, np.where(sure, gap + by_v, np.inf))


def _own(s: Stand, body: Outline, n: Index, v: Index) -> tuple[Array, Array]:
    """How far corner v is off in x and z by its own tolerance, as turned."""
    sin = np.minimum(np.abs(s.sin[n]) + s.stray[n], 1.0)
    cos = np.minimum(np.abs(s.cos[n]) + s.stray[n], 1.0)
    return cos * body.tx[v] + sin * body.tz[v], cos * body.tz[v] + sin * body.tx[v]


def _corners(s: Stand, body: Outline, lines: Lines, made: Bounds) -> None:
    qx = np.outer(s.cos, body.x) - np.outer(s.sin, body.z)
    qz = np.outer(s.sin, body.x) + np.outer(s.cos, body.z)
    at = s.x[:, None] + qx
    # The tolerances in x and z, however turned, move a corner by no more than both together.
    wide = s.half[:, None] + np.outer(s.stray, body.far) + (body.tx + body.tz)
    left, right = at - wide, at + wide
    for k in range(lines.x0.size):
        near = (right >= lines.x0[k] - lines.tx0[k]) & (left <= lines.x1[k] + lines.tx1[k])
        n, v = np.nonzero(near)
        if not n.size:
            continue
        x, z, ats = qx[n, v], qz[n, v], at[n, v]
        slope = lines.slope[k]
        gap = lines.side * (s.height[n] + z - lines.z0[k] - slope * (ats - lines.x0[k]))
        steep = np.full(n.shape, slope)
        loose = np.full(n.shape, lines.ts[k])
        by_x, by_v = s.gap(x, z, body.far[v] * s.stray[n], steep, loose, n)
        own_x, own_z = _own(s, body, n, v)
        along = np.clip((ats - lines.x0[k]) / (lines.x1[k] - lines.x0[k]), 0.0, 1.0)
        e0 = lines.tz0[k] + (abs(slope) + lines.ts[k]) * lines.tx0[k]
        e1 = lines.tz1[k] + (abs(slope) + lines.ts[k]) * lines.tx1[k]
        beyond = np.maximum(np.maximum(lines.x0[k] - ats, ats - lines.x1[k]), 0.0)
        by_v = by_v + own_z + (abs(slope) + lines.ts[k]) * own_x
        by_v = by_v + e0 + (e1 - e0) * along + lines.ts[k] * beyond
        loose_x = body.far[v] * s.stray_v[n] + own_x
        here = (ats + loose_x >= lines.x0[k] - lines.tx0[k]) & (
            ats - loose_x <= lines.x1[k] + lines.tx1[k]
        )
        sure = (ats - loose_x >= lines.x0[k] + lines.tx0[k]) & (
            ats + loose_x <= lines.x1[k] - lines.tx1[k]
        )
        _put(made, n, gap, by_x, by_v, here, sure)


def _ends(s: Stand, body: Outline, lines: Lines, made: Bounds) -> None:
    qx = np.outer(s.cos, body.x) - np.outer(s.sin, body.z)
    qz = np.outer(s.sin, body.x) + np.outer(s.cos, body.z)
    ax, bx = qx[:, body.a], qx[:, body.b]
    lo, hi = np.minimum(ax, bx), np.maximum(ax, bx)
    far = np.maximum(body.far[body.a], body.far[body.b])
    tol = body.tx[body.a] + body.tz[body.a]
    wide = s.half[:, None] + np.outer(s.stray, far) + tol
    lo_w, hi_w = lo - wide, hi + wide
    for k in range(lines.end_x.size):
        px = lines.end_x[k] - s.x  # the end seen from O
        tx = lines.end_tx[k]
        near = (hi_w >= px[:, None] - tx) & (lo_w <= px[:, None] + tx)
        n, e = np.nonzero(near)
        if not n.size:
            continue
        a, b = body.a[e], body.b[e]
        x, az, bz = px[n], qz[n, a], qz[n, b]
        run = bx[n, e] - ax[n, e]
        upright = np.abs(run) * STEEP <= np.abs(bz - az)
        slope = np.where(upright, 0.0, (bz - az) / np.where(upright, 1.0, run))
        z = az + slope * (x - ax[n, e])
        tilt = np.arctan(np.abs(slope)) + s.stray[n]
        plain = ~upright & (tilt < 1.57)
        loose = np.where(plain, np.tan(np.where(plain, tilt, 0.0)) - np.abs(slope), 0.0)
        most = np.abs(slope) + loose
        own_x, own_z = _own(s, body, n, a)
        slid = s.half[n] + tx + far[e] * s.stray[n] + own_x
        by_x, by_v = s.gap(x, z, far[e] * s.stray[n] + own_z + most * slid, slope, loose, n)
        by_v = by_v + own_z + most * (own_x + tx) + lines.end_tz[k]
        gap = lines.side * (s.height[n] + z - lines.end_z[k])
        # Whatever the edge's tilt, no point of it is beyond its nearer corner.
        zero = np.zeros(n.shape)
        corner = np.where((lines.side * (az - bz)) <= 0.0, a, b)
        cx, cz = qx[n, corner], qz[n, corner]
        rough_x, rough_v = s.gap(cx, cz, body.far[corner] * s.stray[n], zero, zero, n)
        rough_v = rough_v + own_z + lines.end_tz[k]
        rough = lines.side * (s.height[n] + cz - lines.end_z[k])
        # Nearly level, which corner is nearer may change; then they differ by this at most.
        swap = np.abs(az - bz) <= far[e] * s.stray[n] * 2.0
        rough_v = rough_v + np.where(swap, far[e] * s.stray[n] * 2.0, 0.0)
        worse = ~plain | (gap - by_x - by_v < rough - rough_x - rough_v)
        loose_x = far[e] * s.stray_v[n] + own_x + tx
        here = (hi[n, e] + loose_x >= x) & (lo[n, e] - loose_x <= x)
        sure = plain & (hi[n, e] - loose_x >= x) & (lo[n, e] + loose_x <= x)
        np.minimum.at(made.up_here, n, np.where(sure, gap + by_v, np.inf))
        gap = np.where(worse, rough, gap)
        by_x, by_v = np.where(worse, rough_x, by_x), np.where(worse, rough_v, by_v)
        never = np.zeros(n.shape, dtype=bool)
        _put(made, n, gap, by_x, by_v, here, never)


def closest(
    x: float, up: float, turn: float, body: Outline, lines: Lines
) -> tuple[float, str, str]:
    """In one pose of O: the smallest gap, between which part and which line."""
    found = (np.inf, "", "")
    cos, sin = math.cos(turn), math.sin(turn)
    ax, az = x + body.x * cos - body.z * sin, up + body.x * sin + body.z * cos
    for k, name in enumerate(lines.names):
        over = (ax >= lines.x0[k]) & (ax <= lines.x1[k])
        gap = lines.side * (az - lines.z0[k] - lines.slope[k] * (ax - lines.x0[k]))
        for v in np.nonzero(over)[0]:
            found = min(found, (float(gap[v]), body.names[int(v)], name))
    for k, name in enumerate(lines.end_names):
        px, pz = float(lines.end_x[k]), float(lines.end_z[k])
        for a, b in zip(body.a, body.b, strict=True):
            run = float(ax[b] - ax[a])
            if run != 0.0 and min(ax[a], ax[b]) <= px <= max(ax[a], ax[b]):
                z = float(az[a]) + float(az[b] - az[a]) * (px - float(ax[a])) / run
                found = min(found, (lines.side * (z - pz), body.names[int(a)], name))
    return found
