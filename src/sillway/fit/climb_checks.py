"""Checks of the way up the ramp: width, load, slope, and the climb in side view."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sillway import rules
from sillway.fit import ramp
from sillway.fit.body import Sitting
from sillway.fit.cabin import Entry
from sillway.fit.check import (
    Check,
    CheckClass,
    Finding,
    Margin,
    Settle,
)
from sillway.fit.cite import cite
from sillway.fit.climb import Slope, facing_of, rise_of, side_body, slope_of
from sillway.fit.judge import check_of, judge
from sillway.fit.known import Basis, Known
from sillway.fit.load import aboard_at_sill_kg
from sillway.fit.result import SideView
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.units import show_force, show_length, show_mass, show_slope

PHYSICAL, RATING = CheckClass.PHYSICAL, CheckClass.RATING
PRACTICE, YARDSTICK = CheckClass.PRACTICE, CheckClass.YARDSTICK
# The part of the side view between the wheels (climb.side_body).
_FRAME = "frame"
_HELPER = "whoever pushes or guides the chair"
# How far either side of the ramp the side view is drawn. [mm]
_DRAWN_MM = 1200.0


@dataclass(frozen=True, slots=True)
class Climbed:
    """One posture and direction up the ramp."""

    sitting: Sitting
    direction: str
    checks: tuple[Check, ...]
    views: tuple[SideView, ...]


def ramp_checks(basis: Basis, van: Van, rider: Rider, sittings: Sequence[Sitting]) -> list[Check]:
    """What does not depend on posture or direction: width, load, slope, edges."""
    out = [_width(basis, van, sittings[0]), _load(basis, van, rider)]
    out += _slopes(basis, van, rider)
    out += _yardsticks(basis, van)
    return out


def _width(basis: Basis, van: Van, sitting: Sitting) -> Check:
    hinge = basis.known("ramp.width_at_hinge", van.ramp.width_at_hinge)
    foot = hinge
    if van.ramp.width_at_foot is not None:
        foot = basis.known("ramp.width_at_foot", van.ramp.width_at_foot)
    narrow = min((hinge, foot), key=lambda k: k.low)
    lowest = min(sitting.layers, key=lambda layer: layer.bottom.value)
    wide = basis.known(f"chair.layers[{lowest.name}].width", lowest.width)
    return judge(
        "ramp.width", "Is the ramp wider than the chair at its wheels, hinge to foot?", PHYSICAL,
        lambda r, c: r - c, (narrow, wide), "mm",
        needed=show_length(wide.mid), measured=f"{show_length(narrow.mid)} ({narrow.name})",
        source=cite(basis, "physics.track"),
    )  # fmt: skip


def _load(basis: Basis, van: Van, rider: Rider) -> Check:
    rated = basis.known_or("ramp.rated_load", van.ramp.rated_load, "assumed.ramp.rating", "kg")
    on_it = aboard_at_sill_kg(rider, basis)
    used = [rated, on_it]
    helper = None
    if rider.chair.pushed_by_helper or rider.chair.drive in ("manual", "stretcher"):
        helper = basis.assumed("helper on the ramp", "assumed.attendant.mass", "kg")
        used.append(helper)
    return judge(
        "ramp.load", "Does the ramp carry chair and rider, and a helper where one pushes?", RATING,
        lambda r, *m: r - sum(m), used, "kg",
        needed=show_mass(sum(k.high for k in used[1:])), measured=show_mass(rated.low),
        source=cite(basis, "ramp.load.rated"),
    )  # fmt: skip


def _slope_rad(rise: float, length: float) -> float:
    return math.asin(min(max(rise / length, 0.0), 1.0))


def _slopes(basis: Basis, van: Van, rider: Rider) -> list[Check]:
    length = basis.known("ramp.length", van.ramp.length)
    rise = rise_of(basis, van, rider)
    slope = show_slope(_slope_rad(rise.mid, length.mid))
    out = []
    for rule_id, says in (
        ("ramp.slope.road", "a new public vehicle's ramp to the road"),
        ("ramp.slope.ground", "an older public vehicle's ramp to the ground"),
        ("ramp.slope.building", "a building's ramp"),
    ):
        limit = rules.number(rule_id, basis.on)
        out.append(judge(
            rule_id, f"Is the ramp on level ground no steeper than {says}?", YARDSTICK,
            lambda r, le, limit=limit: math.degrees(limit - _slope_rad(r, le)), (rise, length),
            "deg", needed=f"at most {show_slope(limit)}", measured=slope,
            source=cite(basis, rule_id),
        ))  # fmt: skip
    out += _push(basis, rider, rise, length)
    return out


def _push(basis: Basis, rider: Rider, rise: Known, length: Known) -> list[Check]:
    mass = aboard_at_sill_kg(rider, basis)
    rolling = basis.assumed("rolling resistance", "assumed.rolling", "ratio")
    pushed = rider.chair.pushed_by_helper or rider.chair.drive in ("manual", "stretcher")
    limit = rules.number("push.keep.men", basis.on)
    most = ramp.push_force_n(mass.high, _slope_rad(rise.high, length.low), rolling.high)
    hold = ramp.hold_force_n(mass.high, _slope_rad(rise.high, length.low), rolling.low)
    return [judge(
        "ramp.push", "Can one person push the chair up without straining?",
        PRACTICE if pushed else YARDSTICK,
        lambda m, r, le, mu: limit - ramp.push_force_n(m, _slope_rad(r, le), mu),
        (mass, rise, length, rolling), "N",
        needed=f"at most {show_force(limit)} to keep moving",
        measured=f"up to {show_force(most)} up, {show_force(hold)} to hold it going down",
        source=cite(basis, "push.force", "push.keep.men"), who=_HELPER,
    )]  # fmt: skip


def _yardsticks(basis: Basis, van: Van) -> list[Check]:
    hinge = basis.known("ramp.width_at_hinge", van.ramp.width_at_hinge)
    foot = van.ramp.width_at_foot
    width = hinge if foot is None else basis.known("ramp.width_at_foot", foot)
    wanted = [("ramp.width.clear", "as wide as a public vehicle's", width, 1)]
    if van.ramp.edge_height is not None:
        edge = basis.known("ramp.edge_height", van.ramp.edge_height)
        wanted.append(("ramp.edge.height", "edged as high as a public vehicle's", edge, 1))
    if van.ramp.sill_gap is not None:
        gap = basis.known("ramp.sill_gap", van.ramp.sill_gap)
        wanted.append(("ramp.gap", "no further from the floor than a public vehicle's", gap, -1))
    out = []
    for rule_id, says, known, sign in wanted:
        limit = rules.number(rule_id, basis.on)
        out.append(judge(
            f"{rule_id}.published", f"Is the ramp {says}?", YARDSTICK,
            lambda v, limit=limit, sign=sign: sign * (v - limit), (known,), "mm",
            needed=f"{'at least' if sign > 0 else 'at most'} {show_length(limit)}",
            measured=show_length(known.mid), source=cite(basis, rule_id),
        ))  # fmt: skip
    height = basis.known("door.height", van.door.height)
    short = basis.known("outside.length", van.outside.length).high <= rules.number(
        "door.height.short.upto", basis.on
    )
    rule_id = "door.height.short" if short else "door.height.long"
    limit = rules.number(rule_id, basis.on)
    out.append(judge(
        rule_id, "Is the doorway as high as a public vehicle's of this length?", YARDSTICK,
        lambda v: v - limit, (height,), "mm", needed=f"at least {show_length(limit)}",
        measured=show_length(height.mid), source=cite(basis, rule_id),
    ))  # fmt: skip
    return out


def climb_checks(
    basis: Basis,
    van: Van,
    entry: Entry,
    rider: Rider,
    sitting: Sitting,
    direction: str,
    until_mm: float,
    driveway: Known | None = None,
) -> Climbed:
    """The climb of one posture in one direction: header, belly, foot, tipping.

    Args:
        until_mm: how far past the sill the drive axle goes.
        driveway: slope of the ground, if it is not level; the checks are then about home only.
    """
    slope = slope_of(basis, van, entry, rider, driveway)
    body, chair_used = side_body(basis, rider, sitting)
    climbed = ramp.climb_interval(
        body, slope.profile, slope.overhead, facing_of(direction), until_mm
    )
    used = tuple({k.name: k for k in (*slope.used, *chair_used)}.values())
    decides = PHYSICAL if driveway is None else PRACTICE
    prefix = "ramp" if driveway is None else "home.ramp"
    where = "on level ground" if driveway is None else "on the driveway at home"
    told = (
        ("header", f"Does the rider clear the header and the ceiling on the climb {where}?",
         climbed.header, "physics.header"),
        ("belly", f"Does the chair's underside clear the crest of the ramp {where}?",
         climbed.belly, "physics.belly"),
        ("foot", f"Do footplates and anti-tippers clear the ramp's foot {where}?",
         climbed.foot, "physics.foot"),
    )  # fmt: skip
    checks, views = [], []
    for name, question, margin, rule_id in told:
        check = _gap(basis, f"{prefix}.{name}", question, decides, margin, used, rule_id)
        checks.append(check)
        if margin.pose is not None and driveway is None:
            views.append(_view(slope, body, margin, check))
    checks.append(_tip(basis, prefix, decides, climbed, used, where))
    checks += _tip_practice(basis, prefix, climbed, used, where)
    checks += _unloaded(basis, prefix, climbed, where)
    return Climbed(sitting, direction, tuple(checks), tuple(views))


def _ranked(used: Sequence[Known], part: str = "") -> list[Known]:
    """The measures of the part that comes near first, then assumed ones, then the loosest."""
    loose = [k for k in used if k.half_width > 0]
    near = "chair.ground_clearance" if part == _FRAME else f"[{part}]"
    heights = ("bottom", "clearance", "top", "height")

    def key(k: Known) -> tuple[bool, bool, bool, float]:
        is_height = k.name.endswith(heights)
        return (not (part and near in k.name), not is_height, not k.assumed, -k.half_width)

    return sorted(loose, key=key)


def _gap(
    basis: Basis, check_id: str, question: str, decides: CheckClass, gap: ramp.Margin,
    used: tuple[Known, ...], rule_id: str,
) -> Check:  # fmt: skip
    if gap.pose is None and math.isinf(gap.lower) and gap.lower > 0:
        return Check(
            check_id, question, decides, Finding.HOLDS, None, "a gap", "nothing comes near", used,
            cite(basis, rule_id),
        )  # fmt: skip
    margin = Margin(_finite(gap.lower), _finite(gap.upper), "mm")
    least = show_length(margin.worst) if math.isfinite(gap.lower) else "no bound"
    measured = f"{least} to {show_length(margin.best)}"
    if gap.part:
        measured += f", {gap.part} to {gap.against}"
    return check_of(
        check_id, question, decides, margin, _ranked(used, gap.part), used,
        needed="a gap of more than nothing", measured=measured, source=cite(basis, rule_id),
    )  # fmt: skip


# What an unbounded end of a margin is told as: no part of a van or chair is this far off. [mm]
_UNBOUNDED_MM = 9999.0


def _finite(value: float) -> float:
    return min(max(value, -_UNBOUNDED_MM), _UNBOUNDED_MM)


def _degrees(margin: ramp.Margin) -> Margin:
    lower, upper = (
        math.degrees(min(max(v, -math.pi), math.pi)) for v in (margin.lower, margin.upper)
    )
    return Margin(lower, upper, "deg")


def _tip(
    basis: Basis, prefix: str, decides: CheckClass, climbed: ramp.Climb, used: tuple[Known, ...],
    where: str,
) -> Check:  # fmt: skip
    both = (_degrees(climbed.tip_guarded), _degrees(climbed.tip_ahead))
    margin = Margin(min(m.worst for m in both), min(m.best for m in both), "deg")
    mass = [k for k in used if "mass_centre" in k.name]
    ranked = [*mass, *_ranked([k for k in used if k not in mass])]
    return check_of(
        f"{prefix}.tip", f"Does the chair stay upright on the climb {where}?", decides, margin,
        ranked, used, needed="some angle left",
        measured=f"{margin.worst:.1f} to {margin.best:.1f} deg left",
        source=cite(basis, "stability.tip"),
        note="Over the last wheel or anti-tipper downhill; at rest, without a jerk.",
    )  # fmt: skip


def _tip_practice(
    basis: Basis, prefix: str, climbed: ramp.Climb, used: tuple[Known, ...], where: str
) -> list[Check]:
    low = math.degrees(rules.number("stability.margin.low", basis.on))
    left = _degrees(climbed.tip)
    margin = Margin(left.worst - low, left.best - low, "deg")
    return [check_of(
        f"{prefix}.tip.spare", f"Does the chair keep spare stability over its wheels {where}?",
        PRACTICE, margin, _ranked(used), used,
        needed=f"{low:.0f} deg before the front wheels grow light",
        measured=f"{left.worst:.1f} to {left.best:.1f} deg",
        source=cite(basis, "stability.margin.low"),
        who="an attendant behind, or the chair's maker (anti-tippers)",
    )]  # fmt: skip


def _unloaded(basis: Basis, prefix: str, climbed: ramp.Climb, where: str) -> list[Check]:
    if not climbed.drive_light_mm:
        return []
    says = "drive wheels hang with the axle " + ", ".join(
        f"{-b:.0f} to {-a:.0f} mm before the sill" for a, b in climbed.drive_light_mm[:3]
    )
    return [Check(
        f"{prefix}.grip", f"Do the drive wheels keep their load all the way {where}?", PRACTICE,
        Finding.FAILS, None, "drive wheels on the way", says, (),
        cite(basis, "physics.grip"), (Settle("ramp trial", "try the climb with the chair"),),
        "a trial with the chair, an attendant behind",
    )]  # fmt: skip


def _view(slope: Slope, body: ramp.SideBody, margin: ramp.Margin, check: Check) -> SideView:
    """The moment at which a margin is smallest."""
    pose = margin.pose
    assert pose is not None
    segments = slope.profile.segments
    far = slope.profile.foot_x_mm - _DRAWN_MM
    points = [(max(segments[0].x0, far), segments[0].z0), (slope.profile.foot_x_mm, segments[0].z1)]
    for segment in segments[1:]:
        points += [(segment.x0, segment.z0), (min(segment.x1, 2 * _DRAWN_MM), segment.z1)]
    overhead = tuple(
        ((b.x0_mm.value, b.z_mm.value), (min(b.x1_mm.value, 2 * _DRAWN_MM), b.z_mm.value))
        for b in slope.overhead.bars
        if b.x0_mm.value < 2 * _DRAWN_MM
    )
    outlines = tuple(
        tuple(pose.place(x, z) for x, z in part.polygon)
        for part in body.parts
        if part.name != _FRAME
    )
    wheels = tuple(
        (*pose.place(c.x_mm.value, c.clearance_mm.value + c.radius_mm.value), c.radius_mm.value)
        for c in body.contacts
    )
    worst = check.margin.worst if check.margin else None
    return SideView(
        check.question, tuple(points), overhead, outlines, wheels, None, worst, check.id
    )
