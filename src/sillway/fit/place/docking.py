"""A chair held by a docking station: bracket, where the pin stands, rating."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sillway.fit.check import Check, CheckClass, yes_no
from sillway.fit.cite import assumed_range, cite
from sillway.fit.drive.scene import Pose
from sillway.fit.judge import judge
from sillway.fit.known import Basis, Known
from sillway.fit.place.masses import chair_mass, on_chair_masses, rider_mass
from sillway.fit.place.points import total
from sillway.fit.place.room import to_van
from sillway.fit.place.straps import INSTALLER
from sillway.records.rider import Body, Chair, Equipment
from sillway.records.van import Docking, Place, Van
from sillway.units import show_length, show_mass

DOCKING_MAKER = "docking maker and qualified installer"
PRACTICE, RATING = CheckClass.PRACTICE, CheckClass.RATING


def station_of(van: Van, place: Place) -> Docking | None:
    """The docking station of a place, if it has one on record."""
    return next((d for d in van.securement.docking if d.id == place.docking), None)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def docks(van: Van, place: Place, chair: Chair) -> bool:
    """Whether the chair's bracket goes into the place's station and its pin was measured."""
    station, bracket = station_of(van, place), chair.securement.docking_bracket
    return (
        station is not None
        and bracket is not None
        and chair.securement.pin_from_wall is not None
        and _plain(bracket) == _plain(station.bracket)
    )


def pin_ahead(basis: Basis, chair: Chair) -> tuple[Known, Known]:
    """What says how far the pin is ahead of the drive axle: from the wall, and the axle."""
    pin = chair.securement.pin_from_wall
    axle = basis.known("chair.drive_axle_from_wall", chair.drive_axle_from_wall)
    if pin is None:
        return axle, axle
    return basis.known("chair.securement.pin_from_wall", pin), axle


def pin_pose(basis: Basis, station: Docking, chair: Chair) -> Pose:
    """Where the chair stands when its pin is locked, facing straight ahead."""
    pin, axle = pin_ahead(basis, chair)
    return station.x.value - (pin.mid - axle.mid), station.y.value, 0.0


def standing_of(basis: Basis, station: Docking, chair: Chair) -> Known:
    """How far along the chair the locked pose may be off. [mm]"""
    pin, axle = pin_ahead(basis, chair)
    x = basis.known(f"securement.docking[{station.id}].x", station.x)
    off = pin.half_width + axle.half_width + x.half_width
    return Known(pin.name, -off, off, "mm", pin.way, pin.typed)


def docking_checks(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    pose: Pose,
    basis: Basis,
    equipment: Sequence[Equipment] = (),
) -> tuple[Check, ...]:
    """All checks of a chair held by the place's docking station, in this pose."""
    station = station_of(van, place)
    if station is None:
        return ()
    bracket = chair.securement.docking_bracket
    out = [
        yes_no(
            "place.docking.bracket", "Does the chair's bracket go into this docking station?",
            PRACTICE, bracket is not None and _plain(bracket) == _plain(station.bracket),
            needed=station.bracket, measured=bracket or "no bracket on the chair",
            source=cite(basis, "docking.pin.side"), who=DOCKING_MAKER,
        )
    ]  # fmt: skip
    if chair.securement.pin_from_wall is not None:
        out.append(_pin_check(station, chair, pose, basis))
    if station.pin_height is not None and chair.ground_clearance is not None:
        out.append(_height_check(station, chair, basis))
    out.append(_rating(station, chair, body, basis, equipment))
    return tuple(out)


def _pin_check(station: Docking, chair: Chair, pose: Pose, basis: Basis) -> Check:
    """The pose against the station; how well it is known where the pin is moves the footprint,
    not this: the rider drives on until it locks."""
    pin, axle = pin_ahead(basis, chair)
    at = to_van(pose, (pin.mid - axle.mid, 0.0))
    off = math.dist(at, (station.x.value, station.y.value))
    limit = basis.number("docking.pin.side")
    known = Known("pin from the station", off, off, "mm", pin.way, f"{off:.1f} mm")
    return judge(
        "place.docking.pin", "Does the pin stand over the docking station?", PRACTICE,
        lambda mm: limit - mm, [known], "mm", needed=f"within {show_length(limit)}",
        measured=show_length(off), source=cite(basis, "docking.pin.side"), who=DOCKING_MAKER,
    )  # fmt: skip


def _height_check(station: Docking, chair: Chair, basis: Basis) -> Check:
    assert station.pin_height is not None
    assert chair.ground_clearance is not None
    height = basis.known(f"securement.docking[{station.id}].pin_height", station.pin_height)
    belly = basis.known("chair.ground_clearance", chair.ground_clearance)
    spare = basis.number("docking.pin.height")
    return judge(
        "place.docking.height", "Does the chair's underside reach down to the docking height?",
        PRACTICE, lambda pin, under: under - pin + spare, [height, belly], "mm",
        needed=f"underside not lower than {show_length(height.mid)} less {show_length(spare)}",
        measured=show_length(belly.mid), source=cite(basis, "docking.pin.height"),
        who=DOCKING_MAKER,
        note="A bracket may hang lower than the rest of the chair: have it measured fitted.",
    )  # fmt: skip


def _rating(
    station: Docking, chair: Chair, body: Body, basis: Basis, equipment: Sequence[Equipment]
) -> Check:
    rated = basis.known_or(
        f"securement.docking[{station.id}].rated_mass", station.rated_mass,
        "place.docking.unread", "kg",
    )  # fmt: skip
    masses = [chair_mass(basis, chair), *on_chair_masses(basis, equipment)]
    carried = total("chair.mass" if len(masses) == 1 else "chair and what hangs on it", masses)
    rider = rider_mass(basis, body)
    share = assumed_range(
        basis, "whether the rating counts the rider", "place.docking.counts_rider", ""
    )
    return judge(
        "place.docking.rating", "Is the docking station rated for this chair and rider?", RATING,
        lambda r, kg, more, s: r - kg - s * more, [rated, carried, rider, share], "kg",
        needed=f"{show_mass(carried.mid)}, with the rider {show_mass(carried.mid + rider.mid)}",
        measured="rating not read" if rated.assumed else show_mass(rated.mid),
        source=cite(basis, "docking.rated"), who=DOCKING_MAKER,
    )  # fmt: skip


def held_by(van: Van, place: Place, chair: Chair) -> str:
    """What holds the chair in this place: ``docking`` where bracket and station go together,
    else ``straps`` where the place has strap anchors, else ``nothing``."""
    if docks(van, place, chair):
        return "docking"
    return "straps" if place.front_anchors or place.rear_anchors else "nothing"


def nothing_check(place: Place, basis: Basis) -> Check:
    """A place in which nothing holds this chair: to be fitted before anybody rides."""
    return yes_no(
        "place.held", "Is there something in this place that holds the chair?", PRACTICE, False,
        needed="strap anchors, or a docking station for the chair's bracket",
        measured=f"place {place.id} has neither on record", source=cite(basis, "strap.count"),
        who=INSTALLER,
    )  # fmt: skip
