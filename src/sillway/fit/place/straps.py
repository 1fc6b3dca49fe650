"""How the straps run: their rise in side view, their spread in plan, their reach."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sillway import rules
from sillway.fit.check import Check, CheckClass, not_assessed, yes_no
from sillway.fit.cite import cite, degrees
from sillway.fit.drive.scene import Pose
from sillway.fit.judge import Sum, judge, judge_all
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
    half: Known

    @property
    def run(self) -> Sum:
        """Level distance from anchor to point along the chair, positive on the right side."""
        anchor, point = (self.seen.along, self.point.axle), (self.point.from_wall,)
        if self.end == FRONT:
            return Sum("run", anchor, point)
        return Sum("run", point, anchor)

    @property
    def height(self) -> Sum:
        """How far the point is above the anchor."""
        return Sum("height", (self.point.up,), (self.seen.up,))

    @property
    def outward(self) -> Sum:
        """How far the anchor is wider than the point."""
        across = self.seen.across
        if self.side == LEFT:
            return Sum("outward", (across,), (self.half,))
        return Sum("outward", (), (across, self.half))

    def rise_span(self) -> tuple[float, float]:
        """Least and largest angle above the horizontal. [deg]"""
        return _span(rise_of, self.run.known(), self.height.known())

    def spread_span(self) -> tuple[float, float]:
        """Least and largest angle off straight in plan, positive to the outside. [deg]"""
        return _span(plan_deg, self.outward.known(), self.run.known())


def rise_of(run: float, height: float) -> float:
    """Angle above the horizontal in side view. [deg]"""
    return rise_deg(height, 0.0, run)


def _span(of: Callable[[float, float], float], a: Known, b: Known) -> tuple[float, float]:
    values = [of(x, y) for x in (a.low, a.high) for y in (b.low, b.high)]
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
    half = Known(apart.name, apart.low / 2, apart.high / 2, "mm", apart.way, apart.typed)
    return Strap(end, side, seen, pair_on_chair(basis, chair, name, pair), half)


def _how_good(basis: Basis, strap: Strap) -> float:
    low, high = degrees(basis, f"strap.angle.{strap.end}")
    rise = rise_of(strap.run.known().mid, strap.height.known().mid)
    return min(rise - low, high - rise)


def rise_check(
    basis: Basis, strap: Strap, rule_id: str, check_class: CheckClass, tail: str
) -> Check:
    """Whether the strap rises within a window of angles, in side view."""
    low, high = degrees(basis, rule_id)
    nominal = rise_of(strap.run.known().mid, strap.height.known().mid)
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.{tail}",
        f"Does the {strap.end} strap on the {strap.side} rise at a good angle?",
        check_class,
        [lambda *a: rise_of(*a) - low, lambda *a: high - rise_of(*a)],
        (strap.run, strap.height), "deg",
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
    nominal = plan_deg(strap.outward.known().mid, strap.run.known().mid)
    wanted = (
        f"{low:g} to {high:g} deg to the outside" if strap.end == FRONT
        else f"within {high:g} deg of straight behind"
    )  # fmt: skip
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.spread",
        f"Does the {strap.end} strap on the {strap.side} run well, seen from above?",
        CheckClass.PRACTICE,
        [lambda *a: plan_deg(*a) - low, lambda *a: high - plan_deg(*a)],
        (strap.outward, strap.run), "deg", needed=wanted, measured=f"{nominal:.1f} deg",
        source=cite(basis, rule_id), who=INSTALLER,
    )  # fmt: skip


def reach_check(basis: Basis, strap: Strap) -> Check:
    """Whether the anchor is on the right side of the point, within a strap's length."""
    low, high = rules.interval("strap.reach", basis.on)
    used = (strap.run, strap.height, strap.outward)
    nominal = math.hypot(*(u.known().mid for u in used))
    return judge_all(
        f"place.strap.{strap.end}.{strap.side}.reach",
        f"Is the {strap.end} anchor on the {strap.side} "
        f"{'ahead of' if strap.end == FRONT else 'behind'} the point, and within reach?",
        CheckClass.PRACTICE,
        [
            lambda run, height, outward: run,
            # Seen from the side it is not longer than it is, and monotone in each measure.
            lambda run, height, outward: math.hypot(max(run, 0.0), max(height, 0.0)) - low,
            lambda run, height, outward: high - math.hypot(run, height, outward),
        ],
        used, "mm",
        needed=f"a strap of {show_length(low)} to {show_length(high)}, pulling away from the chair",
        measured=show_length(nominal), source=cite(basis, "strap.reach"), who=SET_MAKER,
    )  # fmt: skip


def point_check(basis: Basis, end: str, pair: SecurementPoint) -> Check:
    """Whether the points of the chair are not below the least height."""
    low = basis.number("strap.point.low")
    known = basis.known(f"chair.securement.{end}_points.height", pair.height)
    return judge(
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
