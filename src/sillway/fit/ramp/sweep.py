"""All margins of a chair over cells of the way, cells cut finer where a minimum may hide.

For every cell and margin: `low`, no smaller value anywhere in the cell for any values; `here`,
none smaller at its middle; `up`, at its middle some value is at least as small as this, whatever
the values. The smallest `low` over all cells bounds the margin from below, the smallest `up` from
above. A cell whose `low` could undercut the smallest `here` by more than the resolution is cut
finer. What is left of the span between `low` and `up` is tolerance, not numerics.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.contact import Array, Index, Mask
from sillway.fit.ramp.gaps import Bounds, Lines, Outline, gaps, none
from sillway.fit.ramp.pose import Foot, Stand
from sillway.fit.ramp.ways import LEAN_RAD, Feet, Standing, Way, clear_of, grounded, stand_on

CELL_MM = 24.0  # first cells: some ten within a ramp span, few enough to stay fast
CUT = 24
LEVELS = 5  # 24 mm / 24**5 is 3 nm; below that nothing is to be found
GIVE_UP = 2  # levels after which a cell without a proved pose (0.04 mm wide) is left unproved
MOST_CELLS = 200  # per level; leaves a sound but wider span when reached
FINE_MM = 0.03
FINE_RAD = 5e-5
SHARE = 0.04  # of the span that tolerances leave: finer cells would not narrow it visibly

# Margins in rows: the gaps, then minus the turn, then the angles left before tipping.
HEADER, BELLY, FOOT, TURN, TIP, GUARD, AHEAD = range(7)
ROWS = 7
FINE = np.array([FINE_MM] * 3 + [FINE_RAD] * 4)


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A chair in the rolling frame and what it may come near."""

    feet: Feet
    below: Lines
    above: Lines
    under_in: Outline
    under_out: Outline
    over: Outline
    trail: Foot  # last wheel
    guard: Foot  # last wheel or anti-tipper
    lead: Foot  # first wheel


@dataclass(frozen=True, slots=True)
class Best:
    """Where a margin's smallest `here` was found."""

    value: float
    x: float
    way: Way | None
    contact: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """What the sweep found: per margin the two ends, and the place; and where it failed."""

    low: Array
    up: Array
    best: list[Best]
    unproved: tuple[float, ...]

    def with_(self, other: Swept) -> Swept:
        """Both stretches together."""
        best = [a if a.value <= b.value else b for a, b in zip(self.best, other.best, strict=True)]
        low, up = np.minimum(self.low, other.low), np.minimum(self.up, other.up)
        return Swept(low, up, best, self.unproved + other.unproved)


class _Cells:
    """Bounds of all margins over a set of cells, gathered way by way."""

    def __init__(self, scene: Scene, x: Array, half: Array, best: list[Best]) -> None:
        self.scene, self.x, self.half, self.best = scene, x, half, best
        self.low = np.full((ROWS, x.size), np.inf)
        self.here = np.full((ROWS, x.size), np.inf)
        self.up = np.full((ROWS, x.size), -np.inf)
        self.failed = np.zeros(x.size, dtype=bool)
        f = scene.feet
        alone = len(f.ways) == 1
        stood = [stand_on(f, w, x, half, alone) for w in f.ways]
        # Where nothing balances the chair tips; its margins are told as if held on its wheels.
        lost = ~np.any([s.possible for s in stood], axis=0)
        down = np.full((len(f.parts), x.size), np.inf)
        for s in stood:
            down = np.minimum(down, self._add(s, s.possible | lost, np.arange(x.size), True))
        for part, least in zip(f.parts, down, strict=True):
            cells = np.nonzero(least <= 0.0)[0]
            if cells.size:
                lean = (
                    min(float(np.min((s.stand.turn - s.stand.stray)[cells])) for s in stood),
                    max(float(np.max((s.stand.turn + s.stand.stray)[cells])) for s in stood),
                )
                for way in grounded(f, part, lean):
                    s = stand_on(f, way, x[cells], half[cells], False)
                    self._add(s, s.possible, cells, False)
        self.up = np.where(np.isneginf(self.up), np.inf, self.up)

    def _add(self, st: Standing, possible: Mask, cells: Index, wheels: bool) -> Array:
        """Take in one way; gives the least clearance of each part (for standing on wheels)."""
        s, f = st.stand, self.scene.feet
        rows: dict[int, Bounds] = {
            HEADER: gaps(s, self.scene.over, self.scene.above),
            BELLY: gaps(s, self.scene.under_in, self.scene.below),
            TURN: Bounds(
                -np.abs(s.turn) - s.stray, -np.abs(s.turn) - s.stray_v, -np.abs(s.turn) + s.stray_v
            ),
        }
        down = np.full((len(f.parts), cells.size), np.inf)
        names = np.full(cells.size, -1)
        if wheels:
            out = gaps(s, self.scene.under_out, self.scene.below)
            for k, foot in enumerate(f.parts):
                part = clear_of(s, foot)[0]
                down[k] = np.where(possible, np.where(s.ok, part.low, -np.inf), np.inf)
                names = np.where(part.low_here < out.low_here, k, names)
                out = Bounds(
                    np.minimum(out.low, part.low),
                    np.minimum(out.low_here, part.low_here),
                    np.minimum(out.up_here, part.up_here),
                )
            rows[FOOT] = out
        rows[TIP] = _tip(s, f, self.scene.trail, 1.0)
        apart = self.scene.guard is not self.scene.trail
        rows[GUARD] = _tip(s, f, self.scene.guard, 1.0) if apart else rows[TIP]
        rows[AHEAD] = _tip(s, f, self.scene.lead, -1.0)
        ok = s.ok & (np.abs(s.turn) + s.stray <= LEAN_RAD)
        self.failed[cells] |= possible & ~ok
        for row, b in rows.items():
            low = np.where(possible, np.where(ok, b.low, -np.inf), np.inf)
            here = np.where(possible & ok, b.low_here, np.inf)
            up = np.where(possible, np.where(ok, b.up_here, np.inf), -np.inf)
            self.low[row, cells] = np.minimum(self.low[row, cells], low)
            self.here[row, cells] = np.minimum(self.here[row, cells], here)
            self.up[row, cells] = np.maximum(self.up[row, cells], up)
            k = int(np.argmin(here))
            if here[k] < self.best[row].value:
                name = f.parts[names[k]].name if row == FOOT and names[k] >= 0 else ""
                self.best[row] = Best(float(here[k]), float(s.x[k]), st.way, name)
        return down


def _tip(s: Stand, f: Feet, foot: Foot, way: float) -> Bounds:
    """Angle left before the centre of mass is above this contact, over its whole box.

    The vector from the touched point to the centre of mass can be off by at most e, so its
    direction by at most asin(e / its length).
    """
    n = s.x.size
    ox, oz = foot.turned(s.cos, s.sin)
    own = foot.tol_x + foot.tol_z + foot.path.tr
    reach = math.hypot(foot.x, foot.z)
    at = s.x + ox
    exact = np.arctan(foot.path.at(at)[1])
    made = none(n)
    most = np.full(n, -np.inf)
    for here, stray, side in ((False, s.stray, s.half), (True, s.stray_v, 0.0)):
        off = reach * stray + own + side
        # At the middle the touched point is known; over a cell it may be any of the hull's.
        slope, loose = exact, np.zeros(n)
        if not here or not np.all(off < 1e-6):
            hull = foot.path.hull(at - off, at + off)
            lo, hi = np.arctan(hull.slope_lo), np.arctan(hull.slope_hi)
            still = here & (off < 1e-6)
            slope = np.where(still, exact, 0.5 * (lo + hi))
            loose = np.where(still, 0.0, 0.5 * (hi - lo))
        vague = foot.path.r * loose + own + foot.path.tr
        for cx, cz in f.com:
            gx = cx * s.cos - cz * s.sin - ox - foot.path.r * np.sin(slope)
            gz = cx * s.sin + cz * s.cos - oz + foot.path.r * np.cos(slope)
            angle = np.arctan2(way * gx, gz)
            far = math.hypot(cx - foot.x, cz - foot.z) * stray
            wide = np.arcsin(np.minimum((far + vague) / np.hypot(gx, gz), 1.0))
            if here:
                np.minimum(made.low_here, angle - wide, out=made.low_here)
                most = np.maximum(most, angle + wide)
            else:
                np.minimum(made.low, angle - wide, out=made.low)
    return Bounds(made.low, made.low_here, most)


def sweep(scene: Scene, start: float, end: float) -> Swept:
    """Margins for O moving from ``start`` to ``end`` [mm]."""
    count = max(1, math.ceil((end - start) / CELL_MM))
    half0 = 0.5 * (end - start) / count
    x: Array = start + half0 * (2.0 * np.arange(count, dtype=np.float64) + 1.0)
    half: Array = np.full(count, half0, dtype=np.float64)
    best = [Best(math.inf, 0.0, None) for _ in range(ROWS)]
    low, up, least = np.full(ROWS, np.inf), np.full(ROWS, np.inf), np.full(ROWS, np.inf)
    unproved: list[float] = []
    for level in range(LEVELS + 1):
        cells = _Cells(scene, x, half, best)
        up = np.minimum(up, cells.up.min(axis=1))
        least = np.minimum(least, cells.here.min(axis=1))
        known = np.isfinite(up) & np.isfinite(least)
        span = np.where(known, up, 0.0) - np.where(known, least, 0.0)
        fine = FINE + SHARE * np.maximum(span, 0.0)
        open_ = np.any(cells.low < (least - fine)[:, None], axis=0)
        if level >= GIVE_UP:
            open_ &= ~cells.failed
        if level == LEVELS:
            open_[:] = False
        elif np.count_nonzero(open_) > MOST_CELLS:
            seen = np.isfinite(least)
            need = np.min((cells.low[seen] - least[seen, None]) / fine[seen, None], axis=0)
            need = np.where(open_, need, np.inf)
            open_ = np.zeros(x.size, dtype=bool)
            open_[np.argsort(need)[:MOST_CELLS]] = True
        if not np.all(open_):
            low = np.minimum(low, cells.low[:, ~open_].min(axis=1))
            unproved += x[cells.failed & ~open_].tolist()
        if not np.any(open_):
            break
        steps = (2.0 * np.arange(CUT, dtype=np.float64) + 1.0) / CUT - 1.0
        x = (x[open_, None] + half[open_, None] * steps).ravel()
        half = np.repeat(half[open_] / CUT, CUT)
    return Swept(low, up, best, tuple(unproved))
