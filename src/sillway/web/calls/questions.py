"""What a caller is asked, in words, and how an answer is shown again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext_lazy as _

from sillway.fit.sketch import ASKED, Asked

NAME: Final = "name"
PHONE: Final = "phone"
NOTE: Final = "note"
DRIVE: Final = "drive"

DRIVES: Final[dict[str, Any]] = {
    "manual": _("manual, pushed by hand"),
    "rear-wheel drive": _("power, drive wheels at the back"),
    "mid-wheel drive": _("power, drive wheels in the middle"),
    "front-wheel drive": _("power, drive wheels in front"),
    "scooter": _("scooter"),
    "stretcher": _("stretcher"),
}


@dataclass(frozen=True, slots=True)
class Question:
    """One question of the call sheet.

    Attributes:
        id: name of its field.
        says: what to ask.
        hint: how to measure it.
        asked: where the answer goes; None for those that are no measure.
    """

    id: str
    says: Any
    hint: Any
    asked: Asked | None = None


_WORDS: Final[dict[str, tuple[Any, Any]]] = {
    "head": (
        _("How high above the floor is the top of the head, sitting in the chair?"),
        _("A book held level on the head, and the tape from it to the floor."),
    ),
    "wheels": (
        _("How wide is the chair over its wheels?"),
        _("Outside to outside, hand-rims included."),
    ),
    "elbows": (
        _("How wide are chair and rider over elbows, armrests and joystick?"),
        _("At the widest, as the rider sits on the way in."),
    ),
    "length": (
        _("How long is the chair with the feet on it?"),
        _("From the rearmost point, bag or handle included, to the toes."),
    ),
    "chair_mass": (
        _("What does the chair weigh?"),
        _("It stands on the label or in the maker's book; batteries included."),
    ),
    "rider_mass": (_("What does the rider weigh?"), _("About is enough to begin with.")),
    "radius": (
        _("In how small a half circle does the scooter turn?"),
        _("The radius: half the width it needs to turn about."),
    ),
    "axle": (
        _("How far ahead of the rearmost point is the middle of the drive wheels?"),
        _("Along the floor, with the back against a wall."),
    ),
    "clearance": (
        _("How much room is below the lowest part of the chair?"),
        _("Between the wheels, from the floor to the lowest part."),
    ),
}
QUESTIONS: Final[tuple[Question, ...]] = (
    Question(DRIVE, _("What kind of chair is it?"), _("Ask where the large wheels are.")),
    *(Question(one.id, *_WORDS[one.id], one) for one in ASKED),
)
BY_ID: Final = {one.id: one for one in QUESTIONS}
BY_MEASURE: Final = {one.asked.measure: one.id for one in QUESTIONS if one.asked is not None}


def typed(given: Any) -> str:
    """An answer as somebody typed it.

    >>> typed({"value": "34 1/2", "way": "tape"}), typed({"low": "34", "high": "35"}), typed(None)
    ('34 1/2', '34 to 35', '')
    """
    if given is None:
        return ""
    if isinstance(given, dict):
        if "value" in given:
            return str(given["value"])
        return f"{given.get('low', '')} to {given.get('high', '')}"
    return str(given)
