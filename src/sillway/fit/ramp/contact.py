"""Exact contact of wheels with a piecewise-linear way, and its bounds over windows and tolerances.

A wheel of radius r rolling over segments has its hub on the upper outline of the segments dilated
by a disc of radius r. The outline of one dilated segment (a capsule) is: the closest point of the
segment's line below the hub, held to the segment's ends, plus what is left of the radius there.
That one formula gives the offset line and both arcs, and the largest of all capsules gives the
hub height h(x), exactly. Capsule tops are concave, so over an x-range they are lowest at an end,
and their slopes lie between those at the ends.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sillway.fit.ramp.profile import Profile

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Index: TypeAlias = NDArray[np.intp]

STEEP = 1e12  # stands for an upright slope; keeps 0 * slope at 0 instead of nan
# Values that only rounding tells apart count as equal: above that of heights of some 1e4 mm. [mm]
ROUND_MM = 1e-6


class HubPath:
    """The hub path h(x) of one wheel over a profile; vectorised over x.

    Radius 0 gives the way itself.
    """

    def __init__(self, profile: Profile, radius_mm: float) -> None:
        def column(name: str) -> Array:
            return np.array([[getattr(s, name)] for s in profile.segments], dtype=float)

        self.x0, self.z0, self.x1, self.z1 = map(column, ("x0", "z0", "x1", "z1"))
        self.tx0, self.tz0, self.tx1, self.tz1 = map(
            column, ("tol_x0", "tol_z0", "tol_x1", "tol_z1")
        )
        self.run = self.x1 - self.x0
        self.slope = (self.z1 - self.z0) / self.run
        self.shift = radius_mm * self.slope / np.sqrt(1.0 + self.slope**2)
        self.r = radius_mm
        self.ts = column("tol_slope")
        # How far along the segment the touched point can be from that of the middle values.
        self.reach = np.maximum(self.tx0, self.tx1) + radius_mm * self.ts
        self.exact = not any(np.any(t) for t in (self.tx0, self.tx1, self.tz0, self.tz1))

    def _tops(self, x: Array) -> Array:
        """Top of every capsule at x; minus infinity beyond its ends."""
        at = np.minimum(np.maximum(x + self.shift, self.x0), self.x1)
        off = x - at
        left = self.r * self.r - off * off
        # A sharp point (r = 0) stands on the segment itself, not at its rounding error.
        inside = (left > 0.0) | (off == 0.0)
        top = self.z0 + self.slope * (at - self.x0) + np.sqrt(np.maximum(left, 0.0))
        return np.where(inside, top, -np.inf)

    def _tilts(self, x: Array) -> Array:
        """Slope of every capsule at x; upright beyond its ends."""
        free = x + self.shift
        off = x - np.minimum(np.maximum(free, self.x0), self.x1)
        left = self.r * self.r - off * off
        root = np.sqrt(np.where(left > 0.0, left, 1.0))
        tilt = np.where((free >= self.x0) & (free <= self.x1), self.slope, -off / root)
        out = (left <= 0.0) & (off != 0.0)
        return np.where(out, np.where(off < 0.0, STEEP, -STEEP), tilt)

    def at(self, x: Array) -> tuple[Array, Array]:
        """Hub height and slope of the hub path at x, at the middle values."""
        top = self._tops(x)
        k = np.argmax(top, axis=0)
        slope, free = self.slope[k, 0], x + self.shift[k, 0]
        x0, x1 = self.x0[k, 0], self.x1[k, 0]
        off = x - np.minimum(np.maximum(free, x0), x1)
        left = self.r * self.r - off * off
        arc = -off / np.sqrt(np.where(left > 0.0, left, 1.0))
        return top[k, np.arange(x.size)], np.where((free >= x0) & (free <= x1), slope, arc)

    def height(self, x_mm: float) -> float:
        """Hub height at one x.

        >>> from sillway.fit.ramp.profile import Profile, Segment
        >>> flat = Profile((Segment("floor", -1e3, 0.0, 1e3, 0.0),))
        >>> HubPath(flat, 150.0).height(0.0)
        150.0
        """
        return float(np.max(self._tops(np.array([x_mm]))))

    def jumps(self, lo: float, hi: float) -> bool:
        """Whether the hub path may jump at an end of a segment between lo and hi.

        A step higher than the wheel's radius does that, and stops the wheel. Ends that segments
        share are joints, and where all ends, there is no step.
        """
        joint = (self.x0 == self.x1.T) & (self.z0 == self.z1.T)
        starts = ~np.any(joint, axis=1) & (self.x0 > np.min(self.x0))[:, 0]
        stops = ~np.any(joint, axis=0) & (self.x1 < np.max(self.x1))[:, 0]
        for free, end, side, z in (
            (starts, self.x0, -self.r, self.z0 + self.tz0),
            (stops, self.x1, self.r, self.z1 + self.tz1),
        ):
            at, slack = end[:, 0] + side, np.maximum(self.tx0, self.tx1)[:, 0]
            least = self.span(at, slack, np.zeros_like(at))[0]
            here = free & (end[:, 0] >= lo) & (end[:, 0] <= hi)
            if np.any(here & (z[:, 0] > least + 2.0 * ROUND_MM)):
                return True
        return False

    def _slack(self, x: Array, window: Array) -> tuple[Array | float, Array | float]:
        """How far every segment can be off sideways and upright where it is touched."""
        if self.exact:
            return 0.0, 0.0
        at = x + self.shift - self.x0
        a = np.minimum(np.maximum((at - window - self.reach) / self.run, 0.0), 1.0)
        b = np.minimum(np.maximum((at + window + self.reach) / self.run, 0.0), 1.0)
        # Both ends' moves blend along the segment; the larger one of either end of the stretch.
        tx = self.tx0 + (self.tx1 - self.tx0) * np.where(self.tx1 > self.tx0, b, a)
        tz = self.tz0 + (self.tz1 - self.tz0) * np.where(self.tz1 > self.tz0, b, a)
        return tx, tz

    def span(self, x: Array, window: Array, tan: Array) -> tuple[Array, Array]:
        """Ends of h(y) - tan (y - x) over |y - x| <= window, for all values in their tolerances.

        Moving a segment's ends moves each of its points by a blend of both moves, so a capsule at
        y is at most the old one at some y' within tx, plus tz and tan tx, and likewise back.
        A tilted capsule is highest where its slope is tan: round one of its ends.
        """
        tx, tz = self._slack(x, window)
        wide = window + tx
        a, b = x - wide, x + wide
        sin = tan / np.sqrt(1.0 + tan * tan)
        peak = np.where(self.slope > tan, self.x1, self.x0) - self.r * sin
        peak = np.minimum(np.maximum(peak, a), b)
        more = tz + np.abs(tan) * tx
        high = np.max(self._tops(peak) - tan * (peak - x) + more, axis=0)
        mid = self._tops(x)
        left = np.minimum(self._tops(a) + tan * wide, mid) - more
        right = np.minimum(self._tops(b) - tan * wide, mid) - more
        # Each half of the window holds the middle, so a segment that spans a half bounds it.
        low = np.minimum(np.max(left, axis=0), np.max(right, axis=0))
        return low - ROUND_MM, high + ROUND_MM

    def alone(self, x: Array, window: Array, tan: Array) -> tuple[Index, Array]:
        """Which segment alone, and not at its ends, is touched over the window; or -1.

        And by how much h(y) - tan (y - x) can then stray, that segment's own error in height left
        out, which is even along it: slope (at most `ts` off) times distance.
        """
        tx, tz = self._slack(x, window)
        wide = window + tx
        a, b = self._tops(x - wide), self._tops(x + wide)
        peak = np.minimum(
            np.maximum(np.where(self.slope > 0.0, self.x1, self.x0), x - wide), x + wide
        )
        low = np.max(np.minimum(a, b) - tz, axis=0)
        top = self._tops(peak) + tz
        which: Index = np.argmax(top, axis=0)
        at, room = x + self.shift[which, 0], window + self.reach[which, 0]
        sole = np.sum(top >= low - ROUND_MM, axis=0) == 1
        inner = (at - room >= self.x0[which, 0]) & (at + room <= self.x1[which, 0])
        slope, ts = self.slope[which, 0], self.ts[which, 0]
        lean = np.sqrt(1.0 + (np.abs(slope) + ts) ** 2) - np.sqrt(1.0 + slope * slope)
        spread = (np.abs(slope - tan) + ts) * window + self.r * lean + ROUND_MM
        return np.where(sole & inner, which, -1), spread

    def slopes(self, x: Array, window: Array) -> tuple[Array, Array]:
        """Ends of the slope at which the wheel can touch over the window, for all values."""
        tx, tz = self._slack(x, window)
        wide = window + tx + self.r * self.ts
        a, b = x - wide, x + wide
        peak = np.minimum(np.maximum(np.where(self.slope > 0.0, self.x1, self.x0), a), b)
        low = np.max(np.minimum(self._tops(a), self._tops(b)) - tz, axis=0)
        active = self._tops(peak) + tz >= low - ROUND_MM
        # An arc that has sunk below what is surely reached is not touched there.
        tz_left, tz_right = self.z0 + self.tz0, self.z1 + self.tz1
        up = np.minimum(self._tilts(a), np.maximum(self._sunk(low - tz_left), self.slope))
        down = np.maximum(self._tilts(b), np.minimum(-self._sunk(low - tz_right), self.slope))
        return (
            np.min(np.where(active, down - self.ts, np.inf), axis=0),
            np.max(np.where(active, up + self.ts, -np.inf), axis=0),
        )

    def _sunk(self, above: Array) -> Array:
        """Slope of the arc round a corner at this height over it."""
        y = np.minimum(np.maximum(above, 0.0), self.r)
        root = np.sqrt(self.r * self.r - y * y)
        return np.where(y > 0.0, root / np.where(y > 0.0, y, 1.0), STEEP)
