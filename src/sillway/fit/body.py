"""The chair with its rider as a stack of prisms: as large and as small as its measures allow."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from sillway.fit.drive.scene import Prism
from sillway.fit.known import Basis, Known
from sillway.fit.plane import rectangle
from sillway.records.rider import Chair, Layer, Posture

AS_MEASURED = "as measured"


class Side(StrEnum):
    """Which end of every tolerance is taken."""

    BAD = "bad"
    GOOD = "good"
    MIDDLE = "middle"


@dataclass(frozen=True, slots=True)
class Sitting:
    """A posture with the layers it leaves, and whether it holds for the ride too."""

    name: str
    layers: tuple[Layer, ...]
    rides: bool


def sittings(chair: Chair, postures: Iterable[Posture]) -> tuple[Sitting, ...]:
    """All postures the rider says are possible, the one measured first."""
    out = [Sitting(AS_MEASURED, chair.layers, rides=True)]
    for posture in postures:
        changed = {layer.name: layer for layer in posture.layers}
        layers = tuple(
            changed.pop(layer.name, layer)
            for layer in chair.layers
            if layer.name not in posture.taken_off
        )
        layers += tuple(changed.values())
        out.append(Sitting(posture.name, layers, rides=posture.holds_for == "ride"))
    return tuple(out)


def along(basis: Basis, chair: Chair, name: str, from_wall: Known) -> tuple[float, float]:
    """Ends of a chair-frame x [mm]: a distance from the wall less the drive axle's."""
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    return from_wall.low - axle.high, from_wall.high - axle.low


def prism(basis: Basis, chair: Chair, layer: Layer, side: Side) -> Prism | None:
    """One layer in the chair frame; None if its tolerances leave nothing at the good end."""
    path = f"chair.layers[{layer.name}]"
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    back, front, width, bottom, top = (
        basis.known(f"{path}.{part}", getattr(layer, part))
        for part in ("back", "front", "width", "bottom", "top")
    )
    shift = 0.0 if layer.left_of_middle is None else layer.left_of_middle.value
    if side is Side.BAD:
        x0, x1 = back.low - axle.high, front.high - axle.low
        half, z = width.high / 2, (max(bottom.low, 0.0), top.high)
    elif side is Side.GOOD:
        x0, x1 = back.high - axle.low, front.low - axle.high
        half, z = width.low / 2, (bottom.high, top.low)
    else:
        x0, x1 = back.mid - axle.mid, front.mid - axle.mid
        half, z = width.mid / 2, (bottom.mid, top.mid)
    if x0 >= x1 or half <= 0 or z[0] >= z[1]:
        return None
    return Prism(rectangle(x0, shift - half, x1, shift + half), z, layer.name)


def body(basis: Basis, chair: Chair, layers: Iterable[Layer], side: Side) -> tuple[Prism, ...]:
    """All layers in the chair frame."""
    made = (prism(basis, chair, layer, side) for layer in layers)
    return tuple(p for p in made if p is not None)


def common_body(basis: Basis, chair: Chair, sitting: Iterable[Sitting]) -> tuple[Prism, ...]:
    """What every posture takes up at the good end: a no for it is a no for each, and for changes.

    Layers are rectangles, so what they share is a rectangle, layer by layer of the same name.
    """
    stacks = [{p.name: p for p in body(basis, chair, s.layers, Side.GOOD)} for s in sitting]
    shared = []
    for name in stacks[0]:
        if all(name in stack for stack in stacks):
            prisms = [stack[name] for stack in stacks]
            common = _shared(prisms)
            if common is not None:
                shared.append(common)
    return tuple(shared) or (_speck(basis, chair),)


# Half the width of what is surely there when the measures leave nothing else: no gap of a van is
# so narrow that it would be closed to this. [mm]
_SPECK_MM = 1e-3


def _speck(basis: Basis, chair: Chair) -> Prism:
    """The middle of the drive axle, as high as the lowest layer surely is: where so little was
    measured that nothing else is sure, no more than this can be proved not to get in."""
    low = min(chair.layers, key=lambda layer: layer.bottom.value)
    bottom = max(basis.known("bottom", low.bottom).high, 0.0)
    top = max(basis.known("top", low.top).low, bottom + _SPECK_MM)
    half = _SPECK_MM
    return Prism(rectangle(-half, -half, half, half), (bottom, top), low.name)


def _shared(prisms: list[Prism]) -> Prism | None:
    x0, y0 = (max(p.polygon[0][i] for p in prisms) for i in (0, 1))
    x1, y1 = (min(p.polygon[2][i] for p in prisms) for i in (0, 1))
    z0, z1 = max(p.z[0] for p in prisms), min(p.z[1] for p in prisms)
    if x0 >= x1 or y0 >= y1 or z0 >= z1:
        return None
    return Prism(rectangle(x0, y0, x1, y1), (z0, z1), prisms[0].name)


def reach_mm(prisms: Iterable[Prism]) -> float:
    """Largest distance of any body point from the body origin in plan."""
    return max(math.hypot(x, y) for p in prisms for x, y in p.polygon)


def wheel_prism(
    basis: Basis, chair: Chair, bad: tuple[Prism, ...], z: tuple[float, float]
) -> Prism:
    """The rectangle round the wheels, at its largest: from the contacts, else the lowest layer."""
    rolling = [c for c in chair.contacts if c.kind in ("drive wheel", "caster")]
    lowest = min(bad, key=lambda p: p.z[0])
    (x0, y0), (x1, y1) = lowest.polygon[0], lowest.polygon[2]
    if len(rolling) >= 2:
        ends = [
            along(basis, chair, c.name, basis.known(f"chair.contacts[{c.name}]", c.from_wall))
            for c in rolling
        ]
        x0, x1 = min(low for low, _ in ends), max(high for _, high in ends)
    return Prism(rectangle(x0, y0, x1, y1), z, "wheels")
