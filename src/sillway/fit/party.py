"""The whole party: who stands and sits where, in which order the chairs come in.

Cheap things come first: a check that fails for every arrangement is the no already; a chair that
alone cannot get to a place leaves that place out for every company; a seat that stands where a
chair is to stand is never tried for a yes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sillway.fit import seats
from sillway.fit.arrange import ELSEWHERE, Found, Plan, Stand, failing, held_checks, stands_free
from sillway.fit.cabin import at
from sillway.fit.check import Check, CheckClass, Finding, Settle
from sillway.fit.cite import cite
from sillway.fit.climb_checks import Climbed
from sillway.fit.drive.scene import PoseBox, Prism, Scene, Verdict
from sillway.fit.known import Basis
from sillway.fit.load import load_checks
from sillway.fit.place import held_by
from sillway.fit.place.beside import animal_check, attendant_check
from sillway.fit.place.masses import chair_mass
from sillway.fit.place.rated import strap_count
from sillway.fit.place.straps import INSTALLER, SET_MAKER, straps_of
from sillway.fit.question import YES, Question
from sillway.fit.verdict import DECIDING, ORDER, conditions_of, verdict_of
from sillway.fit.way import Way
from sillway.units import show_length, show_mass

_ORDINALS = ("first", "second", "third", "fourth")
# Checks that another seat for somebody who walks could mend.
_BY_SEATING = ("load.front", "load.rear", "load.tires", "place.attendant")


@dataclass(frozen=True, slots=True)
class Layout:
    """Which chair stands where, main rider first, and the seats with the chairs' order of entry.

    Attributes:
        order: indices of stands, as they come in.
    """

    stands: tuple[Stand, ...]
    plan: Plan
    order: tuple[int, ...]

    def before(self, index: int) -> tuple[Stand, ...]:
        """The chairs that stand in the van when this one comes in."""
        return tuple(self.stands[i] for i in self.order[: self.order.index(index)])

    @property
    def main_drives(self) -> bool:
        """Whether the main rider drives from the chair."""
        return self.stands[0].place.kind == "driver"


@dataclass(frozen=True, slots=True)
class Trial:
    """What one arrangement comes to.

    Attributes:
        climbs: the climb of each chair, in the direction taken; None where none was asked for.
        ways: the way of each chair, where one was asked for.
        bad: the scene of the main chair's certificate.
    """

    layout: Layout
    verdict: Verdict
    seating: Mapping[str, str]
    climbs: tuple[Climbed | None, ...]
    ways: tuple[Way | None, ...]
    bad: Scene | None
    checks: tuple[Check, ...]

    @property
    def main(self) -> Stand:
        """The main rider's stand."""
        return self.layout.stands[0]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it is a no."""
        return reasons_of(self.checks)


def reasons_of(checks: Sequence[Check]) -> tuple[str, ...]:
    """Each deciding check that fails, with what it is short by."""
    return tuple(f"{c.question} {c.finding} ({_short(c)})" for c in failing(checks))


def _short(check: Check) -> str:
    if check.margin is None or check.margin.unit != "mm":
        return f"{check.measured}; wanted {check.needed}"
    return f"short by {show_length(-check.margin.best)} at best; {check.measured}"


def rank(basis: Basis, trial: Trial) -> tuple[float, ...]:
    """Best first: verdict, fewest seats changed, fewest conditions, widest worst margin."""
    margins = [
        seats.in_comfort(basis, c, best=trial.verdict is Verdict.NO)
        for c in trial.checks
        if c.check_class in DECIDING
    ]
    return (
        ORDER.index(trial.verdict),
        seats.changed(trial.layout.plan),
        len(conditions_of(trial.checks)),
        -min(margins, default=0.0),
    )


def trial_of(
    q: Question,
    layout: Layout,
    found: Sequence[Found | None],
    told: Sequence[Way | None] = (),
    *,
    climb: bool = True,
) -> Trial:
    """Seat those who walk the best way and put all checks together.

    Args:
        found: a certified way for each chair, where there is one.
        told: a no or a close call for each chair, where there is no certified way.
        climb: also tell of the climb, where the answer does not need it.
    """
    ways = tuple(f.way if f else (told[i] if i < len(told) else None) for i, f in enumerate(found))
    climbs = tuple(
        f.climbed if f else q.best_climb(s.seated) if climb else None
        for f, s in zip(found, layout.stands, strict=True)
    )
    fixed = [*q.home]
    for i in range(len(layout.stands)):
        fixed += _of_chair(q, layout, i, climbs[i], ways[i], found[i])
    fixed += _shared(q, layout)
    walking = seats.walking_party(q.rider, layout.main_drives)
    fixed.append(seats.capacity_check(q.van, layout.plan, walking, layout.main_drives))
    if q.explain or verdict_of(fixed) in YES:
        # Never more than a condition, and a climb of its own: only where it can count.
        for stand, climbed in zip(layout.stands, climbs, strict=True):
            fixed += q.driveway(stand.seated, climbed) if climbed else ()
    bad = found[0].bad if found[0] else None
    best: Trial | None = None
    seatings = seats.seatings(q.van, layout.plan, walking, layout.main_drives) or [{}]
    for seating in seatings:
        checks = _once((*fixed, *_of_seating(q, layout, seating)))
        trial = Trial(layout, verdict_of(checks), seating, climbs, ways, bad, checks)
        if best is None or rank(q.basis, trial) < rank(q.basis, best):
            best = trial
        if best.verdict is Verdict.FITS or not _seating_matters(best) or q.late():
            break
    assert best is not None
    if best.verdict is Verdict.NO and len(seatings) >= seats.MOST_SEATINGS:
        best = _unproved(q, best)
    return best


def _once(checks: Sequence[Check]) -> tuple[Check, ...]:
    return tuple({c.id: c for c in checks}.values())


def _of_chair(
    q: Question,
    layout: Layout,
    index: int,
    climbed: Climbed | None,
    way: Way | None,
    found: Found | None,
) -> list[Check]:
    """All checks of one chair that do not hang on who sits on which seat."""
    stand = layout.stands[index]
    seated = stand.seated
    out = [*seated.ramp, *(climbed.checks if climbed else ())]
    if way is not None:
        out.append(_in_order(way.check, layout, index))
    if stand.spot.good is None:
        out += stand.held
    else:
        others = _parked(layout, index)
        out += held_checks(q, stand, layout.plan, others)
        if seated.main and seated.rider.service_animal is not None:
            out.append(
                animal_check(
                    q.van, seated.rider.chair, stand.ride.layers, stand.pose,
                    seated.rider.service_animal, layout.plan, q.basis, others,
                )
            )  # fmt: skip
    if found is not None and stand.ride.name != found.climbed.sitting.name:
        out.append(stands_free(q, stand, found.bad))
    if not seated.main:
        out = [c for c in out if c.check_class is not CheckClass.YARDSTICK]
    return [seated.own(c) for c in out]


def _parked(layout: Layout, index: int) -> tuple[Prism, ...]:
    return tuple(p for i, s in enumerate(layout.stands) if i != index for p in s.parked)


def _in_order(check: Check, layout: Layout, index: int) -> Check:
    """The way with when this chair comes in; out of the van they go the other way about."""
    if len(layout.stands) == 1 or check.finding is Finding.FAILS:
        return check
    when = layout.order.index(index)
    says = f"comes in {_ORDINALS[when]} of {len(layout.stands)} chairs"
    out = f"goes out {_ORDINALS[len(layout.stands) - 1 - when]}, the same way back"
    return replace(check, note=f"{check.note}; {says} and {out}".lstrip("; "))


def _of_seating(q: Question, layout: Layout, seating: Mapping[str, str]) -> tuple[Check, ...]:
    """The attendant's reach and the loads, which hang on who sits on which seat."""
    main = layout.stands[0]
    rider = main.seated.rider
    out: tuple[Check, ...] = ()
    if rider.attendant is not None and main.spot.good is not None:
        out += (
            attendant_check(
                q.van, rider.chair, rider.body, main.ride.layers, main.pose, rider.attendant,
                layout.plan, seating, q.basis,
            ),
        )  # fmt: skip
    spots = {s.seated.name: at(s.pose) for s in layout.stands}
    loads = load_checks(q.van, q.rider, main.pose, layout.plan, seating, q.basis, spots)
    if any(c.finding is Finding.FAILS and c.check_class in DECIDING for c in loads):
        loads = _load_no(q, layout, loads)
    return out + loads


def _load_no(q: Question, layout: Layout, loads: tuple[Check, ...]) -> tuple[Check, ...]:
    """Overload at the preferred spots is a no only if it is one wherever the chairs may stand."""
    sure = {c.id for c in overload(q, layout)}
    return tuple(
        replace(c, finding=Finding.CLOSE, note=f"{c.note} {ELSEWHERE}".strip())
        if c.finding is Finding.FAILS and c.check_class in DECIDING and c.id not in sure
        else c
        for c in loads
    )


def overload(q: Question, layout: Layout) -> tuple[Check, ...]:
    """The loads that fail however the party sits and wherever in its place each chair stands."""
    spots: dict[str, PoseBox] = {
        s.seated.name: s.spot.good for s in layout.stands if s.spot.good is not None
    }
    driver = next((seat.id for seat in q.van.seats if seat.for_driver), None)
    walking = seats.walking_party(q.rider, layout.main_drives)
    seating = {w.name: driver for w in walking if w.drives and driver is not None}
    main = layout.stands[0]
    checks = load_checks(q.van, q.rider, main.pose, layout.plan, seating, q.basis, spots)
    return failing(checks)


def _seating_matters(trial: Trial) -> bool:
    """Whether another seating could better the verdict: an axle or the attendant is not right."""
    return any(
        c.finding is not Finding.HOLDS
        and c.check_class is not CheckClass.YARDSTICK
        and c.id.startswith(_BY_SEATING)
        for c in trial.checks
    )


def _unproved(q: Question, trial: Trial) -> Trial:
    """Not every way to sit was tried: a load that fails in those tried is no proof."""
    sure = {c.id for c in overload(q, trial.layout)}
    checks = tuple(
        replace(c, finding=Finding.CLOSE)
        if c.finding is Finding.FAILS and c.id.startswith(_BY_SEATING) and c.id not in sure
        else c
        for c in trial.checks
    )
    return replace(trial, verdict=verdict_of(checks), checks=checks)


def _shared(q: Question, layout: Layout) -> list[Check]:
    """What two chairs cannot both use: strap anchors and strap sets."""
    held = [s for s in layout.stands if held_by(q.van, s.place, s.seated.rider.chair) == "straps"]
    if len(held) < 2:
        return []
    return [_anchors(q, held), _sets(q, held)]


def _anchors(q: Question, held: Sequence[Stand]) -> Check:
    used = [
        {t.seen.anchor.id for t in straps_of(q.van, s.place, s.seated.rider.chair, s.pose, q.basis)}
        or {*s.place.front_anchors, *s.place.rear_anchors}
        for s in held
    ]
    twice = sorted(a for i, one in enumerate(used) for a in one if any(a in o for o in used[:i]))
    return Check(
        "place.strap.shared", "Has each chair strap anchors of its own?", CheckClass.RATING,
        Finding.CLOSE if twice else Finding.HOLDS, None, "no anchor that holds two chairs",
        f"both chairs are held by {', '.join(twice)}" if twice else "none is shared", (),
        cite(q.basis, "strap.rated"),
        (Settle("securement.strap_anchors", "name anchors of its own for each place"),)
        if twice else (),
        INSTALLER,
    )  # fmt: skip


def _sets(q: Question, held: Sequence[Stand]) -> Check:
    """The heaviest chair takes the set rated highest, and so on: no other sharing does better."""
    chairs = sorted(
        (s.seated.rider.chair for s in held), key=lambda c: -chair_mass(q.basis, c).high
    )
    left = list(q.van.securement.sets)
    left.sort(key=lambda s: -(s.rated_chair_mass.value if s.rated_chair_mass else 0.0))
    short = []
    for chair in chairs:
        mass = chair_mass(q.basis, chair)
        fit = next((s for s in left if s.straps >= strap_count(q.basis, chair)), None)
        if fit is None:
            short.append("a set too few")
            continue
        left.remove(fit)
        if fit.rated_chair_mass is None or fit.rated_chair_mass.value < mass.high:
            short.append(f"{fit.name} for a chair of {show_mass(mass.mid)}")
    have = len(q.van.securement.sets)
    return Check(
        "place.strap.sets", "Is there a strap set on hand for each chair, rated for it?",
        CheckClass.PRACTICE, Finding.FAILS if short else Finding.HOLDS, None,
        f"{len(held)} sets", "; ".join(short) or f"{have} sets", (), cite(q.basis, "strap.rated"),
        who=SET_MAKER,
    )  # fmt: skip
