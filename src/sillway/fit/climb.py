"""The climb up the ramp: from the records to the side view, and back to checks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from shapely import Polygon, box

from sillway.fit import ramp
from sillway.fit.body import Side, Sitting
from sillway.fit.cabin import FORWARDS, Entry, floor_shape
from sillway.fit.drive.scene import Pose
from sillway.fit.known import Basis, Known
from sillway.fit.place.masses import chair_mass, on_chair_masses, rider_mass
from sillway.fit.ramp import Bar, Contact, Given, Overhead, Profile, SideBody, SidePart
from sillway.records.rider import Chair, Layer, Rider
from sillway.records.van import Van

# Thickness of the frame's underside in side view; only its lower edge can touch. [mm]
_FRAME_MM = 10.0
# No wheel or roller is smaller, whatever its tolerance says. [mm]
_SMALLEST_MM = 1.0
# kg for which the rule of squat tells how far the floor sinks.
_SQUAT_PER_KG = 100.0
# Where the ramp's kind of chair has its casters: ahead of the drive axle, behind it, or both.
_CASTERS = {
    "manual": (1,),
    "rear-wheel drive": (1,),
    "mid-wheel drive": (-1, 1),
    "front-wheel drive": (-1,),
    "scooter": (1,),
    "stretcher": (1,),
}


def given(known: Known) -> Given:
    """A value with its tolerance, as the side view takes it."""
    return Given(known.mid, known.half_width)


@dataclass(frozen=True, slots=True)
class Slope:
    """The ramp in side view, with what it was made from."""

    profile: Profile
    overhead: Overhead
    used: tuple[Known, ...]
    length: Known
    rise: Known


def squat(basis: Basis, rider: Rider) -> Known:
    """How far the floor sinks under chair and rider, as assumed."""
    per = basis.assumed("squat", "assumed.squat.more")
    mass = chair_mass(basis, rider.chair).high + rider_mass(basis, rider.body).high
    mass += sum(k.high for k in on_chair_masses(basis, rider.equipment))
    # Whoever came before sits in the van already.
    for other in rider.other_chairs:
        mass += chair_mass(basis, other.chair).high + rider_mass(basis, other.body).high
    return Known(
        "squat", 0.0, per.high * mass / _SQUAT_PER_KG, "mm", per.way, per.typed, per.source
    )


def rise_of(basis: Basis, van: Van, rider: Rider) -> Known:
    """Ground to floor at the sill: kneeled if the van kneels, less what it may sink under load."""
    kneeled = van.conversion.kneels and van.ramp.rise_kneeled is not None
    name = "ramp.rise_kneeled" if kneeled else "ramp.rise"
    measure = van.ramp.rise_kneeled if kneeled else van.ramp.rise
    assert measure is not None
    rise = basis.known(name, measure)
    low = max(rise.low - squat(basis, rider).high, 1.0)
    return Known(name, low, max(rise.high, low), "mm", rise.way, rise.typed)


def slope_of(
    basis: Basis, van: Van, entry: Entry, rider: Rider, driveway: Known | None = None
) -> Slope:
    """Ground, ramp and floor in side view, and all there is to pass under.

    Raises:
        BadInput: if the ramp does not reach from the floor to such a ground.
    """
    rise = rise_of(basis, van, rider)
    length = basis.known("ramp.length", van.ramp.length)
    spans = [basis.known(f"ramp.spans[{i}]", s) for i, s in enumerate(van.ramp.spans)] or [length]
    lip = basis.known_or("ramp.foot_lip", van.ramp.foot_lip, "assumed.ramp.lip")
    gap = basis.known_or("ramp.sill_gap", van.ramp.sill_gap, "assumed.ramp.gap")
    step = basis.known_or("ramp.sill_step", van.ramp.sill_step, "assumed.ramp.step")
    used = [rise, *spans, lip, gap, step, squat(basis, rider)]
    ground = Given(0.0)
    if driveway is not None:
        ground = given(driveway)
        used.append(driveway)
    profile = ramp.ramp_profile(
        given(rise), [given(s) for s in spans], driveway_rad=ground, lip_mm=given(lip),
        gap_mm=given(gap), step_mm=given(step),
    )  # fmt: skip
    bars, overhead_used = _bars(basis, van, entry, rider.chair)
    overhead = Overhead(tuple(bars))
    return Slope(profile, overhead, (*used, *overhead_used), length, rise)


def _bars(basis: Basis, van: Van, entry: Entry, chair: Chair) -> tuple[list[Bar], list[Known]]:
    jamb = basis.assumed("door.jamb", "assumed.door.jamb")
    ceiling = basis.known("cabin.height", van.cabin.height)
    depth = _depth(basis, van, entry)
    bars = [
        Bar("door.height", Given(-jamb.high), Given(0.0), given(entry.height)),
        Bar("cabin.height", Given(0.0), Given(depth), given(ceiling)),
    ]
    used = [entry.height, ceiling]
    half = (
        max(basis.known(f"chair.layers[{la.name}].width", la.width).high for la in chair.layers) / 2
    )
    for zone in van.cabin.ceilings:
        span = _along_axis(entry, Polygon(zone.outline.points_mm), half, depth)
        if span is None:
            continue
        off = basis.way_tolerance(zone.outline.way, "mm")
        height = basis.known(f"cabin.ceilings[{zone.name}].height", zone.height)
        bars.append(
            Bar(f"ceiling {zone.name}", Given(span[0], off), Given(span[1], off), given(height))
        )
        used.append(height)
    return bars, used


def _depth(basis: Basis, van: Van, entry: Entry) -> float:
    span = _along_axis(entry, floor_shape(basis, van, Side.GOOD), entry.width.high / 2, math.inf)
    return span[1] if span is not None else 1.0


def _along_axis(
    entry: Entry, shape: Polygon, half: float, depth: float
) -> tuple[float, float] | None:
    """Where a plan shape lies along the ramp's axis, within so far to either side of it."""
    c, s = math.cos(entry.heading), math.sin(entry.heading)
    points = [(x - entry.sill[0], y - entry.sill[1]) for x, y in shape.exterior.coords]
    turned = Polygon([(x * c + y * s, y * c - x * s) for x, y in points])
    x0, _, x1, _ = turned.bounds
    cut = turned.intersection(box(x0, -half, x1, half))
    if cut.is_empty:
        return None
    x0, _, x1, _ = cut.bounds
    return (x0, min(x1, depth)) if x0 < min(x1, depth) else None


def side_body(basis: Basis, rider: Rider, sitting: Sitting) -> tuple[SideBody, tuple[Known, ...]]:
    """Chair and rider in side view, and the measures that made them.

    Raises:
        BadInput: if the wheels stand where no chair can stand on them.
    """
    chair = rider.chair
    kind = chair.drive.replace(" ", "_")
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    used: list[Known] = [axle]
    contacts = _contacts(basis, chair, kind, axle, used)
    wheels = [c.x_mm.value for c in contacts if c.rolls]
    clearance = basis.known_or(
        "chair.ground_clearance", chair.ground_clearance, f"assumed.clearance.ground.{kind}"
    )
    used.append(clearance)
    frame = ramp.box(
        "frame", (min(wheels), max(wheels)), (clearance.mid, clearance.mid + _FRAME_MM)
    )
    frame = SidePart(frame.name, frame.polygon, 0.0, clearance.half_width, over=False)
    lowest = min(sitting.layers, key=lambda layer: layer.bottom.value)
    parts = [frame] + [
        _part(basis, layer, axle, used, under=layer is not lowest) for layer in sitting.layers
    ]
    com_x, com_z = _mass_centre(basis, chair, kind, axle, used)
    body = SideBody(tuple(contacts), tuple(parts), com_x, com_z)
    return body, tuple(used)


def _contacts(
    basis: Basis, chair: Chair, kind: str, axle: Known, used: list[Known]
) -> list[Contact]:
    out: list[Contact] = []
    for c in chair.contacts:
        path = f"chair.contacts[{c.name}]"
        drive, rolls = c.kind == "drive wheel", c.kind in ("drive wheel", "caster")
        if drive and any(o.drive for o in out):
            continue  # the other wheel of the same axle
        place = basis.known(f"{path}.from_wall", c.from_wall)
        x = Given(0.0) if drive else Given(place.mid - axle.mid, place.half_width + axle.half_width)
        radius = Given(0.0)
        if rolls or c.radius is not None:
            rule = f"assumed.wheel.{'drive' if drive else 'caster'}.radius.{kind}"
            known = basis.known_or(f"{path}.radius", c.radius, rule).at_least(_SMALLEST_MM)
            radius = given(known)
            used.append(known)
        low = Given(0.0)
        if not rolls:
            known = basis.known_or(f"{path}.clearance", c.clearance, "assumed.antitip.height")
            known = known.at_least(0.0)
            low = given(known)
            used.append(known)
        used.append(place)
        up, down = (0.0 if t is None else t.value for t in (c.travel_up, c.travel_down))
        out.append(Contact(c.name, x, radius, low, rolls, drive, c.kind == "anti-tipper", up, down))
    return _completed(basis, kind, chair, out, used)


def _completed(
    basis: Basis, kind: str, chair: Chair, out: list[Contact], used: list[Known]
) -> list[Contact]:
    """With the drive wheels and casters that this kind of chair has, where none were given."""
    if not any(c.drive for c in out):
        radius = basis.assumed("chair drive wheel radius", f"assumed.wheel.drive.radius.{kind}")
        used.append(radius)
        out.append(Contact("drive wheels", Given(0.0), given(radius), drive=True))
    if sum(c.rolls for c in out) < 2:
        radius = basis.assumed("chair caster radius", f"assumed.wheel.caster.radius.{kind}")
        base = basis.assumed("chair wheelbase", f"assumed.wheelbase.{kind}")
        used += [radius, base]
        for where in _CASTERS[chair.drive]:
            x = Given(where * base.mid, base.half_width)
            out.append(
                Contact("casters ahead" if where > 0 else "casters behind", x, given(radius))
            )
    return out


def _part(basis: Basis, layer: Layer, axle: Known, used: list[Known], *, under: bool) -> SidePart:
    path = f"chair.layers[{layer.name}]"
    back, front, bottom, top = (
        basis.known(f"{path}.{n}", getattr(layer, n)) for n in ("back", "front", "bottom", "top")
    )
    used += [back, front, bottom, top]
    made = ramp.box(
        layer.name, (back.mid - axle.mid, front.mid - axle.mid), (max(bottom.mid, 0.0), top.mid)
    )
    off_x = max(back.half_width, front.half_width) + axle.half_width
    off_z = max(bottom.half_width, top.half_width)
    return SidePart(made.name, made.polygon, off_x, off_z, under=under)


def _mass_centre(
    basis: Basis, chair: Chair, kind: str, axle: Known, used: list[Known]
) -> tuple[tuple[float, float], tuple[float, float]]:
    if chair.mass_centre is None:
        ahead = basis.assumed("chair.mass_centre.from_wall", f"assumed.com.ahead.{kind}")
        height = basis.assumed("chair.mass_centre.height", f"assumed.com.height.{kind}")
        used += [ahead, height]
        return (ahead.low, ahead.high), (height.low, height.high)
    place = basis.known("chair.mass_centre.from_wall", chair.mass_centre.from_wall)
    height = basis.known("chair.mass_centre.height", chair.mass_centre.height)
    used += [place, height]
    return (place.low - axle.high, place.high - axle.low), (height.low, height.high)


def facing_of(direction: str) -> int:
    """+1 forwards, -1 backing, as the side view takes it."""
    return 1 if direction == FORWARDS else -1


def playback_stand(
    basis: Basis, van: Van, entry: Entry, rider: Rider, sitting: Sitting, direction: str
) -> Callable[[Pose], tuple[float, float]]:
    """How the chair stands at a plan pose: height of its origin above the floor, and pitch.

    Pitch counts positive with the end towards the cabin up. Inside, the floor is level.
    """
    slope = slope_of(basis, van, entry, rider)
    side, _ = side_body(basis, rider, sitting)
    facing = facing_of(direction)
    c, s = math.cos(entry.heading), math.sin(entry.heading)
    rolling = [contact.x_mm.value for contact in side.contacts if contact.rolls]
    level_from = max(-facing * x for x in rolling)

    def stand(pose: Pose) -> tuple[float, float]:
        inwards = (pose[0] - entry.sill[0]) * c + (pose[1] - entry.sill[1]) * s
        if inwards >= level_from:
            return 0.0, 0.0
        at = ramp.pose_at(side, slope.profile, facing, inwards)
        return at.z_mm, facing * at.pitch_rad

    return stand
