"""Masses of chair, rider and what rides along, with the rule for each that was not weighed."""

from __future__ import annotations

from collections.abc import Iterable

from sillway.fit.known import Basis, Known
from sillway.records.rider import Body, Chair, Equipment


def chair_mass(basis: Basis, chair: Chair) -> Known:
    """The chair's own mass, else what its kind may weigh."""
    rule = f"assumed.chair.mass.{chair.drive.replace(' ', '_')}"
    return basis.known_or("chair.mass", chair.mass, rule, "kg")


def rider_mass(basis: Basis, body: Body) -> Known:
    """The rider's mass, else that of any rider."""
    return basis.known_or("body.mass", body.mass, "assumed.rider.mass", "kg")


def on_chair_masses(basis: Basis, equipment: Iterable[Equipment]) -> list[Known]:
    """What hangs on the chair."""
    return [
        basis.known(f"equipment[{thing.name}].mass", thing.mass, "kg")
        for thing in equipment
        if thing.rides == "on the chair"
    ]
