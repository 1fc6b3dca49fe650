"""Does the chair at rest stay inside the place and on the floor, and the head below the ceiling?"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sillway.fit.body import Side, body
from sillway.fit.check import Check, CheckClass, Margin
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Point, Pose, Prism
from sillway.fit.judge import check_of
from sillway.fit.known import Basis, Known
from sillway.fit.place.room import growth, to_van
from sillway.fit.plane import moved_edges
from sillway.records.outline import Outline
from sillway.records.rider import Chair, Layer
from sillway.records.van import Place, Van
from sillway.units import show_length

PARTS = ("back", "front", "width")


def edges(basis: Basis, name: str, outline: Outline) -> Known:
    """How far the edges of an outline may be off, about nothing."""
    off = outline.tolerance_mm
    if off is None:
        off = basis.way_tolerance(outline.way, "mm")
    return Known(name, -off, off, "mm", outline.way, "outline")


def outline_at(basis: Basis, outline: Outline, sign: int) -> BaseGeometry:
    """An outline with its edges moved by its tolerance: outwards (1) or inwards (-1)."""
    off = edges(basis, "", outline).high
    return moved_edges(Polygon(outline.points_mm), sign * off)


def layer_measures(basis: Basis, chair: Chair, layer: Layer) -> tuple[Known, ...]:
    """The measures that say where a layer's outline is in plan."""
    known = [
        basis.known(f"chair.layers[{layer.name}].{part}", getattr(layer, part)) for part in PARTS
    ]
    known.append(basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall))
    return tuple(known)


def widened(rectangle: Sequence[Point], by_mm: float) -> tuple[Point, ...]:
    """A rectangle moved out at both ends along the chair (in, if negative)."""
    x0, x1 = min(p[0] for p in rectangle), max(p[0] for p in rectangle)
    y0, y1 = min(p[1] for p in rectangle), max(p[1] for p in rectangle)
    x0, x1 = x0 - by_mm, x1 + by_mm
    if x0 > x1:
        x0 = x1 = (x0 + x1) / 2
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def footprint_check(
    van: Van,
    place: Place,
    chair: Chair,
    layers: Sequence[Layer],
    pose: Pose,
    basis: Basis,
    standing: Known | None = None,
) -> Check:
    """Whether every layer, in this pose, stays inside the place's zone and the floor.

    Args:
        standing: how far along the chair the pose itself may be off (a docking pin decides where
            the chair stands); None where the rider stands as told.
    """
    slack = standing.high if standing else 0.0
    by_name = {layer.name: layer for layer in layers}
    bounds_ = {f"places[{place.id}].zone": place.zone, "cabin.floor": van.cabin.floor}
    worst = [
        (growth(widened(p.polygon, slack), pose, outline_at(basis, outline, -1)), p.name, name)
        for p in body(basis, chair, layers, Side.BAD)
        for name, outline in bounds_.items()
    ]
    best = [
        growth(widened(p.polygon, -slack), pose, outline_at(basis, outline, 1))
        for p in body(basis, chair, layers, Side.GOOD)
        for outline in bounds_.values()
    ]
    room, layer_name, against = min(worst)
    # Layers whose tolerances leave nothing at the good end cannot prove a no.
    margin = Margin(room, max(min(best, default=0.0), room), "mm")
    used = [
        *layer_measures(basis, chair, by_name[layer_name]),
        edges(basis, against, bounds_[against]),
    ]
    used += [standing] if standing else []
    ranked = sorted((k for k in used if k.half_width), key=lambda k: -k.half_width)
    return check_of(
        "place.footprint", "Does the chair with its rider stay inside the place and on the floor?",
        CheckClass.PHYSICAL, margin, ranked, used,
        needed=f"all of it inside place {place.id} and the floor",
        measured=f"tightest at {layer_name} against {against}: {show_length(room)} at the least",
        source=cite(basis, "physics.solid"),
    )  # fmt: skip


def _over(
    van: Van, basis: Basis, prisms: Sequence[Prism], pose: Pose, side: Side
) -> list[tuple[Prism, Known]]:
    """Each layer with each ceiling over it: at the bad end all that may be over it, at the good
    end those that surely are."""
    sign = 1 if side is Side.BAD else -1
    whole = basis.known("cabin.height", van.cabin.height)
    zones = [
        (
            outline_at(basis, zone.outline, sign),
            basis.known(f"cabin.ceilings[{zone.name}].height", zone.height),
        )
        for zone in van.cabin.ceilings
    ]
    found = []
    for prism in prisms:
        plan = Polygon([to_van(pose, p) for p in prism.polygon])
        found.append((prism, whole))
        found += [(prism, known) for shape, known in zones if shape.intersection(plan).area > 0]
    return found


def headroom_check(
    van: Van, chair: Chair, layers: Sequence[Layer], pose: Pose, basis: Basis
) -> Check:
    """Whether head and all else stay below the ceiling that is over them in the place."""
    tops = {
        layer.name: basis.known(f"chair.layers[{layer.name}].top", layer.top) for layer in layers
    }
    worst = [
        (ceiling.low - tops[p.name].high, p.name, ceiling)
        for p, ceiling in _over(van, basis, body(basis, chair, layers, Side.BAD), pose, Side.BAD)
    ]
    best = [
        ceiling.high - tops[p.name].low
        for p, ceiling in _over(van, basis, body(basis, chair, layers, Side.GOOD), pose, Side.GOOD)
    ]
    room, name, ceiling = min(worst, key=lambda one: one[0])
    margin = Margin(room, max(min(best, default=0.0), room), "mm")
    used = (tops[name], ceiling)
    return check_of(
        "place.headroom", "Is the head, and all of the chair, below the ceiling in the place?",
        CheckClass.PHYSICAL, margin, sorted(used, key=lambda k: -k.half_width), used,
        needed=f"below {ceiling.name}, {show_length(ceiling.mid)}",
        measured=f"top of {name} at {show_length(tops[name].mid)}",
        source=cite(basis, "place.head.room"),
    )  # fmt: skip
