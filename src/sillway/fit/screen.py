"""Quick bounds, without any motion: which vans are ruled out, and which measure would settle most.

A van is ruled out where a bound fails with every measure at its good end, assumed ranges included.
Where all bounds hold nothing is promised: the whole fit decides. Entering is taken as straight
along the ramp.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shapely import Polygon

from sillway import rules
from sillway.fit.aboard import curb_of
from sillway.fit.body import Sitting, sittings
from sillway.fit.check import Check, CheckClass, Finding, Margin, yes_no
from sillway.fit.cite import cite
from sillway.fit.climb import rise_of
from sillway.fit.climb_checks import ramp_checks
from sillway.fit.judge import check_of, judge
from sillway.fit.known import Basis, Known
from sillway.fit.load import gross_kg
from sillway.fit.place.footprint import edges
from sillway.fit.place.masses import chair_mass, rider_mass
from sillway.fit.seats import in_comfort, smallest, walking_party
from sillway.records.rider import Rider
from sillway.records.van import Place, Van
from sillway.units import show_length, show_mass

PHYSICAL, RATING = CheckClass.PHYSICAL, CheckClass.RATING
# Of the ramp's checks those that need no motion.
_OF_RAMP = ("ramp.width", "ramp.load")
# A sum in a check, and the measures it is asked for by.
_PARTS = {"chair and rider": ("body.mass", "chair.mass")}


class Stands(StrEnum):
    """How a van stands after the quick bounds."""

    CLEAR = "nothing against it so far"
    OPEN = "open"
    OUT = "ruled out"


@dataclass(frozen=True, slots=True)
class Screened:
    """One van's bounds.

    Attributes:
        decides: the bound that says most: the one that rules out, else the tightest.
        comfort: its margin in comfortable margins, to sort by.
    """

    stands: Stands
    checks: tuple[Check, ...]
    decides: Check
    comfort: float

    @property
    def still_open(self) -> tuple[Check, ...]:
        """The bounds that the measures do not decide."""
        return tuple(c for c in self.checks if c.finding is Finding.CLOSE)


def screen(van: Van, rider: Rider, basis: Basis) -> Screened:
    """All quick bounds of a van for a rider.

    Raises:
        RuleError: if a rule needed is not in force on the day.
    """
    sat = sittings(rider.chair, rider.postures)
    checks = [c for c in ramp_checks(basis, van, rider, sat) if c.id in _OF_RAMP]
    checks += [_door_width(basis, van, sat), _door_height(basis, van, rider, sat)]
    checks += _places(basis, van, rider, sat)
    checks.append(_gross(basis, van, rider))
    return _screened(basis, checks)


def next_measures(lot: Iterable[Screened], asked: Collection[str]) -> list[tuple[str, int]]:
    """The measures still to be asked, the one that could settle most vans first, with how many.

    Args:
        asked: names of measures that can be asked for.
    """
    votes: Counter[str] = Counter()
    for one in lot:
        if one.stands is not Stands.OPEN:
            continue
        mine: set[str] = set()
        for check in one.still_open:
            named = [part for s in check.settle for part in _PARTS.get(s.measure, (s.measure,))]
            first = next((name for name in named if name in asked), None)
            if first is not None:
                mine.add(first)
        votes.update(mine)
    return sorted(votes.items(), key=lambda item: (-item[1], item[0]))


def _screened(basis: Basis, checks: Sequence[Check]) -> Screened:
    failing = [c for c in checks if c.finding is Finding.FAILS]
    if failing:
        # The one that is furthest from passing.
        decides = min(failing, key=lambda c: in_comfort(basis, c, best=True))
        return Screened(Stands.OUT, tuple(checks), decides, in_comfort(basis, decides, best=True))
    loose = any(c.finding is not Finding.HOLDS for c in checks)
    decides = min(checks, key=lambda c: in_comfort(basis, c, best=False))
    comfort = in_comfort(basis, decides, best=False)
    return Screened(Stands.OPEN if loose else Stands.CLEAR, tuple(checks), decides, comfort)


def _door_width(basis: Basis, van: Van, sat: Sequence[Sitting]) -> Check:
    door = basis.known("door.width", van.door.width)
    # The widest layer in the posture that is narrowest there.
    widest = [
        max((basis.known(f"chair.layers[{la.name}].width", la.width) for la in one.layers),
            key=lambda k: (k.low, k.high))
        for one in sat
    ]  # fmt: skip
    wide = min(widest, key=lambda k: (k.low, k.high))
    top = max(k.high for k in (
        basis.known("", la.width) for la in min(sat, key=lambda s: len(s.layers)).layers
    ))  # fmt: skip
    margin = Margin(door.low - max(top, wide.high), door.high - wide.low, "mm")
    loose = [k for k in _widths(basis, sat[0]) if k.half_width and k.high > door.low]
    ranked = [*sorted(loose, key=lambda k: -k.half_width), door]
    return check_of(
        "door.width", "Is the doorway wider than the chair with its rider?", PHYSICAL, margin,
        [k for k in ranked if k.half_width], (wide, door),
        needed=show_length(wide.mid), measured=show_length(door.mid),
        source=cite(basis, "physics.solid"), note="Entering straight along the ramp.",
    )  # fmt: skip


def _widths(basis: Basis, sitting: Sitting) -> list[Known]:
    return [basis.known(f"chair.layers[{la.name}].width", la.width) for la in sitting.layers]


def _tops(basis: Basis, sitting: Sitting) -> Known:
    return max(
        (basis.known(f"chair.layers[{la.name}].top", la.top) for la in sitting.layers),
        key=lambda k: (k.low, k.high),
    )


def _door_height(basis: Basis, van: Van, rider: Rider, sat: Sequence[Sitting]) -> Check:
    """The head under the header.

    Over the sill the chair stands on a chord of ramp and floor, which hangs below the sill by at
    most a quarter of the wheelbase times the slope's tangent; tilting only raises the head over
    that chord. The wheelbase is no longer than the chair.
    """
    door = basis.known("door.height", van.door.height)
    top = min((_tops(basis, one) for one in sat), key=lambda k: (k.low, k.high))
    length = basis.known("chair.length", rider.chair.length)
    ramp = basis.known("ramp.length", van.ramp.length)
    sine = min(rise_of(basis, van, rider).high / max(ramp.low, 1.0), 1.0)
    slope_rad = min(math.asin(sine), math.pi / 4)
    step = basis.known_or("ramp.sill_step", van.ramp.sill_step, "assumed.ramp.step")
    springs = rules.interval("assumed.spring.travel", basis.on)[1]
    less = length.high / 4 * math.tan(slope_rad) + max(abs(step.low), abs(step.high)) + springs
    margin = Margin(door.low - top.high, door.high + less - top.low, "mm")
    ranked = [k for k in (top, door) if k.half_width]
    ranked.sort(key=lambda k: -k.half_width)
    return check_of(
        "door.height", "Can the head pass below the header?", PHYSICAL, margin, ranked, (top, door),
        needed=show_length(top.mid), measured=show_length(door.mid),
        source=cite(basis, "physics.header"),
        note=f"On the slope the head may be up to {show_length(less)} lower over the sill.",
    )  # fmt: skip


def _places(basis: Basis, van: Van, rider: Rider, sat: Sequence[Sitting]) -> list[Check]:
    wished = [p for p in van.places if p.kind in rider.wishes]
    if not wished:
        return [yes_no(
            "place.wished", "Has the van a place of the kind the rider wishes?", PHYSICAL, False,
            needed=" or ".join(rider.wishes),
            measured=", ".join(sorted({p.kind for p in van.places})), source="the van record",
        )]  # fmt: skip
    rides = [one for one in sat if one.rides]
    each = [_place(basis, van, place, rider, rides) for place in wished]

    def key(checks: Sequence[Check]) -> tuple[int, int, float]:
        return (
            sum(c.finding is Finding.FAILS for c in checks),
            sum(c.finding is Finding.CLOSE for c in checks),
            -min(in_comfort(basis, c, best=False) for c in checks),
        )

    return min(each, key=key)


def _place(
    basis: Basis, van: Van, place: Place, rider: Rider, rides: Sequence[Sitting]
) -> list[Check]:
    name = f"places[{place.id}].zone"
    off = edges(basis, name, place.zone).high
    xs, ys = ([p[i] for p in place.zone.points_mm] for i in (0, 1))
    long = Known(name, max(xs) - min(xs) - 2 * off, max(xs) - min(xs) + 2 * off, "mm",
                 place.zone.way, "outline")  # fmt: skip
    wide = Known(name, max(ys) - min(ys) - 2 * off, max(ys) - min(ys) + 2 * off, "mm",
                 place.zone.way, "outline")  # fmt: skip
    # Turned as far as the place allows, a chair reaches less far by the cosine.
    cosine = math.cos(basis.number("place.heading"))
    length = _length(basis, rider, rides)
    width = min(
        (max(_widths(basis, one), key=lambda k: (k.low, k.high)) for one in rides),
        key=lambda k: (k.low, k.high),
    )
    ceiling, top = _ceiling(basis, van, place), min(
        (_tops(basis, one) for one in rides), key=lambda k: (k.low, k.high)
    )  # fmt: skip
    source = cite(basis, "physics.solid")
    return [
        judge("place.headroom", "Is the head below the ceiling in the place?", PHYSICAL,
              lambda c, t: c - t, (ceiling, top), "mm", needed=f"below {show_length(ceiling.mid)}",
              measured=show_length(top.mid), source=cite(basis, "place.head.room")),
        _within(length, long, cosine, "place.length", "Is the place long enough?", source),
        _within(width, wide, cosine, "place.width", "Is the place wide enough?", source),
    ]  # fmt: skip


def _within(
    size: Known, room: Known, cosine: float, check_id: str, question: str, source: str
) -> Check:
    margin = Margin(room.low - size.high, room.high - size.low * cosine, "mm")
    ranked = sorted((k for k in (size, room) if k.half_width), key=lambda k: -k.half_width)
    return check_of(
        check_id, question, PHYSICAL, margin, ranked, (size, room), needed=show_length(size.mid),
        measured=show_length(room.mid), source=source,
    )  # fmt: skip


def _length(basis: Basis, rider: Rider, rides: Sequence[Sitting]) -> Known:
    """The whole length; with a posture that shortens it, that of the shortest stack of layers."""
    whole = basis.known("chair.length", rider.chair.length)
    if len(rides) == 1:
        return whole
    least = min(
        max(basis.known("", la.front).low for la in one.layers)
        - min(basis.known("", la.back).high for la in one.layers)
        for one in rides
    )
    low = max(min(whole.low, least), 0.0)
    return Known(whole.name, low, max(whole.high, low), "mm", whole.way, whole.typed)


def _ceiling(basis: Basis, van: Van, place: Place) -> Known:
    """The lowest ceiling that is over all of the place."""
    zone = Polygon(place.zone.points_mm)
    found = [basis.known("cabin.height", van.cabin.height)]
    for one in van.cabin.ceilings:
        if Polygon(one.outline.points_mm).covers(zone):
            found.append(basis.known(f"cabin.ceilings[{one.name}].height", one.height))
    return min(found, key=lambda k: k.high)


def _gross(basis: Basis, van: Van, rider: Rider) -> Check:
    """Gross weight: every seat in at the bad end, all that come out left behind at the good."""
    limit = basis.known("ratings.gvwr", van.ratings.gvwr, "kg")
    wheel = next((seat.id for seat in van.seats if seat.for_driver), "")
    drivers = [
        w.name for w in walking_party(rider, rider_drives=False) if not w.listed and w.drives
    ]
    driver = {name: wheel for name in drivers if wheel}
    every = {seat.id: "in use" for seat in van.seats}
    least = {} if "driver" in rider.wishes else driver
    high = gross_kg(van, rider, every, basis, driver).high
    low = gross_kg(van, rider, smallest(van), basis, least).low
    used = (
        rider_mass(basis, rider.body),
        chair_mass(basis, rider.chair),
        curb_of(van, basis).total,
        limit,
    )
    ranked = sorted((k for k in used if k.half_width), key=lambda k: -k.half_width)
    return check_of(
        "load.gross", "Does the loaded van stay within its gross rating?", RATING,
        Margin(limit.low - high, limit.high - low, "kg"), ranked, used,
        needed=f"no more than {show_mass(limit.mid)}",
        measured=f"between {show_mass(low)} and {show_mass(high)}",
        source=cite(basis, "load.gross"),
    )  # fmt: skip
