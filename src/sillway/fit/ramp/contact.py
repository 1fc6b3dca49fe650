"""Exact contact of wheels with a piecewise-linear way, and bounds on it over boxes of values.

A wheel of radius r rolling over segments has its hub on the upper outline of the segments dilated
by a disc of radius r. The outline of one dilated segment (a capsule) is: the closest point of the
segment's line below the hub, held to the segment's ends, plus what is left of the radius there.
That one formula gives the offset line and both arcs, and the largest of all capsules gives the
hub height h(x), exactly. Capsule tops are concave, so over an x-range their slopes lie between
those at its ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sillway.fit.ramp.profile import Profile

Array: TypeAlias = NDArray[np.float64]
Index: TypeAlias = NDArray[np.integer]
Mask: TypeAlias = NDArray[np.bool_]

STEEP = 1e12  # stands for an upright slope; keeps 0 * slope at 0 instead of nan


@dataclass(frozen=True, slots=True)
class Hull:
    """What the hub path of one wheel can be over an x-range, whatever the values turn out to be.

    Attributes:
        slope_lo, slope_hi: every slope of the hub path lies between.
        low, high: no hub path is anywhere lower, or higher.
        band: how far the hub path of the true values may be from that of the middle values at
            the same x, the common part of a changed radius taken off.
    """

    slope_lo: Array
    slope_hi: Array
    low: Array
    high: Array
    band: Array

    @property
    def steepest(self) -> Array:
        """Largest slope magnitude."""
        return np.maximum(np.abs(self.slope_lo), np.abs(self.slope_hi))


class HubPath:
    """The hub path h(x) of one wheel over a profile; vectorised over x."""

    def __init__(self, profile: Profile, radius_mm: float, tol_radius_mm: float = 0.0) -> None:
        def column(name: str) -> Array:
            return np.array([[getattr(s, name)] for s in profile.segments], dtype=float)

        self.x0, self.z0, self.x1, self.z1 = map(column, ("x0", "z0", "x1", "z1"))
        self.tx0, self.tz0, self.tx1, self.tz1 = map(
            column, ("tol_x0", "tol_z0", "tol_x1", "tol_z1")
        )
        self.ts = column("tol_slope")
        self.slope = (self.z1 - self.z0) / (self.x1 - self.x0)
        self.shift = radius_mm * self.slope / np.sqrt(1.0 + self.slope**2)
        self.r, self.tr = radius_mm, tol_radius_mm
        self.run = self.x1 - self.x0
        self.peak = np.where(self.slope > 0.0, self.x1, self.x0)
        # x-ranges widen by what ends, radius and the tilt of the touched radius can shift.
        self.reach = np.maximum(self.tx0, self.tx1) + tol_radius_mm + radius_mm * self.ts

    def _caps(self, x: Array) -> tuple[Array, Array, Array]:
        """Top, slope and touched x of every capsule at x (-inf, ±STEEP beyond its ends)."""
        free = x + self.shift
        at = np.minimum(np.maximum(free, self.x0), self.x1)
        off = x - at
        left = self.r * self.r - off * off
        # A sharp point (r = 0) stands on the segment itself, not at its rounding error.
        inside = (left > 0.0) | (off == 0.0)
        root = np.sqrt(np.where(inside, np.maximum(left, 0.0), 1.0))
        top = np.where(inside, self.z0 + self.slope * (at - self.x0) + root, -np.inf)
        arc = np.where(inside & (root > 0.0), -off / np.where(root > 0.0, root, 1.0), 0.0)
        tilt = np.where(at == free, self.slope, arc)
        tilt = np.where(inside, tilt, np.where(off < 0.0, STEEP, -STEEP))
        return top, tilt, at

    def at(self, x: Array) -> tuple[Array, Array]:
        """Hub height and slope of the hub path at x, at the middle values."""
        top, tilt, _ = self._caps(x)
        k = np.argmax(top, axis=0)
        n = np.arange(x.shape[-1])
        return top[k, n], tilt[k, n]

    def height(self, x_mm: float) -> float:
        """Hub height at one x.

        >>> from sillway.fit.ramp.profile import Profile, Segment
        >>> flat = Profile((Segment("floor", -1e3, 0.0, 1e3, 0.0),))
        >>> HubPath(flat, 150.0).height(0.0)
        150.0
        """
        return float(self.at(np.array([x_mm]))[0][0])

    def hull(self, xa: Array, xb: Array) -> Hull:
        """Slopes, lowest height and band over [xa, xb], for all values in their tolerances.

        Derivation. Moving a segment's end by (tx, tz) moves every point of the segment by a blend
        of both ends' moves, so its capsule at x is at most the old one at some x' within tx, plus
        tz, and likewise back; a radius changed by tr is a move by at most (tr, tr). Hence only
        capsules whose raised top reaches `low` (the largest of all lowered bottoms) can be
        touched. Their slopes lie between those at the widened ends, cut where an end's arc would
        have sunk below `low`. The band is tz + tx * steepest slope, with tx and tz blended at the
        touched points, plus what a changed radius adds beyond itself, tr (sqrt(1 + s²) - 1).
        """
        ia, ib = xa - self.reach, xb + self.reach
        top_a, tilt_a, at_a = self._caps(ia)
        top_b, tilt_b, at_b = self._caps(ib)
        top_p = self._caps(np.minimum(np.maximum(self.peak, ia), ib))[0]
        ta, tb = (at_a - self.x0) / self.run, (at_b - self.x0) / self.run
        tz = np.maximum(
            self.tz0 + (self.tz1 - self.tz0) * ta, self.tz0 + (self.tz1 - self.tz0) * tb
        )
        tx = np.maximum(
            self.tx0 + (self.tx1 - self.tx0) * ta, self.tx0 + (self.tx1 - self.tx0) * tb
        )
        low = np.max(np.minimum(top_a, top_b) - tz, axis=0) - self.tr
        high = top_p + tz + self.tr
        active = high >= low - 1e-9  # ties of the middle values count as touched
        rr = self.r + self.tr
        up = np.minimum(tilt_a, np.maximum(self._sunk(low, self.z0 + self.tz0, rr), self.slope))
        down = np.maximum(tilt_b, np.minimum(-self._sunk(low, self.z1 + self.tz1, rr), self.slope))
        slope_hi = np.max(np.where(active, up + self.ts, -np.inf), axis=0)
        slope_lo = np.min(np.where(active, down - self.ts, np.inf), axis=0)
        steep = np.minimum(np.maximum(np.abs(slope_lo), np.abs(slope_hi)), STEEP)
        high = np.max(np.where(active, high, -np.inf), axis=0)
        drop = high - low
        moved = np.max(np.where(active, tz + tx * steep, 0.0), axis=0)
        widened = self.tr * (np.hypot(1.0, steep) - 1.0)
        band = np.minimum(moved + widened, np.maximum(drop, 0.0) + 2.0 * self.tr)
        exact = not (np.any(self.tz0) or np.any(self.tz1) or np.any(self.reach))
        return Hull(slope_lo, slope_hi, low, high, np.zeros_like(band) if exact else band)

    @staticmethod
    def _sunk(low: Array, corner: Array, radius: float) -> Array:
        """Slope of the arc round a corner at height ``low``; below, it is not touched."""
        y = np.minimum(np.maximum(low - corner, 0.0), radius)
        root = np.sqrt(radius * radius - y * y)
        return np.where(y > 0.0, root / np.where(y > 0.0, y, 1.0), STEEP)
