"""What rolls and what it must pass under: contacts, the outline from the side, overhead edges.

Chair frame: origin on the floor below the drive axle on level ground, x forward, z up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from sillway.errors import BadInput
from sillway.fit.ramp.profile import ZERO, Given


@dataclass(frozen=True, slots=True)
class Contact:
    """Something of the chair that bears, or may come to bear, on the way.

    Attributes:
        name: as shown ("front caster", "anti-tipper", "footplate").
        x_mm: its middle ahead of the drive axle (negative: behind).
        radius_mm: of the wheel, roller or rounded edge; 0 for a sharp edge.
        clearance_mm: its lowest point above level ground; 0 for what rolls on it.
        rolls: a wheel that carries the chair (drive wheel, caster); False for anti-tippers and
            footplates, which carry only when they ground.
        anti_tip: made to stop the chair from tipping over it.
        drive: the drive wheels; exactly one contact, at x = 0.
        travel_up_mm, travel_down_mm: how far a sprung wheel can move up (to its bump stop) and
            down (to its droop stop) from where it stands on level ground; both 0 when rigid.
    """

    name: str
    x_mm: Given
    radius_mm: Given = ZERO
    clearance_mm: Given = ZERO
    rolls: bool = True
    drive: bool = False
    anti_tip: bool = False
    travel_up_mm: float = 0.0
    travel_down_mm: float = 0.0

    @property
    def sprung(self) -> bool:
        """Whether it has any travel."""
        return self.travel_up_mm > 0.0 or self.travel_down_mm > 0.0

    def exact(self) -> Contact:
        """The same contact without tolerance."""
        return replace(
            self,
            x_mm=self.x_mm.exact(),
            radius_mm=self.radius_mm.exact(),
            clearance_mm=self.clearance_mm.exact(),
        )


@dataclass(frozen=True, slots=True)
class SidePart:
    """One layer of the chair and rider from the side: a convex polygon (x, z) [mm].

    Attributes:
        tol_x_mm, tol_z_mm: how far every corner may be off.
        under: counts against the ramp and floor (leave False for layers drawn down to the ground
            through the wheels).
        over: counts against header and ceiling.
    """

    name: str
    polygon: tuple[tuple[float, float], ...]
    tol_x_mm: float = 0.0
    tol_z_mm: float = 0.0
    under: bool = True
    over: bool = True

    def exact(self) -> SidePart:
        """The same part without tolerance."""
        return replace(self, tol_x_mm=0.0, tol_z_mm=0.0)


def box(name: str, x_mm: tuple[float, float], z_mm: tuple[float, float], **more: float) -> SidePart:
    """A layer as a box over an x-range and a z-range; ``more`` as for `SidePart`.

    >>> box("head", (-100.0, 120.0), (1150.0, 1320.0)).polygon[0]
    (-100.0, 1150.0)
    """
    (x0, x1), (z0, z1) = x_mm, z_mm
    made = SidePart(name, ((x0, z0), (x1, z0), (x1, z1), (x0, z1)))
    return replace(made, **more)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class SideBody:
    """Chair and rider: contacts, outline and where the centre of mass may be.

    Raises:
        BadInput: no drive contact at x = 0, fewer than two rolling contacts, a contact on the
            same spot as another, a negative size, an empty interval.
    """

    contacts: tuple[Contact, ...]
    parts: tuple[SidePart, ...]
    com_x_mm: tuple[float, float]
    com_z_mm: tuple[float, float]

    def __post_init__(self) -> None:
        drives = [c for c in self.contacts if c.drive]
        if len(drives) != 1 or drives[0].x_mm.value != 0.0 or not drives[0].rolls:
            raise BadInput("wheels.drive", len(drives), "one drive axle, at x = 0, that rolls")
        rolling = sorted(c.x_mm.value for c in self.contacts if c.rolls)
        if len(rolling) < 2:
            raise BadInput("wheels", len(rolling), "at least two rolling contacts")
        if any(b - a < 1.0 for a, b in pairwise(rolling)):
            raise BadInput("wheels", rolling, "rolling contacts at different places along x")
        for c in self.contacts:
            if c.radius_mm.value - c.radius_mm.tol < 0.0:
                raise BadInput(f"wheels.{c.name}.radius", c.radius_mm.value, "a size of 0 or more")
            if min(c.travel_up_mm, c.travel_down_mm) < 0.0:
                raise BadInput(f"wheels.{c.name}.travel", c.travel_up_mm, "a travel of 0 or more")
            if c.rolls and c.radius_mm.value - c.radius_mm.tol <= 0.0:
                raise BadInput(f"wheels.{c.name}.radius", c.radius_mm.value, "a size above 0")
        for name, (lo, hi) in (("x", self.com_x_mm), ("z", self.com_z_mm)):
            if not (math.isfinite(lo) and lo <= hi and math.isfinite(hi)):
                raise BadInput(f"centre_of_mass.{name}", (lo, hi), "an interval, low end first")

    @property
    def drive(self) -> Contact:
        """The drive wheels."""
        return next(c for c in self.contacts if c.drive)

    def exact(self) -> SideBody:
        """The same body without tolerance (the centre of mass keeps its interval)."""
        return replace(
            self,
            contacts=tuple(c.exact() for c in self.contacts),
            parts=tuple(p.exact() for p in self.parts),
        )


@dataclass(frozen=True, slots=True)
class Bar:
    """A level underside over an x-range: the header of the door, a ceiling zone [mm].

    x as in the profile (0 at the sill), z above the floor.
    """

    name: str
    x0_mm: Given
    x1_mm: Given
    z_mm: Given

    def exact(self) -> Bar:
        """The same bar without tolerance."""
        return Bar(self.name, self.x0_mm.exact(), self.x1_mm.exact(), self.z_mm.exact())


@dataclass(frozen=True, slots=True)
class Overhead:
    """Everything the chair has to pass under."""

    bars: tuple[Bar, ...] = ()

    def exact(self) -> Overhead:
        """The same without tolerance."""
        return Overhead(tuple(b.exact() for b in self.bars))
