"""The least of every margin over a stretch of the climb: coarse cells, finer where it matters."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from sillway.fit.ramp import gaps
from sillway.fit.ramp.body import Contact, Overhead, SideBody, SidePart
from sillway.fit.ramp.cells import FAN_RAD, Cells, Stance, tolerance_mm
from sillway.fit.ramp.contact import Array, Index, Mask
from sillway.fit.ramp.gaps import Near
from sillway.fit.ramp.profile import Profile

Ring: TypeAlias = tuple[tuple[float, float], ...]

MARGINS = ("header", "belly", "foot", "turn", "tip", "tip_guarded", "tip_ahead")
# Half width of the coarsest cells, and into how many one is cut. [mm]
COARSE_MM = 5.0
CUT = 8
# Cells as fine as a share of the largest tolerance gain nothing more; without one, this fine.
FINE_SHARE = 0.75
FINE_MM = 0.1
# Ends this close together are close enough, in mm or rad.
CLOSE = np.array([0.1, 0.1, 0.1, 5e-4, 5e-4, 5e-4, 5e-4])
# Cells cut at once for each margin, and how often.
AT_ONCE = (8, 8, 8, 2, 2, 2, 2)
ROUNDS_EXACT, ROUNDS = 4, 1


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Ends of all margins, the X of the lower one, and what comes near what there."""

    lower: Array
    upper: Array
    x: Array
    labels: tuple[tuple[str, str], ...]
    proved: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    cells: Cells
    low: Array
    up: Array
    row: Index
    passing: Array

    def take(self, keep: Mask) -> _Told:
        return _Told(
            self.cells.take(keep), self.low[:, keep], self.up[:, keep], self.row[:, keep],
            self.passing[:, keep],
        )  # fmt: skip

    def with_(self, more: _Told) -> _Told:
        def both(a: Array, b: Array) -> Array:
            return np.concatenate((a, b), axis=1)

        return _Told(
            Cells.join([self.cells, more.cells]), both(self.low, more.low), both(self.up, more.up),
            np.concatenate((self.row, more.row), axis=1), both(self.passing, more.passing),
        )  # fmt: skip


class Search:
    """One stretch of the climb and all that is asked of it.

    Args:
        start, end: of the drive axle's x.
        steps: between these x, look for steps that stop a wheel.
    """

    def __init__(
        self, body: SideBody, profile: Profile, overhead: Overhead, facing: int,
        start: float, end: float,
        steps: tuple[float, float] = (-math.inf, math.inf),
    ) -> None:  # fmt: skip
        self.body, self.bars = body, overhead.bars
        self.stance = stance = Stance(body, profile, facing)
        self.start, self.end, self.steps = start, end, steps
        inner, outer = _inner_and_outer(body)
        self.inner, self.outer = (gaps.points_of(p, stance, -1) for p in (inner, outer))
        self.upper = gaps.points_of([p for p in body.parts if p.over], stance, 1)
        self.grounds = [c for c in body.contacts if not c.rolls]
        rolling = sorted((c for c in body.contacts if c.rolls), key=self._along)
        self.last, self.first = rolling[0], rolling[-1]
        stops = [c for c in body.contacts if c.anti_tip]
        self.guard = min([self.last, *stops], key=self._along)
        tolerance = tolerance_mm(body, profile)
        self.fine_mm = max(FINE_MM, FINE_SHARE * tolerance)
        self.rounds = ROUNDS if tolerance > 0.0 else ROUNDS_EXACT
        self.labels: list[tuple[tuple[str, str], ...]] = []

    def _along(self, c: Contact) -> float:
        return self.stance.facing * c.x_mm.value

    def _tell(self, x: Array, half: Array, first: int, fan_rad: float) -> _Told:
        cells = self.stance.cells(x, half, first, fan_rad)
        n = cells.x.size
        none = Near(np.full(n, np.inf), np.full(n, np.inf), np.zeros(n, dtype=np.intp), (("", ""),))
        bars = gaps.under_bars(cells, self.upper, self.bars)
        header, passing = bars if bars is not None else (none, np.empty((0, n)))
        stance, body = self.stance, self.body
        tip = gaps.tipping(cells, stance, body, self.last, 1.0)
        guarded = tip
        if self.guard is not self.last:
            guarded = gaps.tipping(cells, stance, body, self.guard, 1.0)
        near = (
            header,
            gaps.over_way(cells, stance, self.inner, ()) or none,
            gaps.over_way(cells, stance, self.outer, self.grounds) or none,
            gaps.turns(cells),
            tip,
            guarded,
            gaps.tipping(cells, stance, body, self.first, -1.0),
        )
        # Cells with nothing near tell no labels; all others tell the same ones.
        told = self.labels or [n.labels for n in near]
        self.labels = [max(a, n.labels, key=len) for a, n in zip(told, near, strict=True)]
        low = np.array([n.low for n in near])
        low[:, ~cells.fair] = -np.inf
        up, row = np.array([n.up for n in near]), np.array([n.row for n in near])
        up[:, ~cells.fair] = np.inf
        passing[:, ~cells.fair] = np.inf
        return _Told(cells, low, up, row, passing)

    def found(self) -> Found:
        """Ends of all margins over the stretch."""
        count = max(int(np.ceil((self.end - self.start) / (2.0 * COARSE_MM))), 1)
        half = 0.5 * (self.end - self.start) / count
        x = self.start + half * (2.0 * np.arange(count, dtype=np.float64) + 1.0)
        told = self._tell(x, np.full(count, half), 0, FAN_RAD)
        surely = np.empty(0, dtype=bool)
        if told.passing.size:
            surely = gaps.passed(told.cells, self.upper, self.bars)
        number = count
        for _ in range(self.rounds):
            upper = _upper(told, surely)
            chosen = self._choose(told, upper)
            if not chosen.size:
                break
            cells = told.cells
            _, at = np.unique(cells.cell, return_index=True)
            at = at[np.isin(cells.cell[at], chosen)]
            shift = (2.0 * np.arange(CUT) + 1.0) / CUT - 1.0
            half_new = np.repeat(cells.half[at] / CUT, CUT)
            x_new = (cells.x[at][:, None] + cells.half[at][:, None] * shift).ravel()
            more = self._tell(x_new, half_new, number, FAN_RAD)
            number += x_new.size
            told = told.take(~np.isin(cells.cell, chosen)).with_(more)
        best = np.argmin(told.low, axis=1)
        k = np.arange(len(MARGINS))
        return Found(
            told.low[k, best],
            _upper(told, surely),
            told.cells.x[best],
            tuple(self.labels[m][told.row[m, best[m]]] for m in k),
            bool(np.all(told.cells.fair)) and not self._stopped(),
        )

    def _stopped(self) -> bool:
        radii = {c.radius_mm.value for c in self.body.contacts if c.rolls}
        return any(self.stance.path(r).jumps(*self.steps) for r in radii)

    def _choose(self, told: _Told, upper: Array) -> Index:
        """Cells to cut: the lowest ones of each margin whose ends are still apart."""
        fine = told.cells.half <= self.fine_mm
        chosen = []
        for low, up, close, most in zip(told.low, upper, CLOSE, AT_ONCE, strict=True):
            if not np.isfinite(np.min(low)) and np.min(low) > 0:
                continue
            least = np.min(low[fine], initial=np.inf)
            open_ = ~fine & (low < min(least, up - close))
            at = np.flatnonzero(open_)
            chosen.append(told.cells.cell[at[np.argsort(low[at])[:most]]])
        return np.unique(np.concatenate(chosen)) if chosen else np.empty(0, dtype=np.intp)


def _upper(told: _Told, surely: Mask) -> Array:
    """Upper ends: the pose at some X is one of its cell's columns, nobody knows which."""
    order = np.argsort(told.cells.cell, kind="stable")
    cell = told.cells.cell[order]
    starts = np.flatnonzero(np.concatenate(([True], cell[1:] != cell[:-1])))
    upper: Array = np.min(np.maximum.reduceat(told.up[:, order], starts, axis=1), axis=1)
    if surely.size and np.any(surely):
        upper[0] = min(upper[0], float(np.min(np.max(told.passing[surely], axis=1))))
    return upper


def _inner_and_outer(body: SideBody) -> tuple[list[SidePart], list[SidePart]]:
    """Undersides between the outermost wheels (as measured), and what sticks out beyond them."""
    wheels = [c.x_mm.value for c in body.contacts if c.rolls]
    lo, hi = min(wheels), max(wheels)
    under = [p for p in body.parts if p.under]

    def cut(first: float, last: float) -> list[SidePart]:
        made = [(p, _between(p.polygon, first, last)) for p in under]
        return [replace(p, polygon=ring) for p, ring in made if len(ring) > 2]

    return cut(lo, hi), [*cut(-math.inf, lo), *cut(hi, math.inf)]


def _between(ring: Ring, lo: float, hi: float) -> Ring:
    """The part of a convex ring with lo <= x <= hi."""
    for bound, side in ((lo, 1.0), (hi, -1.0)):
        if math.isinf(bound):
            continue
        kept: list[tuple[float, float]] = []
        for (ax, az), (bx, bz) in zip(ring, ring[1:] + ring[:1], strict=True):
            if side * (ax - bound) >= 0.0:
                kept.append((ax, az))
            if (ax - bound) * (bx - bound) < 0.0:
                kept.append((bound, az + (bound - ax) / (bx - ax) * (bz - az)))
        xs = [x for x, _ in kept]
        # What only touches the bound is on the other side of it.
        ring = tuple(kept) if kept and min(xs) < max(xs) else ()
    return ring
