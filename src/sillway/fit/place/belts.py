"""Lap and shoulder belt: where they are anchored beside where hip and shoulder are."""

from __future__ import annotations

from sillway.fit.check import Check, CheckClass, yes_no
from sillway.fit.cite import cite, degrees
from sillway.fit.drive.scene import Pose
from sillway.fit.judge import Sum, judge, judge_all
from sillway.fit.known import Basis
from sillway.fit.place.person import shoulder_height
from sillway.fit.place.points import OnChair, Seen, chosen, on_chair, seen_from
from sillway.fit.place.straps import INSTALLER, rise_of
from sillway.records.rider import Body, Chair, Layer
from sillway.records.van import Place, Van
from sillway.units import show_length

WHO = "seating clinician and qualified installer"


def hip_of(basis: Basis, chair: Chair, body: Body) -> OnChair:
    """The hip joint: measured, else where any rider's may be."""
    from_wall = basis.known_or("body.hip_from_wall", body.hip_from_wall, "assumed.hip.from_wall")
    height = basis.known_or("body.hip_height", body.hip_height, "assumed.hip.height")
    return on_chair(basis, chair, "body.hip", from_wall, height)


def lap_check(
    basis: Basis, seen: Seen, hip: OnChair, rule_id: str, check_class: CheckClass, tail: str
) -> Check:
    """Whether the lap belt runs down and back from the hip within a window of angles."""
    low, high = degrees(basis, rule_id)
    run = Sum("run", (hip.from_wall,), (hip.axle, seen.along))
    height = Sum("height", (hip.up,), (seen.up,))
    nominal = rise_of(run.known().mid, height.known().mid)
    return judge_all(
        f"place.belt.lap.{seen.side}.{tail}",
        f"Does the lap belt run at a good angle to its anchor on the {seen.side}?", check_class,
        [lambda *a: rise_of(*a) - low, lambda *a: high - rise_of(*a)], (run, height), "deg",
        needed=f"{low:g} to {high:g} deg from the horizontal, down and back from the hip",
        measured=f"{nominal:.1f} deg to anchor {seen.anchor.id}", source=cite(basis, rule_id),
        who=WHO,
    )  # fmt: skip


def shoulder_check(
    van: Van, place: Place, chair: Chair, body: Body, layers: tuple[Layer, ...], basis: Basis
) -> Check:
    """Whether the upper belt anchor is at or above the shoulder."""
    question = "Is the upper anchor of the shoulder belt at or above the shoulder?"
    source = cite(basis, "belt.shoulder.anchor")
    ids = [place.shoulder_anchor] if place.shoulder_anchor else []
    anchors = chosen(van.securement.belt_anchors, ids)
    if not anchors:
        return yes_no(
            "place.belt.shoulder", question, CheckClass.PRACTICE, False,
            needed="an upper anchor for a shoulder belt", measured="none in this place",
            source=f"{source}; {cite(basis, 'belt.instead')}", who=INSTALLER,
        )  # fmt: skip
    shoulder = shoulder_height(basis, body, layers)
    path = f"securement.belt_anchors[{anchors[0].id}].z"
    if anchors[0].z is None:
        return yes_no(
            "place.belt.shoulder", question, CheckClass.PRACTICE, None,
            needed=f"at or above {show_length(shoulder.mid)}", measured="not measured",
            source=source, measures=[path], who=WHO,
        )  # fmt: skip
    up = basis.known(path, anchors[0].z)
    return judge(
        "place.belt.shoulder", question, CheckClass.PRACTICE, lambda z, s: z - s, [up, shoulder],
        "mm", needed=f"at or above {show_length(shoulder.mid)}", measured=show_length(up.mid),
        source=source, who=WHO,
    )  # fmt: skip


def belt_checks(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    layers: tuple[Layer, ...],
    pose: Pose,
    basis: Basis,
) -> tuple[Check, ...]:
    """Lap belt on both sides and the shoulder belt."""
    hip = hip_of(basis, chair, body)
    anchors = chosen(van.securement.belt_anchors, place.lap_anchors)
    # A lap belt may also be hooked to the rear straps' anchors.
    kind = "belt_anchors"
    if not anchors:
        anchors = chosen(van.securement.strap_anchors, place.lap_anchors)
        kind = "strap_anchors"
    out: list[Check] = []
    seen = [seen_from(basis, kind, a, pose) for a in anchors]
    for side in ("left", "right"):
        here = [s for s in seen if s.side == side]
        if not here:
            out.append(
                yes_no(
                    f"place.belt.lap.{side}", f"Is there a lap belt anchor on the {side}?",
                    CheckClass.PRACTICE, False, needed="one on each side",
                    measured="none in this place", source=cite(basis, "belt.instead"),
                    who=INSTALLER,
                )
            )  # fmt: skip
            continue
        out.append(lap_check(basis, here[0], hip, "belt.lap.angle", CheckClass.PRACTICE, "angle"))
        better = "belt.lap.angle.better"
        out.append(lap_check(basis, here[0], hip, better, CheckClass.YARDSTICK, "better"))
    out.append(shoulder_check(van, place, chair, body, layers, basis))
    return tuple(out)


def has_shoulder_belt(van: Van, place: Place) -> bool:
    """Whether the place has an upper anchor on record."""
    ids = [place.shoulder_anchor] if place.shoulder_anchor else []
    return bool(chosen(van.securement.belt_anchors, ids))
