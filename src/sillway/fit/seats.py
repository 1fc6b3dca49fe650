"""Seats: which states to try, in which order, and who sits where.

Every state of every seat is covered. Fewer seats changed is better, and a folded seat is a smaller
change than one that comes out, so plans are tried in that order.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sillway import rules
from sillway.fit.check import Check, CheckClass, Finding, Margin
from sillway.fit.known import Basis
from sillway.records.rider import Attendant, Rider
from sillway.records.van import Seat, Van

# How much of a change each state is; only the order matters.
_COST = {"in use": 0, "folded": 1, "out": 2}
ATTENDANT = "attendant"
DRIVER = "driver"
# A margin that nothing limits, in comfortable margins; larger ones compare no further.
_AMPLE = 99.0
# More ways to seat the same people than this are not told apart; the first ones are kept.
MOST_SEATINGS = 200


@dataclass(frozen=True, slots=True)
class Walking:
    """Somebody who needs a seat.

    Attributes:
        drives: sits in the driver's seat.
        listed: named in the record; the driver is added where nobody drives.
    """

    name: str
    drives: bool
    listed: bool = True


def walking_party(rider: Rider, rider_drives: bool) -> tuple[Walking, ...]:
    """All who need a seat: the walkers, the attendant, and a driver if none is named."""
    party = [Walking(w.name, w.drives and not rider_drives) for w in rider.walkers]
    if isinstance(rider.attendant, Attendant):
        party.append(Walking(ATTENDANT, drives=False, listed=False))
    if not rider_drives and not any(w.drives for w in party):
        party.append(Walking(DRIVER, drives=True, listed=False))
    return tuple(party)


def plans(van: Van, barred: frozenset[tuple[str, str]] = frozenset()) -> Iterator[dict[str, str]]:
    """Every combination of seat states, the smallest change first; van order breaks ties.

    Args:
        barred: (seat, state) pairs left out, such as those that stand where a chair is to stand.
    """
    usual = {seat.id: "in use" for seat in van.seats}
    others = {
        seat.id: [state for state in seat.states()[1:] if (seat.id, state) not in barred]
        for seat in van.seats
    }
    must = [seat.id for seat in van.seats if (seat.id, "in use") in barred]
    may = [seat.id for seat in van.seats if seat.id not in must and others[seat.id]]
    for number in range(len(may) + 1):
        found = [
            {**usual, **dict(zip((*must, *chosen), states, strict=True))}
            for chosen in itertools.combinations(may, number)
            for states in itertools.product(*(others[s] for s in (*must, *chosen)))
        ]
        yield from sorted(found, key=lambda plan: sum(_COST[s] for s in plan.values()))


def changed(plan: Mapping[str, str]) -> int:
    """How many seats are not in use."""
    return sum(state != "in use" for state in plan.values())


def smallest(van: Van) -> dict[str, str]:
    """Every seat in the state that takes up least: out if it comes out, else folded."""
    return {seat.id: seat.states()[-1] for seat in van.seats}


def seats_for(van: Van, plan: Mapping[str, str], rider_drives: bool) -> list[Seat]:
    """The seats that can be sat in."""
    return [
        s
        for s in van.seats
        if plan.get(s.id, "in use") == "in use" and not (rider_drives and s.for_driver)
    ]


def seatings(
    van: Van, plan: Mapping[str, str], party: Sequence[Walking], rider_drives: bool
) -> list[dict[str, str]]:
    """The ways to seat the party: the driver in the driver's seat, nobody else in it."""
    usable = seats_for(van, plan, rider_drives)
    drivers = [w for w in party if w.drives]
    others = [w for w in party if not w.drives]
    wheel = [s for s in usable if s.for_driver]
    if len(drivers) > len(wheel):
        return []
    fixed = {w.name: s.id for w, s in zip(drivers, wheel, strict=False)}
    places = [s.id for s in usable if not s.for_driver for _ in range(s.sits)]
    if len(others) > len(places):
        return []
    out: dict[tuple[str, ...], dict[str, str]] = {}
    for chosen in itertools.permutations(places, len(others)):
        if chosen not in out:
            named = {w.name: seat for w, seat in zip(others, chosen, strict=True)}
            out[chosen] = {**fixed, **named}
        if len(out) >= MOST_SEATINGS:
            break
    return list(out.values())


def room_for_party(
    van: Van, plan: Mapping[str, str], party: Sequence[Walking], rider_drives: bool
) -> int:
    """Seats left over for this party; negative if some stay standing."""
    usable = seats_for(van, plan, rider_drives)
    passengers = sum(s.sits for s in usable if not s.for_driver) - sum(not w.drives for w in party)
    driver = sum(s.for_driver for s in usable) - sum(w.drives for w in party)
    return min(passengers, driver) if driver < 0 else passengers


def capacity_check(
    van: Van, plan: Mapping[str, str], party: Sequence[Walking], rider_drives: bool
) -> Check:
    """Is there a seat for everybody who walks?"""
    spare = room_for_party(van, plan, party, rider_drives)
    seated = len(party)
    return Check(
        "seats.capacity",
        "Is there a seat for everybody who walks?",
        CheckClass.PHYSICAL,
        Finding.HOLDS if spare >= 0 else Finding.FAILS,
        Margin(spare, spare, "seats"),
        f"{seated} seats" if seated != 1 else "1 seat",
        f"{seated + spare} in use",
        (),
        "one seat each (counting)",
    )


def in_comfort(basis: Basis, check: Check, *, best: bool) -> float:
    """A check's margin in comfortable margins of its kind, so that kinds compare."""
    if check.margin is None:
        return _AMPLE if check.finding is Finding.HOLDS else -_AMPLE
    scale = rules.number(f"comfort.scale.{check.margin.unit}", basis.on)
    value = (check.margin.best if best else check.margin.worst) / scale
    return max(min(value, _AMPLE), -_AMPLE)
