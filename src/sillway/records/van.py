"""The van: what was measured and read off it. Van frame and units: docs/words.md."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import Field

from sillway.records.base import Name, Note, Part, Record
from sillway.records.measure import (
    Distance,
    Force,
    Length,
    Mass,
    Measure,
    Position,
    RatedForce,
    RatedMass,
    Tread,
)
from sillway.records.outline import Outline, PlanOutline

Wheel = Literal["left front", "right front", "left rear", "right rear"]
SeatState = Literal["in use", "folded", "out"]


class Conversion(Part):
    """How the chair comes in, and who converted the van."""

    entry: Literal["rear", "side"]
    side: Literal["left", "right"] = "right"
    converter: Name | None = None
    serial: Name | None = None
    converted_on: dt.date | None = None
    changed_suspension: Note = ""
    kneels: bool = False


class Ratings(Part):
    """Weights and their limits, as labelled or weighed, and where the axles are."""

    gvwr: RatedMass
    gawr_front: RatedMass | None = None
    gawr_rear: RatedMass | None = None
    curb_front: Mass | None = None
    curb_rear: Mass | None = None
    curb_total: Mass | None = None
    fuel_level: Name | None = None
    wheelbase: Length
    sill_to_rear_axle: Position
    payload_label: RatedMass | None = None


class Tire(Part):
    """One tire as read off its sidewall."""

    wheel: Wheel
    size: Name | None = None
    load_index: Annotated[int, Field(ge=0, le=279)] | None = None
    passenger_car_tire: bool = True
    tin: Name | None = None
    tread: tuple[Tread, Tread, Tread] | None = None
    pressure_psi: Annotated[float, Field(gt=0, le=150)] | None = None


class Ramp(Part):
    """The ramp, from the ground to the sill. `rise` is from the ground to the floor at the sill."""

    operation: Literal["manual", "powered"]
    length: Length
    width_at_hinge: Length
    width_at_foot: Length | None = None
    rise: Length
    rise_kneeled: Length | None = None
    edge_height: Length | None = None
    rated_load: RatedMass | None = None
    spans: Annotated[tuple[Length, ...], Field(max_length=4)] = ()
    foot_lip: Length | None = None
    sill_gap: Length | None = None
    sill_step: Position | None = None
    lift_force: Force | None = None
    releases_by_hand: bool | None = None


class Door(Part):
    """The doorway. `centre` is its y at a rear entry, its x at a side entry."""

    width: Length
    height: Length
    centre: Position | None = None


class Solid(Part):
    """Something fixed in the cabin: wheel house, pillar, console, step."""

    name: Name
    outline: PlanOutline
    bottom: Length | None = None
    top: Length | None = None


class CeilingZone(Part):
    """A part of the ceiling lower than the rest."""

    name: Name
    outline: PlanOutline
    height: Length


class WindowBand(Part):
    """Lower and upper edge of the side glass above the floor."""

    low: Length
    high: Length


class Cabin(Part):
    """The room inside. Heights are above the floor."""

    floor: PlanOutline
    height: Length
    ceilings: Annotated[tuple[CeilingZone, ...], Field(max_length=20)] = ()
    solids: Annotated[tuple[Solid, ...], Field(max_length=60)] = ()
    windows: WindowBand | None = None


class SeatShape(Part):
    """What a seat takes up in one state; absent for a seat that is out."""

    outline: PlanOutline
    bottom: Length | None = None
    top: Length | None = None


class Seat(Part):
    """A seat or bench, with what it takes up in each state it can be in."""

    id: Name
    row: Annotated[int, Field(ge=1, le=6)]
    side: Literal["left", "middle", "right"]
    sits: Annotated[int, Field(ge=1, le=4)] = 1
    mass: Mass | None = None
    for_driver: bool = False
    in_use: SeatShape
    folded: SeatShape | None = None
    comes_out: bool = False

    def states(self) -> tuple[SeatState, ...]:
        """The states this seat can be put in, the usual one first."""
        folded: tuple[SeatState, ...] = ("folded",) if self.folded is not None else ()
        out: tuple[SeatState, ...] = ("out",) if self.comes_out else ()
        return ("in use", *folded, *out)


class Anchor(Part):
    """A point in the floor, wall or ceiling that a strap or belt is hooked to."""

    id: Name
    x: Position
    y: Position
    z: Position | None = None
    rating: RatedForce | None = None


class Docking(Part):
    """A docking station: `x`, `y` is where the chair's pin stands when locked."""

    id: Name
    x: Position
    y: Position
    bracket: Name
    pin_height: Length | None = None
    rated_mass: RatedMass | None = None


class TieDownSet(Part):
    """A set of straps on hand; `rated_chair_mass` is what the set was tested to."""

    name: Name
    straps: Annotated[int, Field(ge=1, le=12)] = 4
    rated_chair_mass: RatedMass | None = None
    made_on: dt.date | None = None


class Securement(Part):
    """All that holds chairs and riders."""

    strap_anchors: Annotated[tuple[Anchor, ...], Field(max_length=60)] = ()
    belt_anchors: Annotated[tuple[Anchor, ...], Field(max_length=40)] = ()
    docking: Annotated[tuple[Docking, ...], Field(max_length=6)] = ()
    sets: Annotated[tuple[TieDownSet, ...], Field(max_length=12)] = ()


class Place(Part):
    """A securement place: where a chair may stand, and what holds it there.

    Attributes:
        zone: the chair's whole outline on the floor stays inside it.
        front_anchors, rear_anchors: ids of strap anchors ahead of and behind the chair.
        lap_anchors, shoulder_anchor: ids of belt anchors.
        docking: id of the docking station, if the place has one.
    """

    id: Name
    kind: Literal["cabin", "front passenger", "driver"]
    zone: PlanOutline
    front_anchors: tuple[Name, ...] = ()
    rear_anchors: tuple[Name, ...] = ()
    lap_anchors: tuple[Name, ...] = ()
    shoulder_anchor: Name | None = None
    docking: Name | None = None


class WayOut(Part):
    """A door or hatch that could serve in an emergency."""

    name: Name
    width: Length | None = None
    height: Length | None = None
    opens_by_hand: bool | None = None


class Outside(Part):
    """The van from outside, mirrors folded."""

    length: Length
    width: Length
    height: Length


class Van(Record):
    """A van on the lot."""

    kind: Literal["van"] = "van"
    stock_number: Name
    vin: Name | None = None
    year: Annotated[int, Field(ge=1980, le=2039)]
    make: Name
    model: Name
    odometer: Distance | None = None
    measured_on: dt.date | None = None
    measured_by: Name | None = None
    conversion: Conversion
    ratings: Ratings
    tires: Annotated[tuple[Tire, ...], Field(max_length=4)] = ()
    ramp: Ramp
    door: Door
    cabin: Cabin
    seats: Annotated[tuple[Seat, ...], Field(max_length=12)] = ()
    securement: Securement = Securement()
    places: Annotated[tuple[Place, ...], Field(min_length=1, max_length=8)]
    ways_out: Annotated[tuple[WayOut, ...], Field(max_length=8)] = ()
    outside: Outside

    def name(self) -> str:
        """What the van is called on a sheet."""
        return f"{self.year} {self.make} {self.model}, stock {self.stock_number}"


__all__ = [
    "Anchor", "Cabin", "CeilingZone", "Conversion", "Docking", "Door", "Measure", "Outline",
    "Outside", "Place", "Ramp", "Ratings", "Seat", "SeatShape", "SeatState", "Securement", "Solid",
    "TieDownSet", "Tire", "Van", "WayOut", "Wheel", "WindowBand",
]  # fmt: skip
