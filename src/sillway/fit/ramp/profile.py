"""The way in, seen from the side: ground, ramp spans, sill, floor - each with its tolerance.

Frame: x grows towards the cabin, z up; origin at the sill (rear edge of the floor), so the floor
has height 0 and the ground below the sill lies at minus the rise. A profile is a set of straight
segments; what a wheel feels is the upper outline of all of them. The ground runs on below the ramp
as far as the sill, so that it is also the bottom of every gap, and a step needs no upright face:
the end of the higher segment is its edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

from sillway.errors import BadInput

_UPRIGHT = 1.5  # short of a quarter turn, where slopes have no end [rad]
FAR_MM = 30_000.0  # ground and floor run this far; longer than any chair and ramp together


@dataclass(frozen=True, slots=True)
class Given:
    """A value with its tolerance: the true one lies in ``value ± tol``.

    >>> Given(300.0, 3.0).ends()
    (297.0, 303.0)
    """

    value: float
    tol: float = 0.0

    def ends(self) -> tuple[float, float]:
        """The two ends; one value twice where there is no tolerance."""
        return self.value - self.tol, self.value + self.tol

    def exact(self) -> Given:
        """The same value without tolerance."""
        return Given(self.value)


ZERO = Given(0.0)


@dataclass(frozen=True, slots=True)
class Segment:
    """One straight piece from (x0, z0) to (x1, z1), x0 < x1, in mm.

    ``tol_*`` are the half widths of the boxes its ends lie in, and ``tol_slope`` that of its slope
    (rise over run); the piece stays straight whatever the values turn out to be.
    """

    name: str
    x0: float
    z0: float
    x1: float
    z1: float
    tol_x0: float = 0.0
    tol_z0: float = 0.0
    tol_x1: float = 0.0
    tol_z1: float = 0.0
    tol_slope: float = 0.0

    @property
    def slope(self) -> float:
        """Rise over run."""
        return (self.z1 - self.z0) / (self.x1 - self.x0)

    def exact(self) -> Segment:
        """The same piece without tolerance."""
        return Segment(self.name, self.x0, self.z0, self.x1, self.z1)


@dataclass(frozen=True, slots=True)
class Profile:
    """The whole way: its segments, where the ramp foot stands, and the steepest ramp slope.

    Attributes:
        segments: in any order; the upper outline counts.
        foot_x_mm: x of the ramp foot (0 where there is no ramp).
        from_foot: the same way with its tolerances told from the ground below the ramp foot
            instead of from the sill, whose own place is then off by `sill_off_mm` (x, z). Near
            the foot they are much smaller. Empty without tolerances or ramp.
    """

    segments: tuple[Segment, ...]
    foot_x_mm: float = 0.0
    from_foot: tuple[Segment, ...] = ()
    sill_off_mm: tuple[float, float] = (0.0, 0.0)

    def exact(self) -> Profile:
        """The same way with every tolerance taken as nil."""
        segments = tuple(s.exact() for s in self.segments)
        return replace(self, segments=segments, from_foot=(), sill_off_mm=(0.0, 0.0))

    def height(self, x_mm: float) -> float:
        """Height of the upper outline at x; minus infinity where there is nothing.

        >>> round(ramp_profile(Given(300.0), (Given(1500.0),)).height(-734.847), 3)
        -150.0
        """
        found = [s.z0 + s.slope * (x_mm - s.x0) for s in self.segments if s.x0 <= x_mm <= s.x1]
        return max(found, default=-math.inf)

    def steepest_rad(self) -> float:
        """Largest slope angle among the ramp spans (not ground or floor); 0 without a ramp."""
        spans = [s for s in self.segments if s.name.startswith("ramp")]
        return max((math.atan(abs(s.slope)) for s in spans), default=0.0)


def ramp_profile(
    rise_mm: Given,
    spans_mm: Sequence[Given] = (),
    *,
    breaks_rad: Sequence[Given] = (),
    driveway_rad: Given = ZERO,
    lip_mm: Given = ZERO,
    gap_mm: Given = ZERO,
    step_mm: Given = ZERO,
    floor: Sequence[Segment] = (),
) -> Profile:
    """The way from the ground over a hinged ramp to the floor.

    Args:
        rise_mm: floor above the ground right below the sill, as the van stands (kneel and squat
            already taken off).
        spans_mm: length of each ramp span along its surface, from the sill down; none for no ramp.
        breaks_rad: at each joint between spans, how much the lower span falls more steeply than
            the upper one (negative: less); none for a straight ramp. The ramp is stiff and hangs
            from its upper hinge until its foot meets the ground.
        driveway_rad: slope of the ground; positive when it rises towards the van.
        lip_mm: height of the ramp's surface above the ground at its foot (its thickness there).
        gap_mm: open width between the ramp's upper end and the floor's edge.
        step_mm: floor edge above the ramp's upper end; negative when the floor is lower.
        floor: pieces standing on the floor or replacing it further in (steps); the level floor
            itself is always there, so only higher pieces show.

    Raises:
        BadInput: a ramp that cannot reach the ground, or whose upper end is not above its foot.

    How the boxes are found. With the hinge at (-g, -t), foot at hinge + (w, v), ground slope s and
    chord length L: w² + v² = L² and v = -rise + s(w - g) + lip + t. By implicit differentiation
    every partial derivative of w, v, w - g and v - t is a product of factors v, w, w - g, s and
    L over w + v s. Where v < 0 and w + v s < 0 on the whole box (checked at its corners), each
    coordinate is thus monotone in each value while the others rest, though perhaps in a direction
    that the others choose; so its extremes lie at corners. The same holds for the slope v/w.

    >>> p = ramp_profile(Given(300.0, 3.0), (Given(1500.0),))
    >>> round(p.foot_x_mm, 3), round(p.segments[1].tol_z0, 3)
    (-1469.694, 3.0)
    """
    if breaks_rad and len(breaks_rad) != len(spans_mm) - 1:
        raise BadInput("ramp.breaks", len(breaks_rad), "one angle for each joint between spans")
    tan_lo, tan_hi = (math.tan(a) for a in driveway_rad.ends())
    tan = math.tan(driveway_rad.value)
    tan_tol = max(tan_hi - tan, tan - tan_lo)
    ground = Segment(
        "ground",
        -FAR_MM,
        -rise_mm.value - FAR_MM * tan,
        0.0,
        -rise_mm.value,
        tol_z0=rise_mm.tol + FAR_MM * tan_tol,
        tol_z1=rise_mm.tol,
        tol_slope=tan_tol,
    )
    level = Segment("floor", 0.0, 0.0, FAR_MM, 0.0)
    if not spans_mm:
        return Profile((ground, level, *floor))
    chain = _chain(spans_mm, breaks_rad)
    values = (rise_mm, chain.chord, Given(tan, tan_tol), lip_mm, gap_mm, step_mm)
    middle = _foot(*(v.value for v in values))
    corners = [_foot(*c) for c in product(*(_ends(v) for v in values))]
    ramp = _spans(chain, middle, corners, gap_mm, step_mm)
    whole = (ground, *ramp, level, *floor)
    if all(s == s.exact() for s in whole):
        return Profile(whole, middle.x)
    # From the ground below the foot: foot - (0, lip). Differences of monotone terms stay so.
    lips = [c[3] for c in product(*(_ends(v) for v in values))]
    low = middle.z - lip_mm.value
    off_x = max(abs(c.x - middle.x) for c in corners)
    off_z = max(abs(c.z - k - low) for c, k in zip(corners, lips, strict=True))
    # Turning about the point below the foot: two pieces, so that none is loose there.
    outer = replace(
        ground, x1=middle.x, z1=low, tol_z0=(FAR_MM + middle.x) * tan_tol, tol_x1=0.0, tol_z1=0.0
    )
    inner = replace(
        ground, x0=middle.x, z0=low, tol_z0=0.0, tol_x1=off_x,
        tol_z1=(abs(middle.x) + off_x) * tan_tol + abs(tan) * off_x,
    )  # fmt: skip
    # Up from the foot every span strays by its own turn and length only.
    near, up_x, up_z = [], 0.0, lip_mm.tol
    for s, (more_x, more_z) in zip(ramp, _strays(chain, middle, corners, ramp), strict=True):
        end_x, end_z = min(s.tol_x1 + off_x, up_x + more_x), min(s.tol_z1 + off_z, up_z + more_z)
        near.append(replace(s, tol_x0=up_x, tol_z0=up_z, tol_x1=end_x, tol_z1=end_z))
        up_x, up_z = end_x, end_z
    inside = [
        replace(
            s,
            tol_x0=s.tol_x0 + off_x,
            tol_z0=s.tol_z0 + off_z,
            tol_x1=s.tol_x1 + off_x,
            tol_z1=s.tol_z1 + off_z,
        )
        for s in (level, *floor)
    ]
    return Profile(whole, middle.x, (outer, inner, *near, *inside), (off_x, off_z))


class _Chain(NamedTuple):
    chord: Given
    joints: tuple[tuple[float, float], ...]  # along and across the chord, from the hinge
    spans: tuple[Given, ...]
    turns: tuple[float, ...]  # how far each span's angle to the chord can be off


class _Foot(NamedTuple):
    x: float
    z: float
    slope: float


def _ends(v: Given) -> tuple[float, ...]:
    return v.ends() if v.tol else (v.value,)


def _chain(spans: Sequence[Given], breaks: Sequence[Given]) -> _Chain:
    """The stiff ramp in the frame of its chord from hinge to foot."""
    x = z = fall = 0.0
    slack = across = loose = 0.0
    joints, looses = [], []
    angles = [ZERO, *(breaks or [ZERO] * (len(spans) - 1))]
    for k, (span, angle) in enumerate(zip(spans, angles, strict=True)):
        if span.value - span.tol <= 0.0:
            raise BadInput(f"ramp.spans[{k}]", span.value, "a length above its tolerance")
        fall += angle.value
        loose += angle.tol
        looses.append(loose)
        # Turning one joint moves what hangs on it by at most its length times the angle.
        swing = angle.tol * sum(s.value + s.tol for s in spans[k:])
        slack += span.tol + swing
        across += span.tol * min(1.0, abs(math.sin(fall)) + loose) + swing
        x, z = x + span.value * math.cos(fall), z - span.value * math.sin(fall)
        joints.append((x, z))
    chord = math.hypot(x, z)
    turned = tuple(((a * x + b * z) / chord, (b * x - a * z) / chord) for a, b in joints[:-1])
    straight = all(abs(b) < 1e-9 for _, b in turned) and not any(a.tol for a in angles)
    # The foot moves across the first span by `across`, so the chord turns from it by at most
    # asin of that over its length, and from every later span by that span's own turn more.
    hinge = math.asin(min(1.0, across / max(chord - slack, across, 1.0)))
    turns = tuple(hinge + t for t in looses)
    return _Chain(Given(chord, slack), () if straight else turned, tuple(spans), turns)


def _foot(rise: float, length: float, tan: float, lip: float, gap: float, step: float) -> _Foot:
    """Where a straight chord of this length from the hinge meets the ground (plus lip)."""
    low = -rise - tan * gap + lip + step  # v = low + tan w
    inside = length**2 * (1.0 + tan**2) - low**2
    if inside <= 0.0:
        raise BadInput("ramp.spans", round(length, 1), "a ramp longer than its rise")
    w = (-tan * low - math.sqrt(inside)) / (1.0 + tan**2)
    v = low + tan * w
    if v >= 0.0 or w + v * tan >= 0.0:
        raise BadInput("ramp.rise", round(rise, 1), "a ramp that falls from the sill to its foot")
    return _Foot(w - gap, v - step, v / w)


def _strays(
    chain: _Chain, foot: _Foot, corners: Sequence[_Foot], ramp: Sequence[Segment]
) -> list[tuple[float, float]]:
    """How far each segment's upper end can be off from its lower one, from the foot up."""
    tol_s = max(abs(c.slope - foot.slope) for c in corners)
    # A straight ramp is one segment along the chord.
    spans, turns = (chain.spans, chain.turns) if chain.joints else ((chain.chord,), (0.0,))
    out = []
    for s, span, turn in zip(ramp, reversed(spans), reversed(turns), strict=True):
        run, fall = (s.x1 - s.x0) / span.value, abs(s.z1 - s.z0) / span.value
        swing = (span.value + span.tol) * (tol_s + turn)
        bow = 0.5 * swing * (tol_s + turn)
        out.append((run * span.tol + fall * swing + bow, fall * span.tol + run * swing + bow))
    return out


def _spans(
    chain: _Chain, foot: _Foot, corners: Sequence[_Foot], gap: Given, step: Given
) -> list[Segment]:
    """The ramp's segments from the foot up, each end with its box."""
    hx, hz = -gap.value, -step.value
    tol_fx = max(abs(c.x - foot.x) for c in corners)
    tol_fz = max(abs(c.z - foot.z) for c in corners)
    tol_s = max(abs(c.slope - foot.slope) for c in corners)
    if not chain.joints:
        return [Segment("ramp", foot.x, foot.z, hx, hz, tol_fx, tol_fz, gap.tol, step.tol, tol_s)]
    length = chain.chord.value
    ux, uz = (foot.x - hx) / length, (foot.z - hz) / length
    points = [(hx, hz, gap.tol, step.tol)]
    for (a, b), span, turn in zip(chain.joints, chain.spans, chain.turns, strict=False):
        x, z = hx + a * ux + b * uz, hz + a * uz - b * ux
        from_x, from_z, off_x, off_z = points[-1]
        run, fall = abs(x - from_x) / span.value, abs(z - from_z) / span.value
        # The chord turns by at most tol_s (|d atan| <= |d slope|), its span by `turn` more.
        swing = (span.value + span.tol) * (tol_s + turn)
        bow = 0.5 * swing * (tol_s + turn)
        off_x += run * span.tol + fall * swing + bow
        off_z += fall * span.tol + run * swing + bow
        points.append((x, z, off_x, off_z))
    points.append((foot.x, foot.z, tol_fx, tol_fz))
    made = []
    for k in range(len(points) - 1, 0, -1):
        (x0, z0, ax, az), (x1, z1, bx, bz) = points[k], points[k - 1]
        run = x1 - x0 - ax - bx
        if run <= 0.0:
            raise BadInput("ramp.breaks", k, "spans that still lead outwards from the sill")
        slope = (z1 - z0) / (x1 - x0)
        turned = tol_s + chain.turns[k - 1]
        tol = min(
            (az + bz + abs(slope) * (ax + bx)) / run,
            math.tan(min(math.atan(abs(slope)) + turned, _UPRIGHT)) - abs(slope),
        )
        made.append(Segment(f"ramp span {k}", x0, z0, x1, z1, ax, az, bx, bz, tol))
    return made
