"""The place: does the chair stand in it, is it held, does the rider sit well there?"""

from __future__ import annotations

from sillway.fit.place.beside import ATTENDANT, seat_middles
from sillway.fit.place.checks import chair_checks, place_checks
from sillway.fit.place.docking import held_by
from sillway.fit.place.where import Admissible, admissible

__all__ = [
    "ATTENDANT",
    "Admissible",
    "admissible",
    "chair_checks",
    "held_by",
    "place_checks",
    "seat_middles",
]
