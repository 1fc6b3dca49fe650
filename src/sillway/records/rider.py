"""The rider: the person, the chair, who comes along, and the home.

Lengths along the chair are taken with its back against a wall: `from_wall` is the distance ahead
of the rearmost point. Heights are above the floor the chair stands on.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sillway.records.base import Name, Note, Part, Record
from sillway.records.measure import Length, Mass, Position, Slope, Way

PlaceKind = Literal["cabin", "front passenger", "driver"]
DriveKind = Literal[
    "manual", "rear-wheel drive", "mid-wheel drive", "front-wheel drive", "scooter", "stretcher"
]


class Layer(Part):
    """One slice of chair and rider by height: the widest and longest it is there."""

    name: Name
    bottom: Length
    top: Length
    back: Length
    front: Length
    width: Length
    left_of_middle: Position | None = None


class Posture(Part):
    """A way the rider says he can sit, and when: on the ramp only, or for the whole ride.

    Attributes:
        layers: layers that change, by name; the rest stays as measured.
        taken_off: names of layers that are gone (a footrest taken off).
    """

    name: Name
    holds_for: Literal["ramp", "ride"]
    layers: Annotated[tuple[Layer, ...], Field(max_length=12)] = ()
    taken_off: tuple[Name, ...] = ()


class Contact(Part):
    """A wheel or another part that may touch the ground.

    Attributes:
        kind: drive wheel, caster, anti-tipper or footplate.
        clearance: height of its lowest point on level ground; wheels stand at 0.
        travel_up, travel_down: spring travel from the level stand; absent means rigid.
    """

    name: Name
    kind: Literal["drive wheel", "caster", "anti-tipper", "footplate"]
    from_wall: Length
    radius: Length | None = None
    clearance: Length | None = None
    travel_up: Length | None = None
    travel_down: Length | None = None


class MassCentre(Part):
    """Centre of mass of chair and rider together."""

    from_wall: Length
    height: Length


class Steering(Part):
    """How the chair turns: on the spot, or like a car with its smallest radius."""

    kind: Literal["on the spot", "like a car"] = "on the spot"
    smallest_radius: Length | None = None


class SecurementPoint(Part):
    """A pair of securement points, left and right, on the chair."""

    from_wall: Length
    height: Length
    apart: Length


class ChairSecurement(Part):
    """How the chair can be held in a vehicle."""

    built_and_tested_as_vehicle_seat: bool | None = None
    straps_in_its_test: Annotated[int, Field(ge=1, le=12)] | None = None
    front_points: SecurementPoint | None = None
    rear_points: SecurementPoint | None = None
    docking_bracket: Name | None = None
    pin_from_wall: Length | None = None


class Chair(Part):
    """The chair as the rider sits in it."""

    drive: DriveKind
    length: Length
    drive_axle_from_wall: Length
    layers: Annotated[tuple[Layer, ...], Field(min_length=1, max_length=12)]
    contacts: Annotated[tuple[Contact, ...], Field(max_length=12)] = ()
    ground_clearance: Length | None = None
    steering: Steering = Steering()
    mass: Mass | None = None
    mass_centre: MassCentre | None = None
    securement: ChairSecurement = ChairSecurement()
    pushed_by_helper: bool = False


class Body(Part):
    """The person in the chair."""

    mass: Mass | None = None
    eye_height: Length | None = None
    hip_from_wall: Length | None = None
    hip_height: Length | None = None
    shoulder_height: Length | None = None
    head_front_from_wall: Length | None = None
    head_back_from_wall: Length | None = None


class Equipment(Part):
    """Something that rides along, such as a ventilator or oxygen."""

    name: Name
    mass: Mass
    rides: Literal["on the chair", "in the cabin"] = "on the chair"
    x: Position | None = None
    y: Position | None = None
    length: Length | None = None
    width: Length | None = None
    height: Length | None = None


class Attendant(Part):
    """Somebody who must sit beside the rider, within reach."""

    mass: Mass | None = None
    reach: Length | None = None


class ServiceAnimal(Part):
    """A service animal and the floor it needs."""

    mass: Mass | None = None
    length: Length
    width: Length


class Walker(Part):
    """Somebody of the party who walks and needs a seat. The driver is one of them."""

    name: Name
    mass: Mass | None = None
    drives: bool = False


class Home(Part):
    """Where the van is boarded and kept."""

    garage_height: Length | None = None
    garage_depth: Length | None = None
    garage_width: Length | None = None
    driveway_slope: Slope | None = None
    bay_width: Length | None = None
    aisle_width: Length | None = None
    room_behind: Length | None = None


class OtherChair(Part):
    """Another person of the party who rides in a chair."""

    name: Name
    chair: Chair
    body: Body = Body()
    postures: Annotated[tuple[Posture, ...], Field(max_length=8)] = ()


class Rider(Record):
    """A person who rides in a wheelchair, with chair, party and home."""

    # Most of it is told on the telephone, not measured by us.
    way: Way = Way.REPORTED
    kind: Literal["rider"] = "rider"
    name: Name
    chair: Chair
    body: Body = Body()
    postures: Annotated[tuple[Posture, ...], Field(max_length=8)] = ()
    wishes: tuple[PlaceKind, ...] = ("cabin", "front passenger")
    walkers: Annotated[tuple[Walker, ...], Field(max_length=12)] = ()
    other_chairs: Annotated[tuple[OtherChair, ...], Field(max_length=3)] = ()
    attendant: Attendant | None = None
    service_animal: ServiceAnimal | None = None
    equipment: Annotated[tuple[Equipment, ...], Field(max_length=12)] = ()
    home: Home = Home()
    story: Note = ""
