"""Points of the chair and anchors of the van, seen along the chair and across it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sillway.fit.cite import assumed_range
from sillway.fit.drive.scene import Pose
from sillway.fit.known import Basis, Known, exact
from sillway.fit.place.room import to_chair
from sillway.records.measure import Measure
from sillway.records.rider import Chair, SecurementPoint
from sillway.records.van import Anchor

LEFT, RIGHT = "left", "right"


@dataclass(frozen=True, slots=True)
class Seen:
    """An anchor as the chair sees it. [mm]

    Attributes:
        along: ahead of the drive axle.
        across: to the left of the chair's middle.
        up: above the floor.
    """

    anchor: Anchor
    along: Known
    across: Known
    up: Known

    @property
    def side(self) -> str:
        """On which side of the chair it is."""
        return LEFT if self.across.mid >= 0 else RIGHT


def seen_from(basis: Basis, kind: str, anchor: Anchor, pose: Pose) -> Seen:
    """An anchor of the van in the chair frame, tolerances turned with it.

    Args:
        kind: which list it stands in, for names (``strap_anchors``).
    """
    path = f"securement.{kind}[{anchor.id}]"
    x, y = basis.known(f"{path}.x", anchor.x), basis.known(f"{path}.y", anchor.y)
    along, across = to_chair(pose, (x.mid, y.mid))
    c, s = abs(math.cos(pose[2])), abs(math.sin(pose[2]))
    off_along = c * x.half_width + s * y.half_width
    off_across = s * x.half_width + c * y.half_width
    up = (
        assumed_range(basis, f"{path}.z", "place.strap.anchor.height", "mm")
        if anchor.z is None
        else basis.known(f"{path}.z", anchor.z)
    )
    return Seen(
        anchor,
        Known(x.name, along - off_along, along + off_along, "mm", x.way, x.typed),
        Known(y.name, across - off_across, across + off_across, "mm", y.way, y.typed),
        up,
    )


def chosen(anchors: Iterable[Anchor], ids: Iterable[str]) -> list[Anchor]:
    """The anchors of these ids, in the order of the ids; an unknown id is left out."""
    by_id = {anchor.id: anchor for anchor in anchors}
    return [by_id[name] for name in ids if name in by_id]


@dataclass(frozen=True, slots=True)
class OnChair:
    """A point of the chair or the body: ahead of the wall, and up; and the drive axle. [mm]"""

    from_wall: Known
    axle: Known
    up: Known


def on_chair(
    basis: Basis, chair: Chair, name: str, from_wall: Known, height: Measure | Known
) -> OnChair:
    """A point of the chair from what was measured against the wall."""
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    up = height if isinstance(height, Known) else basis.known(f"{name}.height", height)
    return OnChair(from_wall, axle, up)


def pair_on_chair(basis: Basis, chair: Chair, name: str, pair: SecurementPoint) -> OnChair:
    """A pair of securement points in side view."""
    path = f"chair.securement.{name}"
    return on_chair(
        basis, chair, path, basis.known(f"{path}.from_wall", pair.from_wall), pair.height
    )


def rise_deg(up: float, down: float, along: float) -> float:
    """Angle above the horizontal of a line from an anchor up to a point, in side view. [deg]

    ``along`` is the horizontal distance in the direction the strap should run; if it is negative
    the anchor is on the wrong side and the angle passes 90 deg.

    >>> rise_deg(300.0, 0.0, 400.0)
    36.86989764584402
    """
    return math.degrees(math.atan2(up - down, along))


def plan_deg(sideways: float, along: float) -> float:
    """Angle off straight of a line seen from above, positive to the outside. [deg]"""
    return math.degrees(math.atan2(sideways, along))


def total(name: str, parts: Iterable[Known]) -> Known:
    """The sum of several knowns as one; assumed if any of them is.

    >>> total("load", [exact("a", 2.0, "kg"), exact("b", 3.0, "kg")]).mid
    5.0
    """
    parts = list(parts)
    if not parts:
        return exact(name, 0.0, "kg")
    loosest = max(parts, key=lambda k: (k.assumed, k.half_width))
    typed = " + ".join(k.typed for k in parts)
    return Known(
        name, sum(k.low for k in parts), sum(k.high for k in parts), parts[0].unit,
        loosest.way, typed, loosest.source,
    )  # fmt: skip
