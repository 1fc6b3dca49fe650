"""Can the van be kept, and the ramp used, where the rider lives?

None of this decides whether the rider rides in the van: it may stand in the street. So each
check is a condition for the buyer, or a yardstick.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from sillway.fit.check import Check, CheckClass, not_assessed
from sillway.fit.cite import assumed_range, cite
from sillway.fit.judge import judge
from sillway.fit.known import Basis, Known
from sillway.records.measure import Measure
from sillway.records.rider import Home, Rider
from sillway.records.van import Van
from sillway.units import show_length

BUYER = "buyer"
PRACTICE, YARDSTICK = CheckClass.PRACTICE, CheckClass.YARDSTICK


def ramp_run_mm(length_mm: float, rise_mm: float) -> float:
    """How far a ramp reaches along level ground; nothing if it is shorter than its rise.

    >>> round(ramp_run_mm(48.66210 * 25.4, 8 * 25.4) / 25.4, 3)
    48.0
    """
    return math.sqrt(max(length_mm * length_mm - rise_mm * rise_mm, 0.0))


class _Needs:
    """The measures of van and chair that home asks for."""

    def __init__(self, van: Van, rider: Rider, basis: Basis) -> None:
        self.ramp = basis.known("ramp.length", van.ramp.length)
        self.rise = basis.known("ramp.rise", van.ramp.rise)
        self.chair = basis.known("chair.length", rider.chair.length)
        self.length = basis.known("outside.length", van.outside.length)
        self.width = basis.known("outside.width", van.outside.width)
        self.height = basis.known("outside.height", van.outside.height)

    @property
    def out(self) -> tuple[Known, Known, Known]:
        """What lies beyond the sill with the ramp out and the chair before it."""
        return self.ramp, self.rise, self.chair


def beyond_mm(ramp: float, rise: float, chair: float) -> float:
    """Room taken beyond the sill by the ramp and a chair standing before its foot."""
    return ramp_run_mm(ramp, rise) + chair


def home_checks(van: Van, rider: Rider, basis: Basis) -> tuple[Check, ...]:
    """Garage, bay and the room behind, as far as they were measured."""
    home, needs = rider.home, _Needs(van, rider, basis)
    rear = van.conversion.entry == "rear"
    out: list[Check] = []
    out += _height(home, needs, basis)
    out += _garage(home, needs, rear, basis)
    out += _bay(home, needs, rear, basis)
    out += _behind(home, needs, rear, basis)
    out += _published(needs, rear, basis)
    if not any((home.garage_height, home.garage_depth, home.bay_width, home.room_behind)):
        out.append(
            not_assessed(
                "home", "Can the van be kept and boarded at home?", YARDSTICK,
                measures=["home.garage_height", "home.garage_depth", "home.bay_width"],
                needed="the home's measures", source=cite(basis, "home.garage.height"), who=BUYER,
            )
        )  # fmt: skip
    return tuple(out)


def _known(basis: Basis, name: str, measure: Measure) -> Known:
    return basis.known(f"home.{name}", measure)


def _check(
    tail: str,
    question: str,
    check_class: CheckClass,
    room: Known,
    taken: Sequence[Known],
    of: str,
    basis: Basis,
    *rule_ids: str,
) -> Check:
    """Room less what is taken; ``of`` tells how: ``sum``, or ``ramp`` with the ramp out."""

    def need(*values: float) -> float:
        if of == "sum":
            return sum(values)
        *others, ramp, rise, chair = values
        return sum(others) + beyond_mm(ramp, rise, chair)

    nominal = need(*(k.mid for k in taken))
    return judge(
        f"home.{tail}", question, check_class, lambda r, *v: r - need(*v), [room, *taken], "mm",
        needed=show_length(nominal), measured=show_length(room.mid),
        source=cite(basis, *rule_ids), who=BUYER,
    )  # fmt: skip


def _height(home: Home, needs: _Needs, basis: Basis) -> list[Check]:
    if home.garage_height is None:
        return []
    room = _known(basis, "garage_height", home.garage_height)
    rack = assumed_range(basis, "what stands on the roof", "assumed.roof.rack", "mm")
    spare = basis.number("home.garage.spare")
    return [
        _check("garage.height", "Does the van pass under the garage door?", PRACTICE, room,
               (needs.height,), "sum", basis, "home.garage.height"),
        judge(
            "home.garage.spare", "Is there air left over the roof, with what may stand on it?",
            YARDSTICK, lambda r, h, on_top: r - h - on_top - spare, [room, needs.height, rack],
            "mm", needed=f"{show_length(spare)} of air",
            measured=show_length(room.mid - needs.height.mid),
            source=cite(basis, "home.garage.spare", "assumed.roof.rack"), who=BUYER,
        ),
    ]  # fmt: skip


def _garage(home: Home, needs: _Needs, rear: bool, basis: Basis) -> list[Check]:
    out = []
    for name, measure, van_size, along in (
        ("depth", home.garage_depth, needs.length, rear),
        ("width", home.garage_width, needs.width, not rear),
    ):
        if measure is None:
            continue
        room = _known(basis, f"garage_{name}", measure)
        out.append(
            _check(f"garage.{name}", f"Does the van stand in the garage by its {name}?", PRACTICE,
                   room, (van_size,), "sum", basis, "home.garage.depth")
        )  # fmt: skip
        if along:
            out.append(
                _check("garage.boarding", "Is there room in the garage to board with the ramp out?",
                       PRACTICE, room, (van_size, *needs.out), "ramp", basis, "home.garage.depth")
            )  # fmt: skip
    return out


def _bay(home: Home, needs: _Needs, rear: bool, basis: Basis) -> list[Check]:
    if home.bay_width is None:
        return []
    bay = _known(basis, "bay_width", home.bay_width)
    out = [
        _check("bay", "Does the van stand in its bay?", PRACTICE, bay, (needs.width,), "sum",
               basis, "home.bay.width")
    ]  # fmt: skip
    if not rear:
        aisle = home.aisle_width and _known(basis, "aisle_width", home.aisle_width)
        both = bay
        if aisle:
            both = Known(
                "home.bay_width + aisle_width", bay.low + aisle.low, bay.high + aisle.high, "mm",
                bay.way, f"{bay.typed} + {aisle.typed}",
            )  # fmt: skip
        out.append(
            _check("bay.boarding", "Is there room beside the van for the ramp and the chair?",
                   PRACTICE, both, (needs.width, *needs.out), "ramp", basis, "home.bay.width")
        )  # fmt: skip
    return out


def _behind(home: Home, needs: _Needs, rear: bool, basis: Basis) -> list[Check]:
    if home.room_behind is None or not rear:
        return []
    room = _known(basis, "room_behind", home.room_behind)
    foot = basis.number("home.foot.room")
    return [
        _check("behind", "Is there room behind the van for the ramp and the chair?", PRACTICE,
               room, needs.out, "ramp", basis, "home.garage.depth"),
        judge(
            "home.behind.turn", "Is there room to turn beyond the foot of the ramp?", PRACTICE,
            lambda r, ramp, rise: r - ramp_run_mm(ramp, rise) - foot,
            [room, needs.ramp, needs.rise], "mm",
            needed=f"{show_length(foot)} beyond the foot",
            measured=show_length(room.mid - ramp_run_mm(needs.ramp.mid, needs.rise.mid)),
            source=cite(basis, "home.foot.room", "space.turn.circle"), who=BUYER,
        ),
    ]  # fmt: skip


def _published(needs: _Needs, rear: bool, basis: Basis) -> list[Check]:
    """How van and ramp go with public parking spaces as the ADA Standards draw them."""
    height = basis.number("park.height")
    out = [
        judge(
            "home.park.height", "Does the van pass where public van spaces let it?", YARDSTICK,
            lambda h: height - h, [needs.height], "mm", needed=f"under {show_length(height)}",
            measured=show_length(needs.height.mid), source=cite(basis, "park.height"), who=BUYER,
        )
    ]  # fmt: skip
    if rear:
        return out
    for tail, space_id, aisle_id in (
        ("wide_space", "park.van.width", "park.aisle.width"),
        ("wide_aisle", "park.van.width.wide_aisle", "park.aisle.width.wide"),
    ):
        room = basis.number(space_id) + basis.number(aisle_id)
        out.append(
            judge(
                f"home.park.{tail}", "Do ramp and chair find room in a public van space?",
                YARDSTICK, lambda w, *v, room=room: room - w - beyond_mm(*v),
                [needs.width, *needs.out], "mm",
                needed=show_length(needs.width.mid + beyond_mm(*(k.mid for k in needs.out))),
                measured=f"{show_length(room)}, space and aisle",
                source=cite(basis, space_id, aisle_id), who=BUYER,
                note="The van at the far edge of its space.",
            )
        )  # fmt: skip
    return out
