"""What is asked of a van and a party, with all that does not depend on places and seats."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from sillway.fit.body import Side, Sitting, body, common_body, sittings, wheel_prism
from sillway.fit.cabin import BACKING, BELOW_FLOOR, FORWARDS, Entry, Room, floor_tolerance, way_in
from sillway.fit.check import Check, Settle
from sillway.fit.climb_checks import Climbed, climb_checks, ramp_checks
from sillway.fit.drive.scene import Prism, Verdict
from sillway.fit.known import Basis
from sillway.fit.verdict import ORDER, verdict_of
from sillway.records.rider import Home, OtherChair, Rider
from sillway.records.van import Van

YES = (Verdict.FITS, Verdict.CONDITIONS)
_ON_DRIVEWAY = "the buyer: board on level ground, or try the climb at home"


@dataclass(frozen=True, slots=True)
class Seated:
    """One person in a chair, and what was made of them once.

    Attributes:
        rider: the person as a record; of another chair of the party, one made from its part.
        main: whether the record is this person's own.
        sittings: the postures, as measured first.
        common: what all postures take up at the good end.
        ramp: checks of the ramp that hold for every posture and direction.
    """

    rider: Rider
    main: bool
    sittings: tuple[Sitting, ...]
    common: tuple[Prism, ...]
    ramp: tuple[Check, ...]

    @property
    def name(self) -> str:
        """The person's name."""
        return self.rider.name

    def own(self, check: Check) -> Check:
        """The check as the sheet tells it: of another chair, under that person's name.

        Measures are renamed the same way, so that two chairs' never pass for one another.
        """
        if self.main:
            return check
        return replace(
            check,
            id=f"chair[{self.name}].{check.id}",
            question=f"{self.name}: {check.question}",
            used=tuple(replace(k, name=self._measure(k.name)) for k in check.used),
            settle=tuple(
                Settle(self._measure(s.measure), self._how(s), s.now) for s in check.settle
            ),
        )

    def _measure(self, name: str) -> str:
        mine = name.startswith(("chair", "body", "postures", "head "))
        return f"other_chairs[{self.name}].{name}" if mine else name

    def _how(self, settle: Settle) -> str:
        return settle.how.replace(settle.measure, self._measure(settle.measure))


def seated_of(basis: Basis, van: Van, rider: Rider) -> tuple[Seated, ...]:
    """Everybody in a chair, the main rider first."""
    people = [rider, *(_as_rider(rider, number) for number in range(len(rider.other_chairs)))]
    out = []
    for number, person in enumerate(people):
        sat = sittings(person.chair, person.postures)
        common = common_body(basis, person.chair, sat)
        ramp = tuple(ramp_checks(basis, van, person, sat))
        out.append(Seated(person, number == 0, sat, common, ramp))
    return tuple(out)


def _as_rider(rider: Rider, number: int) -> Rider:
    """Another chair's person as a rider, with the rest of the chairs as company."""
    other = rider.other_chairs[number]
    company = (
        OtherChair(name=rider.name, chair=rider.chair, body=rider.body),
        *(o for i, o in enumerate(rider.other_chairs) if i != number),
    )
    return rider.model_copy(
        update={
            "name": other.name, "chair": other.chair, "body": other.body,
            "postures": other.postures, "walkers": (), "other_chairs": company,
            "attendant": None, "service_animal": None, "equipment": (), "home": Home(),
        }
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Question:
    """Van, party and day, and what was made of them once.

    Attributes:
        seated: everybody in a chair, the main rider first.
        rooms: the cabin at the bad and at the good end.
        home: checks of the home, which no arrangement changes.
        late: True once the time is up.
        explain: whether to tell where a no is closed.
        climbs, driveways: those computed so far, by name and direction.
    """

    basis: Basis
    van: Van
    rider: Rider
    entry: Entry
    seated: tuple[Seated, ...]
    rooms: Mapping[Side, Room]
    home: tuple[Check, ...]
    late: Callable[[], bool]
    explain: bool
    climbs: dict[tuple[str, str], Climbed] = field(default_factory=dict)
    driveways: dict[tuple[str, str], tuple[Check, ...]] = field(default_factory=dict)

    def climb(self, seated: Seated, direction: str) -> Climbed:
        """The best posture up the ramp in a direction; as measured, if that holds."""
        key = (seated.name, direction)
        if key not in self.climbs:
            self.climbs[key] = self._climb(seated, direction)
        return self.climbs[key]

    def entries(self, seated: Seated) -> Iterator[Climbed]:
        """The directions in which the climb is not a no, the better one first; a second climb is
        computed only where it is asked for or the first is no plain yes."""
        first = self.climb(seated, FORWARDS)
        if verdict_of(first.checks) in YES:
            yield first
            second = self.climb(seated, BACKING)
            if verdict_of(second.checks) is not Verdict.NO:
                yield second
            return
        both = sorted((first, self.climb(seated, BACKING)), key=_order)
        yield from (c for c in both if verdict_of(c.checks) is not Verdict.NO)

    def best_climb(self, seated: Seated) -> Climbed:
        """The better direction, whatever it comes to."""
        first = self.climb(seated, FORWARDS)
        if verdict_of(first.checks) in YES:
            return first
        return min((first, self.climb(seated, BACKING)), key=_order)

    def _climb(self, seated: Seated, direction: str) -> Climbed:
        basis, van, entry, rider = self.basis, self.van, self.entry, seated.rider
        tried: list[Climbed] = []
        for sitting in seated.sittings:
            until = self.until_mm(seated, sitting, direction)
            tried.append(climb_checks(basis, van, entry, rider, sitting, direction, until))
            if verdict_of(tried[-1].checks) in YES:
                break
        return min(tried, key=_order)

    def driveway(self, seated: Seated, best: Climbed) -> tuple[Check, ...]:
        """The same climb on the driveway at home, where one was measured. Conditions at most."""
        basis, home = self.basis, seated.rider.home
        key = (seated.name, best.direction)
        if home.driveway_slope is None:
            return ()
        if key not in self.driveways:
            slope = basis.known("home.driveway_slope", home.driveway_slope, "rad")
            until = self.until_mm(seated, best.sitting, best.direction)
            climbed = climb_checks(
                basis, self.van, self.entry, seated.rider, best.sitting, best.direction, until,
                slope,
            )  # fmt: skip
            self.driveways[key] = tuple(
                replace(c, who=c.who or _ON_DRIVEWAY) for c in climbed.checks
            )
        return self.driveways[key]

    def until_mm(self, seated: Seated, sitting: Sitting, direction: str) -> float:
        """How far past the sill the drive axle goes before the floor is level for all wheels."""
        chair = seated.rider.chair
        bad = body(self.basis, chair, sitting.layers, Side.BAD)
        wheels = wheel_prism(self.basis, chair, bad, BELOW_FLOOR)
        off = floor_tolerance(self.basis, self.van)
        inside = way_in(self.basis, self.entry, bad, wheels, direction, off).inside
        return abs(inside[0] - self.entry.sill[0]) + abs(inside[1] - self.entry.sill[1])


def _order(climbed: Climbed) -> int:
    return ORDER.index(verdict_of(climbed.checks))
