"""Does the loaded van stay within its gross rating, its axles' and its tires'?

The van is a beam on its two axles: what is put on it at x is shared in proportion to the distance
from the other axle. Curb weight is taken as weighed with every seat in; a seat that is out is
taken off where it stood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sillway import rules
from sillway.fit.aboard import Curb, Item, anywhere, curb_of, party, seat_x, seats_out
from sillway.fit.check import Check, CheckClass, Margin
from sillway.fit.cite import assumed_range, cite
from sillway.fit.drive.scene import Pose, PoseBox
from sillway.fit.judge import check_of
from sillway.fit.known import Basis, Known
from sillway.fit.place.masses import chair_mass, on_chair_masses, rider_mass
from sillway.records.measure import Way
from sillway.records.rider import Rider
from sillway.records.van import Tire, Van
from sillway.units import show_mass

FRONT, REAR = "front", "rear"
RATING, YARDSTICK = CheckClass.RATING, CheckClass.YARDSTICK


@dataclass(frozen=True, slots=True)
class Axles:
    """Where the axles are along the van. [mm]"""

    rear: Known
    wheelbase: Known

    def share(self, axle: str, x: float, rear: float, wheelbase: float) -> float:
        """The share of a weight at x that an axle carries.

        >>> from sillway.fit.known import exact
        >>> axles = Axles(exact("a", 900.0, "mm"), exact("b", 3000.0, "mm"))
        >>> axles.share("rear", 900.0, 900.0, 3000.0), axles.share("front", 2400.0, 900.0, 3000.0)
        (1.0, 0.5)
        """
        ahead = (x - rear) / wheelbase
        return ahead if axle == FRONT else 1.0 - ahead


def axles_of(van: Van, basis: Basis) -> Axles:
    """The axles as measured."""
    return Axles(
        basis.known("ratings.sill_to_rear_axle", van.ratings.sill_to_rear_axle),
        basis.known("ratings.wheelbase", van.ratings.wheelbase),
    )


@dataclass(frozen=True, slots=True)
class Load:
    """What an axle or the whole van carries. [kg]

    Attributes:
        low, high: with every measure at either end.
        parts: the measures, the one that widens it most first.
    """

    name: str
    low: float
    high: float
    parts: tuple[Known, ...]

    @property
    def mid(self) -> float:
        """The middle of the interval."""
        return (self.low + self.high) / 2


def axle_load(axle: str, curb: Known, items: Sequence[Item], axles: Axles) -> Load:
    """Load on an axle from the empty van and all items, exact over all intervals.

    For axles at given places each item counts by itself, at the ends of its mass and place; the
    load is monotone in the places of the axles, so these are tried at their ends.
    """
    ends: list[tuple[float, float]] = []
    for rear in {axles.rear.low, axles.rear.high}:
        for wheelbase in {axles.wheelbase.low, axles.wheelbase.high}:
            low, high = curb.low, curb.high
            for item in items:
                a, b = _ends(item, axle, axles, rear, wheelbase)
                low, high = low + a, high + b
            ends.append((low, high))
    widths: list[tuple[float, Known]] = [(curb.high - curb.low, curb)]
    for item in items:
        a, b = _ends(item, axle, axles, axles.rear.mid, axles.wheelbase.mid)
        at = axles.share(axle, item.x.mid, axles.rear.mid, axles.wheelbase.mid)
        by_mass = abs(at) * (item.mass.high - item.mass.low)
        widths += [(by_mass, item.mass), (b - a - by_mass, item.x)]
    widths += [(0.0, axles.rear), (0.0, axles.wheelbase)]
    return Load(f"{axle} axle", min(e[0] for e in ends), max(e[1] for e in ends), _by_width(widths))


def _ends(
    item: Item, axle: str, axles: Axles, rear: float, wheelbase: float
) -> tuple[float, float]:
    values = [
        kg * axles.share(axle, x, rear, wheelbase)
        for kg in (item.mass.low, item.mass.high)
        for x in (item.x.low, item.x.high)
    ]
    return min(values), max(values)


def _by_width(widths: Sequence[tuple[float, Known]]) -> tuple[Known, ...]:
    seen: dict[str, Known] = {}
    for _, known in sorted(widths, key=lambda one: -one[0]):
        seen.setdefault(known.name, known)
    return tuple(seen.values())


def gross_load(total: Known, items: Sequence[Item]) -> Load:
    """What the whole van weighs with all items."""
    low = total.low + sum(item.mass.low for item in items)
    high = total.high + sum(item.mass.high for item in items)
    known = [total, *(item.mass for item in items)]
    return Load("gross", low, high, _by_width([(k.high - k.low, k) for k in known]))


def gross_kg(
    van: Van,
    rider: Rider,
    seat_states: Mapping[str, str],
    basis: Basis,
    walkers: Mapping[str, str] | None = None,
) -> Known:
    """What the van weighs with the party aboard, wherever they are: a cheap bound. [kg]"""
    items = seats_out(van, seat_states, basis)
    items += party(van, rider, (0.0, 0.0, 0.0), seat_states, walkers or {}, basis)
    load = gross_load(curb_of(van, basis).total, items)
    way = Way.ASSUMED if any(k.assumed for k in load.parts) else load.parts[0].way
    return Known("gross weight", load.low, load.high, "kg", way, "sum of all aboard")


def aboard_at_sill_kg(rider: Rider, basis: Basis) -> Known:
    """Chair, rider and what hangs on the chair: what the ramp carries. [kg]"""
    masses = [chair_mass(basis, rider.chair), rider_mass(basis, rider.body)]
    masses += on_chair_masses(basis, rider.equipment)
    way = Way.ASSUMED if any(k.assumed for k in masses) else masses[0].way
    low, high = sum(k.low for k in masses), sum(k.high for k in masses)
    return Known("chair and rider", low, high, "kg", way, " + ".join(k.typed for k in masses))


def _judge(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    limit: Known,
    load: Load,
    source: str,
    note: str = "",
) -> Check:
    margin = Margin(limit.low - load.high, limit.high - load.low, "kg")
    used = (limit, *load.parts) if limit.half_width else (*load.parts, limit)
    ranked = [k for k in used if k.half_width]
    return check_of(
        id, question, check_class, margin, ranked, used,
        needed=f"no more than {show_mass(limit.mid)}",
        measured=f"{show_mass(load.mid)}, between {show_mass(load.low)} and {show_mass(load.high)}",
        source=source, note=note,
    )  # fmt: skip


def _gawr(van: Van, axle: str, basis: Basis) -> Known:
    told = van.ratings.gawr_front if axle == FRONT else van.ratings.gawr_rear
    name = f"ratings.gawr_{axle}"
    if told is not None:
        return basis.known(name, told, "kg")
    gvwr = basis.known("ratings.gvwr", van.ratings.gvwr, "kg")
    return assumed_range(basis, name, "assumed.gawr.share", "kg", gvwr.mid)


def tire_kg(tire: Tire | None, wheel: str, basis: Basis) -> Known:
    """What one tire carries on a van, by its load index; a passenger-car tire carries less.

    Raises:
        RuleError: if the load index is not in the table.
    """
    name = f"tires[{wheel}].load_index"
    divisor = basis.number("tires.passenger.divisor")
    if tire is None or tire.load_index is None:
        low, high = (_index_kg(round(i), basis) for i in
                     rules.interval("assumed.tire.load_index", basis.on))  # fmt: skip
        source = cite(basis, "assumed.tire.load_index")
        return Known(name, low / divisor, high, "kg", Way.ASSUMED, "not read", source)
    one = _index_kg(tire.load_index, basis)
    carries = one / divisor if tire.passenger_car_tire else one
    return Known(name, carries, carries, "kg", Way.LABEL, f"load index {tire.load_index}")


def _index_kg(index: int, basis: Basis) -> float:
    return rules.number(f"tires.load_index.{index}", basis.on)


def _tire_check(van: Van, axle: str, load: Load, basis: Basis) -> Check:
    """The axle against its tires, each of which carries its share: the weaker one counts."""
    by_wheel: dict[str, Tire] = {t.wheel: t for t in van.tires}
    each = [
        tire_kg(by_wheel.get(wheel), wheel, basis) for wheel in (f"left {axle}", f"right {axle}")
    ]
    number = basis.number("tires.per.axle")
    low, high = number * min(k.low for k in each), number * min(k.high for k in each)
    weaker = min(each, key=lambda k: (k.low, k.high))
    limit = Known(weaker.name, low, high, "kg", weaker.way, weaker.typed, weaker.source)
    return _judge(
        f"load.tires.{axle}", f"Do the {axle} tires carry what their axle carries?", RATING,
        limit, load, cite(basis, "tires.axle", "tires.load_index", "tires.passenger.divisor"),
    )  # fmt: skip


def reseated(
    items: Sequence[Item], van: Van, seat_states: Mapping[str, str], axle: str, basis: Basis
) -> list[Item]:
    """The party on the seats that load an axle most: the heaviest furthest towards it."""
    people = sorted((i for i in items if i.person), key=lambda i: -i.mass.high)
    places = [
        seat_x(basis, seat)
        for seat in van.seats
        if not seat.for_driver and seat_states.get(seat.id, "in use") == "in use"
        for _ in range(seat.sits)
    ]
    places.sort(key=lambda x: x.mid, reverse=axle == FRONT)
    out = [i for i in items if not i.person]
    for n, person in enumerate(people):
        x = places[n] if n < len(places) else anywhere(van, f"seat of {person.name}")
        out.append(Item(person.name, person.mass, x, person=True))
    return out


def load_checks(
    van: Van,
    rider: Rider,
    pose: Pose,
    seat_states: Mapping[str, str],
    walkers: Mapping[str, str],
    basis: Basis,
    spots: Mapping[str, PoseBox] | None = None,
) -> tuple[Check, ...]:
    """Gross weight, each axle, its tires: with this party aboard, empty, and at the worst seats.

    Args:
        pose: of the chair in its place.
        spots: where chairs may stand, by their riders' names, if not just there (see `party`).
        seat_states: state of each seat by id; a seat not named is in use.
        walkers: seat id by walker's name; the attendant stands in it as ``attendant``.
    Raises:
        RuleError: if a tire's load index is not in the table.
    """
    curb, axles = curb_of(van, basis), axles_of(van, basis)
    aboard = party(van, rider, pose, seat_states, walkers, basis, spots)
    items = [*seats_out(van, seat_states, basis), *aboard]
    gvwr = basis.known("ratings.gvwr", van.ratings.gvwr, "kg")
    gross = gross_load(curb.total, items)
    out = [
        _judge("load.gross", "Does the loaded van stay within its gross rating?", RATING, gvwr,
               gross, cite(basis, "load.gross")),
        _judge("load.gross.empty", "Does the empty van stay within its gross rating?", YARDSTICK,
               gvwr, gross_load(curb.total, []), cite(basis, "load.gross")),
    ]  # fmt: skip
    source = cite(basis, "load.axle", "load.moments")
    for axle in (FRONT, REAR):
        limit = _gawr(van, axle, basis)
        weighed = _curb(curb, axle)
        load = axle_load(axle, weighed, items, axles)
        out.append(_judge(f"load.{axle}", f"Does the {axle} axle stay within its rating?", RATING,
                          limit, load, source))  # fmt: skip
        out.append(_judge(f"load.{axle}.empty", f"Does the empty van's {axle} axle stay within "
                          "its rating?", YARDSTICK, limit, axle_load(axle, weighed, [], axles),
                          source))  # fmt: skip
        if any(i.person for i in items):
            moved = axle_load(axle, weighed, reseated(items, van, seat_states, axle, basis), axles)
            out.append(_judge(
                f"load.{axle}.worst_seats",
                f"Does the {axle} axle stay within its rating however those who walk sit?",
                YARDSTICK, limit, moved, source,
                note=f"The heaviest on the seats furthest to the {axle}.",
            ))  # fmt: skip
        out.append(_tire_check(van, axle, load, basis))
    out += _label(van, aboard, basis)
    return tuple(out)


def _curb(curb: Curb, axle: str) -> Known:
    return curb.front if axle == FRONT else curb.rear


def _label(van: Van, aboard: Sequence[Item], basis: Basis) -> list[Check]:
    """People and goods against the payload label, which may be older than the conversion."""
    if van.ratings.payload_label is None:
        return []
    label = basis.known("ratings.payload_label", van.ratings.payload_label, "kg")
    nothing = Known("", 0.0, 0.0, "kg", Way.LABEL, "")
    load = gross_load(nothing, aboard)
    parts = tuple(k for k in load.parts if k.name)
    load = Load("aboard", load.low, load.high, parts)
    return [
        _judge("load.label", "Do people and goods weigh no more than the label allows?", YARDSTICK,
               label, load, cite(basis, "load.capacity"),
               note="The label may be older than the conversion; the axles decide.")
    ]  # fmt: skip
