"""Entries so far from anything real that they are taken for a slip of the pen."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from pydantic import BaseModel

from sillway.errors import BadInput
from sillway.records.ends import ends, newest
from sillway.records.fields import FieldOf, Takes, fields_of
from sillway.records.measure import Measure, Way
from sillway.records.outline import Outline
from sillway.units import Kind, Shown

_ALONG: Final = "sanity.chair.along"
_LAYER: Final = "sanity.layer.height"
_SIZE: Final = "sanity.equipment.size"
_PLACE: Final = {"x": "sanity.place.x", "y": "sanity.place.y"}

# Which range holds for which field of which part.
RANGES: Final[dict[str, str]] = {
    "Layer.bottom": _LAYER,
    "Layer.top": _LAYER,
    "Layer.back": _ALONG,
    "Layer.front": _ALONG,
    "Layer.width": "sanity.layer.width",
    "Layer.left_of_middle": "sanity.layer.side",
    "Contact.from_wall": _ALONG,
    "Contact.radius": "sanity.wheel.radius",
    "Contact.clearance": "sanity.clearance.ground",
    "Contact.travel_up": "sanity.spring.travel",
    "Contact.travel_down": "sanity.spring.travel",
    "MassCentre.from_wall": _ALONG,
    "MassCentre.height": "sanity.com.height",
    "Steering.smallest_radius": "sanity.turn.radius",
    "SecurementPoint.from_wall": _ALONG,
    "SecurementPoint.height": "sanity.point.height",
    "SecurementPoint.apart": "sanity.points.apart",
    "ChairSecurement.pin_from_wall": _ALONG,
    "Chair.length": "sanity.chair.length",
    "Chair.drive_axle_from_wall": _ALONG,
    "Chair.ground_clearance": "sanity.clearance.ground",
    "Chair.mass": "sanity.chair.mass",
    "Body.mass": "sanity.rider.mass",
    "Body.eye_height": "sanity.eye.height",
    "Body.hip_from_wall": _ALONG,
    "Body.hip_height": "sanity.hip.height",
    "Body.shoulder_height": "sanity.shoulder.height",
    "Body.head_front_from_wall": _ALONG,
    "Body.head_back_from_wall": _ALONG,
    "Equipment.mass": "sanity.equipment.mass",
    "Equipment.x": _PLACE["x"],
    "Equipment.y": _PLACE["y"],
    "Equipment.length": _SIZE,
    "Equipment.width": _SIZE,
    "Equipment.height": _SIZE,
    "Attendant.mass": "sanity.rider.mass",
    "Attendant.reach": "sanity.reach",
    "ServiceAnimal.mass": "sanity.animal.mass",
    "ServiceAnimal.length": _SIZE,
    "ServiceAnimal.width": _SIZE,
    "Walker.mass": "sanity.walker.mass",
    "Home.garage_height": "sanity.garage.height",
    "Home.garage_depth": "sanity.garage.depth",
    "Home.garage_width": "sanity.garage.width",
    "Home.driveway_slope": "sanity.driveway.slope",
    "Home.bay_width": "sanity.bay.width",
    "Home.aisle_width": "sanity.aisle.width",
    "Home.room_behind": "sanity.room.behind",
    "Ratings.gvwr": "sanity.van.gvwr",
    "Ratings.gawr_front": "sanity.van.gawr",
    "Ratings.gawr_rear": "sanity.van.gawr",
    "Ratings.curb_front": "sanity.van.curb.axle",
    "Ratings.curb_rear": "sanity.van.curb.axle",
    "Ratings.curb_total": "sanity.van.curb",
    "Ratings.wheelbase": "sanity.van.wheelbase",
    "Ratings.sill_to_rear_axle": "sanity.van.sill_to_axle",
    "Ratings.payload_label": "sanity.van.payload",
    "Tire.load_index": "sanity.tire.load_index",
    "Tire.tread": "sanity.tire.tread",
    "Ramp.length": "sanity.ramp.length",
    "Ramp.width_at_hinge": "sanity.ramp.width",
    "Ramp.width_at_foot": "sanity.ramp.width",
    "Ramp.rise": "sanity.ramp.rise",
    "Ramp.rise_kneeled": "sanity.ramp.rise",
    "Ramp.edge_height": "sanity.ramp.edge",
    "Ramp.rated_load": "sanity.ramp.rating",
    "Ramp.spans": "sanity.ramp.span",
    "Ramp.foot_lip": "sanity.ramp.gap",
    "Ramp.sill_gap": "sanity.ramp.gap",
    "Ramp.sill_step": "sanity.floor.step",
    "Ramp.lift_force": "sanity.ramp.lift",
    "Door.width": "sanity.door.width",
    "Door.height": "sanity.door.height",
    "Door.centre": _PLACE["x"],
    "Solid.bottom": "sanity.place.z",
    "Solid.top": "sanity.place.z",
    "CeilingZone.height": "sanity.ceiling",
    "WindowBand.low": "sanity.window",
    "WindowBand.high": "sanity.window",
    "Cabin.height": "sanity.ceiling",
    "SeatShape.bottom": "sanity.place.z",
    "SeatShape.top": "sanity.place.z",
    "Seat.mass": "sanity.seat.mass",
    "Anchor.x": _PLACE["x"],
    "Anchor.y": _PLACE["y"],
    "Anchor.z": "sanity.place.z",
    "Anchor.rating": "sanity.anchor.rating",
    "Docking.x": _PLACE["x"],
    "Docking.y": _PLACE["y"],
    "Docking.pin_height": "sanity.pin.height",
    "Docking.rated_mass": "sanity.docking.rating",
    "TieDownSet.rated_chair_mass": "sanity.docking.rating",
    "WayOut.width": "sanity.wayout.size",
    "WayOut.height": "sanity.wayout.size",
    "Outside.length": "sanity.van.length",
    "Outside.width": "sanity.van.width",
    "Outside.height": "sanity.van.height",
    "Van.odometer": "sanity.van.odometer",
}
_TOLERANCES: Final = {
    Kind.LENGTH: "sanity.tolerance.length",
    Kind.MASS: "sanity.tolerance.mass",
}


def slips(part: BaseModel, at: str = "") -> Iterator[BadInput]:
    """Every entry of a record that lies outside its range even at the good end of its tolerance.

    Args:
        at: where the part stands in the record, empty for the record itself.
    """
    for field in fields_of(type(part)):
        if "." in field.path:
            continue
        entry = getattr(part, field.name)
        entries = (entry or ()) if field.many else (entry,)
        for count, one in enumerate(entries):
            where = f"{at}.{field.name}" if at else field.name
            where = f"{where}[{count}]" if field.many else where
            if isinstance(one, BaseModel):
                yield from slips(one, where)
            elif one is not None:
                yield from _slip(field, one, where)


def _slip(field: FieldOf, entry: object, where: str) -> Iterator[BadInput]:
    rule_id = RANGES.get(f"{field.part}.{field.name}")
    if isinstance(entry, Measure) and field.measures is not None and rule_id is not None:
        own = ends(entry, field.measures)
        yield from _outside(rule_id, own.low, own.high, field.unit, own.typed, where)
        limit = _TOLERANCES.get(field.measures)
        # An assumed range is as wide as what nobody measured.
        if limit is not None and entry.tolerance is not None and entry.way is not Way.ASSUMED:
            half = entry.tolerance
            given = f"a tolerance of {Shown(field.unit)(half)}"
            yield from _outside(limit, half, half, field.unit, given, where)
    elif isinstance(entry, Outline):
        for point in entry.points_mm:
            for axis, value in zip("xy", point, strict=True):
                given = f"{axis} = {Shown('mm')(value)}"
                yield from _outside(_PLACE[axis], value, value, "mm", given, where)
    elif field.takes is Takes.NUMBER and isinstance(entry, int | float) and rule_id is not None:
        yield from _outside(rule_id, entry, entry, "", str(entry), where)


def _outside(
    rule_id: str, low: float, high: float, unit: str, given: str, where: str
) -> Iterator[BadInput]:
    limits = newest(rule_id)
    assert isinstance(limits, tuple)
    if high < limits[0] or low > limits[1]:
        least, most = (_shown(limit, unit) for limit in limits)
        yield BadInput(where, given, f"something from {least} to {most}")


def _shown(value: float, unit: str) -> str:
    # A slope is kept in rad and shown in degrees.
    return f"{math.degrees(value):.0f} deg" if unit == "rad" else Shown(unit)(value)
