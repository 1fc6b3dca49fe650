"""The chair at rest on two of its contacts: its exact pose.

All here is in the rolling frame: the chair seen so that it moves towards +x (backing mirrors it).
Reference point O: the hub of the drive wheels, moving at x = X. With the body turned by p
(positive: the leading end up), a contact whose hub is offset by o from O asks for O at least as
high as

    c(X, p) = h(X + ox(p)) - oz(p),    h = its hub path,

so the lowest body at (X, p) stands at the largest c, and the body at rest is where two contacts
i (behind) and j (ahead) ask for the same height, with the centre of mass between them. With s for
slopes of the hub paths, dc/dp = -l, l = ox + s oz (the lever of a contact about O).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sillway.fit.ramp.contact import Array, HubPath

MOST_TURN_RAD = 0.8  # no chair stands at 45 degrees; brackets the search for the pose
CLOSE_MM = 1e-9  # far below what any margin is told to
STEPS = 60  # halvings of the bracket alone would end below rounding


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """A contact in the rolling frame: hub offset (u ahead, v above) from O [mm], its path."""

    u: float
    v: float
    path: HubPath
    tol_x: float = 0.0
    tol_z: float = 0.0
    tol_r: float = 0.0

    def turned(self, cos: Array, sin: Array) -> tuple[Array, Array]:
        """Offset from O with the body turned."""
        return self.u * cos - self.v * sin, self.u * sin + self.v * cos


def rest(rear: Foot, front: Foot, x: Array) -> tuple[Array, Array]:
    """Turn and height of O with both contacts touching, O at x; exact to rounding.

    cj - ci falls as the body turns up (its slope is -(lj - li)); safeguarded Newton steps on the
    exact hub paths, which end at the root of the last smooth piece.
    """
    lo, hi = np.full_like(x, -MOST_TURN_RAD), np.full_like(x, MOST_TURN_RAD)
    # The lean of the straight line through both touched points is near.
    rise = front.path.at(x + front.u)[0] - rear.path.at(x + rear.u)[0] - (front.v - rear.v)
    turn = np.clip(rise / (front.u - rear.u), -0.5, 0.5)
    height = np.zeros_like(x)
    todo = np.arange(x.size)
    for _ in range(STEPS):
        at, now = x[todo], turn[todo]
        cos, sin = np.cos(now), np.sin(now)
        ax, az = rear.turned(cos, sin)
        bx, bz = front.turned(cos, sin)
        ha, sa = rear.path.at(at + ax)
        hb, sb = front.path.at(at + bx)
        height[todo] = ha - az
        miss = (hb - bz) - (ha - az)
        off = np.abs(miss) >= CLOSE_MM
        if not np.any(off):
            break
        todo, now, miss = todo[off], now[off], miss[off]
        below = np.where(miss > 0.0, now, lo[todo])
        above = np.where(miss < 0.0, now, hi[todo])
        lever = ((bx + sb * bz) - (ax + sa * az))[off]
        step = now + miss / np.where(lever > 1.0, lever, 1.0)
        fair = (step > below) & (step < above) & (lever > 1.0)
        turn[todo] = np.where(fair, step, 0.5 * (below + above))
        lo[todo], hi[todo] = below, above
    return turn, height
