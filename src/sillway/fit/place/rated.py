"""How many straps, and what anchors and strap set are rated for."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sillway import rules
from sillway.fit.check import Check, CheckClass, not_assessed, yes_no
from sillway.fit.cite import assumed_range, cite, degrees
from sillway.fit.judge import judge
from sillway.fit.known import Basis, Known, exact
from sillway.fit.place.masses import chair_mass, on_chair_masses, rider_mass
from sillway.fit.place.points import chosen, total
from sillway.fit.place.straps import CHAIR_MAKER, INSTALLER, REAR, SET_MAKER, Strap
from sillway.records.measure import Way
from sillway.records.rider import Body, Chair, Equipment
from sillway.records.van import Anchor, Place, Van
from sillway.units import show_force, show_mass

# Past this rise the level part of the pull vanishes, and the pull with it has no bound. [deg]
_STEEP_DEG = 89.0


def strap_count(basis: Basis, chair: Chair) -> int:
    """How many straps this chair is held by: as in its own crash test, else the usual number."""
    told = chair.securement.straps_in_its_test
    usual = round(basis.number("strap.count"))
    return usual if told is None else max(told, usual)


def count_checks(van: Van, place: Place, chair: Chair, basis: Basis) -> tuple[Check, ...]:
    """Anchors at hand against straps needed, and whether a heavy chair's own number is known."""
    needed = strap_count(basis, chair)
    ids = [*place.front_anchors, *place.rear_anchors]
    at_hand = len({a.id for a in chosen(van.securement.strap_anchors, ids)})
    found = judge(
        "place.strap.count", "Are there anchors for all straps?", CheckClass.PRACTICE,
        lambda have: have - needed,
        [exact("anchors of the place", at_hand, "anchors")], "anchors",
        needed=f"{needed} anchors", measured=f"{at_hand} anchors",
        source=cite(basis, "strap.count"), who=INSTALLER,
    )  # fmt: skip
    mass = chair_mass(basis, chair)
    limit = basis.number("strap.count.mass")
    question = "Is it known how many straps this chair's own crash test used?"
    if chair.securement.straps_in_its_test is not None:
        own = yes_no(
            "place.strap.own_test", question, CheckClass.PRACTICE, True,
            needed=f"known above {show_mass(limit)}",
            measured=f"{chair.securement.straps_in_its_test} straps",
            source=cite(basis, "strap.count.mass"), who=CHAIR_MAKER,
        )  # fmt: skip
    else:
        own = judge(
            "place.strap.own_test", question, CheckClass.PRACTICE, lambda kg: limit - kg,
            [mass], "kg", needed=f"known for a chair above {show_mass(limit)}",
            measured=f"not known; the chair weighs {show_mass(mass.mid)}",
            source=cite(basis, "strap.count.mass"), who=CHAIR_MAKER,
        )  # fmt: skip
    return found, own


def tested_check(chair: Chair, basis: Basis) -> Check:
    """Whether the chair was built and tested as a seat in a vehicle."""
    tested = chair.securement.built_and_tested_as_vehicle_seat
    return yes_no(
        "place.chair_tested", "Is the chair built and tested as a seat in a vehicle?",
        CheckClass.PRACTICE, tested, needed="a label that says so, with marked points",
        measured="yes" if tested else "no", source=cite(basis, "place.chair.tested"),
        measures=("chair.securement.built_and_tested_as_vehicle_seat",),
        who="chair maker and seating clinician",
    )  # fmt: skip


def pull_n(
    chair_kg: float, more_kg: float, share: float, pulse_m_s2: float, straps: float,
    rise_d: float, spread_d: float,
) -> float:  # fmt: skip
    """Pull along one rear strap when the rear straps share a steady deceleration. [N]

    >>> round(pull_n(85.0, 0.0, 0.0, 20 * 9.80665, 2, 45.0, 0.0))
    11788
    """
    forward = math.cos(math.radians(rise_d)) * math.cos(math.radians(spread_d))
    return (chair_kg + share * more_kg) * pulse_m_s2 / (straps * forward)


def rating_check(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    straps: Sequence[Strap],
    basis: Basis,
    equipment: Sequence[Equipment] = (),
) -> Check:
    """Whether the rear anchors bear the chair through the deceleration tie-downs are tested with.

    The least of the rear anchors counts. The rider is added where the lap belt may be hooked to
    the same anchors. How much of the test's deceleration an anchor sees is an interval: below
    its lower end no published figure goes, above its upper end none asks.
    """
    question = "Are the rear anchors rated for what they have to hold?"
    ids = place.rear_anchors
    anchors = chosen(van.securement.strap_anchors, ids)
    source = cite(basis, "strap.rated", "place.strap.pulse")
    if not anchors:
        return not_assessed(
            "place.strap.rating", question, CheckClass.RATING, measures=["places.rear_anchors"],
            needed="rear anchors with a rating", source=source, who=INSTALLER,
        )  # fmt: skip
    taken = {s.seen.anchor.id: s for s in straps if s.end == REAR}
    if taken:
        anchors = [a for a in anchors if a.id in taken]
    rated = {a.id: _rating(basis, a) for a in anchors}
    masses = [chair_mass(basis, chair), *on_chair_masses(basis, equipment)]
    carried = total("chair.mass" if len(masses) == 1 else "chair and what hangs on it", masses)
    rider = rider_mass(basis, body)
    share = _rider_share(place)
    pulse = assumed_range(basis, "share of the test's deceleration", "place.strap.pulse", "m/s2")
    number = _rear_straps(place, chair, basis)
    checks = []
    for anchor in anchors:
        rise, spread = _angles(basis, taken.get(anchor.id), anchor.id)
        used = (rated[anchor.id], carried, rider, share, pulse, number, rise, spread)
        needed = [
            pull_n(carried.low, rider.low, share.low, pulse.low, number.high, rise.low, spread.low)
        ]
        needed.append(
            pull_n(
                carried.high, rider.high, share.high, pulse.high, number.low, rise.high, spread.high
            )
        )
        checks.append(
            judge(
                "place.strap.rating", question, CheckClass.RATING,
                lambda rating, *rest: rating - pull_n(*rest), used, "N",
                needed=f"{show_force(needed[0])} at the least, "
                f"{show_force(needed[1])} to be certain",
                measured=f"anchor {anchor.id}: {_shown(rated[anchor.id])}",
                source=source, who=SET_MAKER,
                note="A static reading of the published test; the set maker's own test of set and "
                "anchors with this chair mass decides.",
            )
        )  # fmt: skip
    return min(checks, key=lambda c: c.margin.worst if c.margin else 0.0)


def overloaded(
    van: Van,
    place: Place,
    chair: Chair,
    body: Body,
    basis: Basis,
    equipment: Sequence[Equipment] = (),
) -> bool:
    """Whether no rear anchor of the place bears the chair, however flat and straight its straps
    run: what `rating_check` fails by at one spot may hold at another."""
    anchors = chosen(van.securement.strap_anchors, place.rear_anchors)
    masses = [chair_mass(basis, chair), *on_chair_masses(basis, equipment)]
    pulse = assumed_range(basis, "share of the test's deceleration", "place.strap.pulse", "m/s2")
    least = pull_n(
        sum(k.low for k in masses), rider_mass(basis, body).low, _rider_share(place).low,
        pulse.low, _rear_straps(place, chair, basis).high, 0.0, 0.0,
    )  # fmt: skip
    return all(_rating(basis, anchor).high < least for anchor in anchors)


def _rating(basis: Basis, anchor: Anchor) -> Known:
    name = f"securement.strap_anchors[{anchor.id}].rating"
    return basis.known_or(name, anchor.rating, "assumed.anchor.rating", "N")


def _shown(rating: Known) -> str:
    return "rating not read" if rating.assumed else show_force(rating.mid)


def _rider_share(place: Place) -> Known:
    """1 where the lap belt is hooked to the straps' anchors, 0 where it has its own."""
    own = bool(place.lap_anchors) and not set(place.lap_anchors) & set(place.rear_anchors)
    words = "the belt has its own anchors" if own else "the belt may share the rear anchors"
    if own:
        return exact("share of the rider", 0.0, "", words)
    return Known("places.lap_anchors", 0.0, 1.0, "", Way.ASSUMED, words)


def _rear_straps(place: Place, chair: Chair, basis: Basis) -> Known:
    """How many straps share the pull: half of four, and of more perhaps all the others."""
    usual = round(basis.number("strap.count"))
    half, most = usual // 2, max(usual // 2, strap_count(basis, chair) - usual // 2)
    most = min(most, max(len(place.rear_anchors), 1))
    least = min(half, most)
    if least == most:
        return exact("rear straps", least, "straps")
    return Known("rear straps", least, most, "straps", Way.ASSUMED, "not told")


def _angles(basis: Basis, strap: Strap | None, anchor_id: str) -> tuple[Known, Known]:
    if strap is None:
        low, high = degrees(basis, "strap.angle.rear")
        source = cite(basis, "strap.angle.rear")
        name = "chair.securement.rear_points"
        rise = Known(name, low, high, "deg", Way.ASSUMED, "not measured", source)
        wide = degrees(basis, "strap.plan.rear")
        spread = Known(name, wide[0], wide[1], "deg", Way.ASSUMED, "not measured", source)
        return rise, spread
    rise0, rise1 = strap.rise_span()
    ends = strap.spread_span()
    wide1 = max(abs(e) for e in ends)
    wide0 = 0.0 if ends[0] <= 0.0 <= ends[1] else min(abs(e) for e in ends)
    name = f"strap from {anchor_id}"
    return (
        Known(
            f"{name}, rise",
            min(max(rise0, 0.0), _STEEP_DEG),
            min(max(rise1, 0.0), _STEEP_DEG),
            "deg",
            strap.seen.along.way,
            "from its anchor and point",
        ),
        Known(
            f"{name}, spread",
            min(wide0, _STEEP_DEG),
            min(wide1, _STEEP_DEG),
            "deg",
            strap.seen.across.way,
            "from its anchor and point",
        ),
    )


def yardstick_checks(van: Van, place: Place, basis: Basis) -> tuple[Check, ...]:
    """Anchor ratings beside the figures of public vehicles and school buses."""
    ids = [*place.front_anchors, *place.rear_anchors]
    rated = [
        basis.known(f"securement.strap_anchors[{a.id}].rating", a.rating, "N")
        for a in chosen(van.securement.strap_anchors, ids)
        if a.rating is not None
    ]
    if not rated:
        return ()
    least = min(rated, key=lambda k: k.low)
    out = []
    for tail, rule_id in (("public", "strap.force.leg"), ("school", "strap.force.school")):
        limit = basis.number(rule_id)
        out.append(
            judge(
                f"place.strap.{tail}", rules.rule(rule_id, basis.on).question,
                CheckClass.YARDSTICK, lambda n, limit=limit: n - limit, [least], "N",
                needed=show_force(limit), measured=f"{show_force(least.mid)}, {least.name}",
                source=cite(basis, rule_id),
            )
        )  # fmt: skip
    return tuple(out)


def set_check(van: Van, chair: Chair, basis: Basis) -> Check:
    """Whether a strap set on hand is rated for this chair: the best of those with enough straps.

    A condition, not a no: another set can be bought.
    """
    question = "Is a strap set on hand rated for this chair?"
    needed = strap_count(basis, chair)
    sets = [s for s in van.securement.sets if s.straps >= needed]
    source = cite(basis, "strap.rated", "place.crash.chair")
    mass = chair_mass(basis, chair)
    if not sets:
        return not_assessed(
            "place.strap.set", question, CheckClass.PRACTICE, measures=["securement.sets"],
            needed=f"a set of {needed} straps rated for {show_mass(mass.high)}",
            source=source, who=SET_MAKER, note="No set with enough straps is on record.",
        )  # fmt: skip
    checks = []
    for one in sets:
        rated = basis.known_or(
            f"securement.sets[{one.name}].rated_chair_mass", one.rated_chair_mass,
            "place.set.unread", "kg",
        )  # fmt: skip
        told = "rating not read" if rated.assumed else show_mass(rated.mid)
        checks.append(
            judge(
                "place.strap.set", question, CheckClass.PRACTICE, lambda r, kg: r - kg,
                [rated, mass], "kg", needed=f"rated for a chair of {show_mass(mass.mid)}",
                measured=f"{one.name}: {told}", source=source, who=SET_MAKER,
            )
        )  # fmt: skip
    return max(checks, key=lambda c: c.margin.worst if c.margin else 0.0)
