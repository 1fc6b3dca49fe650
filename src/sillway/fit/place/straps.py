"""How the straps run: their rise in side view, their spread in plan, their reach."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sillway import rules
from sillway.fit.check import Check, CheckClass, not_assessed, yes_no
from sillway.fit.cite import cite, degrees
from sillway.fit.drive.scene import Pose
from sillway.fit.known import Basis, Known
from sillway.fit.place.points import (
    LEFT,
    RIGHT,
    OnChair,
    Seen,
    chosen,
    pair_on_chair,
    plan_deg,
    rise_deg,
    seen_from,
)
from sillway.fit.window import judge_all, judge_one
from sillway.records.rider import Chair, SecurementPoint
from sillway.records.van import Place, Van
from sillway.units import show_length

INSTALLER = "qualified installer"
CHAIR_MAKER = "chair maker"
SET_MAKER = "maker of the strap set"
FRONT, REAR = "front", "rear"


@dataclass(frozen=True, slots=True)
class Strap:
    """One strap: from an anchor to a point of the chair."""

    end: str
    side: str
    seen: Seen
    point: OnChair
    apart: Known

    @property
    def used(self) -> tuple[Known, ...]:
        """The measures its angle in side view rests on."""
        p = self.point
        return (self.seen.along, self.seen.up, p.from_wall, p.axle, p.up)

    def run_mm(self, along: float, from_wall: float, axle: float) -> float:
        """Horizontal distance from anchor to point, positive on the right side of the point."""
        ahead = along - (from_wall - axle)
        return ahead if self.end == FRONT else -ahead

    def rise(self, along: float, down: float, from_wall: float, axle: float, up: float) -> float:
        """Its angle above the horizontal in side view. [deg]"""
        return rise_deg(up, down, self.run_mm(along, from_wall, axle))

    def spread(
        self, along: float, across: float, from_wall: float, axle: float, apart: float
    ) -> float:
        """Its angle off straight in plan, positive when the anchor is wider than the point."""
        outward = (across if self.side == LEFT else -across) - apart / 2
        return plan_deg(outward, self.run_mm(along, from_wall, axle))

    @property
    def spread_used(self) -> tuple[Known, ...]:
        """The measures its angle in plan rests on."""
        p = self.point
        return (self.seen.along, self.seen.across, p.from_wall, p.axle, self.apart)

    def span(self, of: str) -> tuple[float, float]:
        """Ends of ``rise`` or ``spread`` over the corners of its measures. [deg]"""
        measure, used = (self.rise, self.used) if of == "rise" else (self.spread, self.spread_used)
        ends: list[list[float]] = [[]]
        for known in used:
            ends = [[*e, v] for e in ends for v in {known.low, known.high}]
        values = [measure(*e) for e in ends]
        return min(values), max(values)


def straps_of(van: Van, place: Place, chair: Chair, pose: Pose, basis: Basis) -> list[Strap]:
    """The strap taken at each corner of the chair: of all anchors there, the one whose rise sits
    best in its window."""
    out = []
    for end, ids, pair in (
        (FRONT, place.front_anchors, chair.securement.front_points),
        (REAR, place.rear_anchors, chair.securement.rear_points),
    ):
        if pair is None:
            continue
        anchors = [
            seen_from(basis, "strap_anchors", a, pose)
            for a in chosen(van.securement.strap_anchors, ids)
        ]
        for side in (LEFT, RIGHT):
            here = [
                _strap(basis, chair, end, side, seen, pair) for seen in anchors if seen.side == side
            ]
            if here:
                out.append(max(here, key=lambda s: _how_good(basis, s)))
    return out


def _strap(
    basis: Basis, chair: Chair, end: str, side: str, seen: Seen, pair: SecurementPoint
) -> Strap:
    name = f"{end}_points"
    apart = basis.known(f"chair.securement.{name}.apart", pair.apart)
    return Strap(end, side, seen, pair_on_chair(basis, chair, name, pair), apart)


def _how_good(basis: Basis, strap: Strap) -> float:
    low, high = degrees(basis, f"strap.angle.{strap.end}")
    rise = strap.rise(*(k.mid for k in strap.used))
    return min(rise - low, high - rise)


def rise_check(
    basis: Basis, strap: Strap, rule_id: str, check_class: CheckClass, tail: str
) -> Check:
    """Whether the strap rises within a window of angles, in side view."""
    low, high = degrees(basis, rule_id)
    nominal = strap.rise(*(k.mid for k in strap.used))
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.{tail}",
        f"Does the {strap.end} strap on the {strap.side} rise at a good angle?",
        check_class,
        [lambda *a: strap.rise(*a) - low, lambda *a: high - strap.rise(*a)],
        strap.used, "deg",
        needed=f"{low:g} to {high:g} deg above the horizontal",
        measured=f"{nominal:.1f} deg from anchor {strap.seen.anchor.id}",
        source=cite(basis, rule_id), who=INSTALLER,
    )  # fmt: skip


def spread_check(basis: Basis, strap: Strap) -> Check:
    """Whether front anchors are wider than the points, rear anchors straight behind them."""
    rule_id = f"strap.plan.{strap.end}"
    low, high = degrees(basis, rule_id)
    if strap.end == REAR:
        low = -high  # to either side
    nominal = strap.spread(*(k.mid for k in strap.spread_used))
    wanted = (
        f"{low:g} to {high:g} deg to the outside" if strap.end == FRONT
        else f"within {high:g} deg of straight behind"
    )  # fmt: skip
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.spread",
        f"Does the {strap.end} strap on the {strap.side} run well, seen from above?",
        CheckClass.PRACTICE,
        [lambda *a: strap.spread(*a) - low, lambda *a: high - strap.spread(*a)],
        strap.spread_used, "deg", needed=wanted, measured=f"{nominal:.1f} deg",
        source=cite(basis, rule_id), who=INSTALLER,
    )  # fmt: skip


def reach_check(basis: Basis, strap: Strap) -> Check:
    """Whether the anchor is on the right side of the point, within a strap's length."""
    low, high = rules.interval("strap.reach", basis.on)
    used = (*strap.used, strap.seen.across, strap.apart)

    def length(
        along: float, down: float, from_wall: float, axle: float, up: float,
        across: float, apart: float,
    ) -> float:  # fmt: skip
        outward = (across if strap.side == LEFT else -across) - apart / 2
        return math.hypot(strap.run_mm(along, from_wall, axle), outward, up - down)

    nominal = length(*(k.mid for k in used))
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.reach",
        f"Is the {strap.end} anchor on the {strap.side} "
        f"{'ahead of' if strap.end == FRONT else 'behind'} the point, and within reach?",
        CheckClass.PRACTICE,
        [
            lambda *a: strap.run_mm(a[0], a[2], a[3]),
            # Seen from the side it is not longer than it is, and monotone in each measure.
            lambda *a: math.hypot(max(strap.run_mm(a[0], a[2], a[3]), 0), max(a[4] - a[1], 0))
            - low,
            lambda *a: high - length(*a),
        ],
        used, "mm",
        needed=f"a strap of {show_length(low)} to {show_length(high)}, pulling away from the chair",
        measured=show_length(nominal), source=cite(basis, "strap.reach"), who=SET_MAKER,
    )  # fmt: skip


def point_check(basis: Basis, end: str, pair: SecurementPoint) -> Check:
    """Whether the points of the chair are not below the least height."""
    low = basis.number("strap.point.low")
    known = basis.known(f"chair.securement.{end}_points.height", pair.height)
    return judge_one(
        f"place.strap.{end}.point", f"Are the {end} points high enough above the floor?",
        CheckClass.PRACTICE, lambda up: up - low, [known], "mm",
        needed=f"{show_length(low)} or more", measured=show_length(known.mid),
        source=cite(basis, "strap.point.low"), who=CHAIR_MAKER,
    )  # fmt: skip


def course_checks(chair: Chair, held: Sequence[Strap], basis: Basis) -> tuple[Check, ...]:
    """How every strap runs: rise, spread, reach, and the height of its point."""
    out: list[Check] = []
    for end, pair in (
        (FRONT, chair.securement.front_points),
        (REAR, chair.securement.rear_points),
    ):
        if pair is None:
            out.append(
                not_assessed(
                    f"place.strap.{end}", f"Do the {end} straps rise at a good angle?",
                    CheckClass.PRACTICE, measures=[f"chair.securement.{end}_points"],
                    needed=f"two marked {end} points",
                    source=cite(basis, f"strap.angle.{end}"), who=CHAIR_MAKER,
                )
            )  # fmt: skip
            continue
        out.append(point_check(basis, end, pair))
        for side in (LEFT, RIGHT):
            here = [s for s in held if s.end == end and s.side == side]
            if not here:
                out.append(_no_anchor(basis, end, side))
                continue
            strap = here[0]
            out.append(rise_check(basis, strap, f"strap.angle.{end}", CheckClass.PRACTICE, "angle"))
            if end == FRONT:
                better = "strap.angle.front.better"
                out.append(rise_check(basis, strap, better, CheckClass.YARDSTICK, "better"))
            out += [spread_check(basis, strap), reach_check(basis, strap)]
    return tuple(out)


def _no_anchor(basis: Basis, end: str, side: str) -> Check:
    return yes_no(
        f"place.strap.{end}.{side}.anchor", f"Is there a {end} anchor on the {side}?",
        CheckClass.PRACTICE, False, needed="one on each side", measured="none in this place",
        source=cite(basis, "strap.count"), who=INSTALLER,
    )  # fmt: skip
