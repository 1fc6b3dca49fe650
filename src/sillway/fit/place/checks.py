"""Everything asked of a chair in its place, in one tuple of checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sillway.fit.check import Check, CheckClass, not_assessed
from sillway.fit.cite import cite
from sillway.fit.drive.scene import Pose
from sillway.fit.known import Basis
from sillway.fit.place.belts import belt_checks
from sillway.fit.place.beside import animal_check, attendant_check, view_check, way_out_check
from sillway.fit.place.clear import clear_checks, space_check
from sillway.fit.place.docking import (
    docking_checks,
    held_by,
    nothing_check,
    standing_of,
    station_of,
)
from sillway.fit.place.footprint import footprint_check, headroom_check
from sillway.fit.place.rated import (
    count_checks,
    rating_check,
    set_check,
    tested_check,
    yardstick_checks,
)
from sillway.fit.place.straps import course_checks, straps_of
from sillway.records.rider import Body, Chair, Equipment, Layer, Rider
from sillway.records.van import Place, Van


def place_checks(
    van: Van,
    place: Place,
    rider: Rider,
    pose: Pose,
    basis: Basis,
    *,
    layers: Sequence[Layer] | None = None,
    seat_states: Mapping[str, str] | None = None,
    walkers: Mapping[str, str] | None = None,
) -> tuple[Check, ...]:
    """All checks of the rider in this place, in this pose.

    Args:
        layers: of the posture that is kept for the ride; else as measured.
        seat_states: state of each seat by id; a seat not named is in use.
        walkers: who sits on which seat, by name; the attendant as ``attendant``.
    """
    states = seat_states or {}
    kept = tuple(layers or rider.chair.layers)
    out = chair_checks(
        van, place, rider.chair, rider.body, pose, basis, layers=kept, seat_states=states,
        equipment=rider.equipment,
    )  # fmt: skip
    if rider.attendant is not None:
        out += (
            attendant_check(
                van, rider.chair, rider.body, kept, pose, rider.attendant, states, walkers or {},
                basis,
            ),
        )  # fmt: skip
    if rider.service_animal is not None:
        out += (
            animal_check(van, rider.chair, kept, pose, rider.service_animal, states, basis),
        )  # fmt: skip
    return out


def chair_checks(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    pose: Pose,
    basis: Basis,
    *,
    layers: Sequence[Layer],
    seat_states: Mapping[str, str],
    equipment: Sequence[Equipment] = (),
) -> tuple[Check, ...]:
    """The checks of one chair and who sits in it; for the driver's place only room is answered."""
    kept = tuple(layers)
    station = station_of(van, place)
    how = held_by(van, place, chair)
    standing = standing_of(basis, station, chair) if station and how == "docking" else None
    out: list[Check] = [
        footprint_check(van, place, chair, kept, pose, basis, standing),
        headroom_check(van, chair, kept, pose, basis),
    ]
    if place.kind == "driver":
        return (*out, driver_check(basis))
    if how == "docking":
        out += docking_checks(van, place, chair, body, pose, basis, equipment)
    elif how == "straps":
        held = straps_of(van, place, chair, pose, basis)
        out += course_checks(chair, held, basis)
        out += count_checks(van, place, chair, basis)
        out.append(rating_check(van, place, chair, body, held, basis, equipment))
        out.append(set_check(van, chair, basis))
        out += yardstick_checks(van, place, basis)
    elif station is not None:
        out += docking_checks(van, place, chair, body, pose, basis, equipment)
    else:
        out.append(nothing_check(place, basis))
    out.append(tested_check(chair, basis))
    out += belt_checks(van, place, chair, body, kept, pose, basis)
    out += clear_checks(van, place, chair, body, kept, pose, basis, seat_states)
    out += [
        space_check(place, basis),
        view_check(van, body, kept, basis),
        way_out_check(van, basis),
    ]
    return tuple(out)


def driver_check(basis: Basis) -> Check:
    """Who decides what sillway does not, of a rider who drives from the chair."""
    return not_assessed(
        "place.driver", "May the rider drive from this chair, secured and belted in this place?",
        CheckClass.PRACTICE, measures=[],
        needed="an assessment of driving, controls, securement and belts",
        source=cite(basis, "caution.clinician"),
        who="licensed driver-rehabilitation specialist",
        note="sillway answers room, way and load here, and nothing else.",
    )  # fmt: skip
