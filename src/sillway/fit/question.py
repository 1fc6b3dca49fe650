"""What is asked of a van and a rider, with all that does not depend on the place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sillway.fit.body import Side, Sitting
from sillway.fit.cabin import Entry, Room
from sillway.fit.check import Check
from sillway.fit.climb_checks import Climbed
from sillway.fit.drive.scene import Prism
from sillway.fit.known import Basis
from sillway.records.rider import Rider
from sillway.records.van import Van


@dataclass(frozen=True, slots=True)
class Question:
    """Van, rider and day, and what was made of them once.

    Attributes:
        sittings: the rider's postures, as measured first.
        common: what all postures take up at the good end.
        rooms: the cabin at the bad and at the good end.
        climbs: the best posture up the ramp, by direction.
        general: checks that hold for every place.
        late: True once the time is up.
        explain: whether to tell where a no is closed.
    """

    basis: Basis
    van: Van
    rider: Rider
    entry: Entry
    sittings: tuple[Sitting, ...]
    common: tuple[Prism, ...]
    rooms: Mapping[Side, Room]
    climbs: Mapping[str, Climbed]
    general: tuple[Check, ...]
    late: Callable[[], bool]
    explain: bool
