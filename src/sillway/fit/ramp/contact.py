"""Exact contact of wheels with a piecewise-linear way.

A wheel of radius r rolling over segments has its hub on the upper outline of the segments dilated
by a disc of radius r. The outline of one dilated segment (a capsule) is: the closest point of the
segment's line below the hub, held to the segment's ends, plus what is left of the radius there.
That one formula gives the offset line and both arcs, and the largest of all capsules gives the
hub height h(x), exactly.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sillway.fit.ramp.profile import Profile

Array: TypeAlias = NDArray[np.float64]

STEEP = 1e12  # stands for an upright slope; keeps 0 * slope at 0 instead of nan


class HubPath:
    """The hub path h(x) of one wheel over a profile; vectorised over x."""

    def __init__(self, profile: Profile, radius_mm: float) -> None:
        def column(name: str) -> Array:
            return np.array([[getattr(s, name)] for s in profile.segments], dtype=float)

        self.x0, self.z0, self.x1, self.z1 = map(column, ("x0", "z0", "x1", "z1"))
        self.slope = (self.z1 - self.z0) / (self.x1 - self.x0)
        self.shift = radius_mm * self.slope / np.sqrt(1.0 + self.slope**2)
        self.r = radius_mm

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
