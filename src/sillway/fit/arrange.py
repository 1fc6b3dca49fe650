"""One place: which seats go, who sits where, whether the chair gets there, stands and rides there.

Bounds come first, so that a hopeless place costs little: no room for the chair in the place, no
way up the ramp, no way even with every seat gone that can go. Then seat plans are tried, the
smallest change first, until one carries the party.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sillway.fit import seats
from sillway.fit.body import Side, Sitting, body, wheel_prism
from sillway.fit.cabin import BELOW_FLOOR, bad_scene, drive_of, floor_tolerance, good_scene, way_in
from sillway.fit.check import Check, CheckClass, Finding, Margin, finding_of, yes_no
from sillway.fit.cite import cite
from sillway.fit.climb_checks import Climbed
from sillway.fit.drive.scene import Pose, PoseBox, Prism, Scene, Verdict
from sillway.fit.known import Basis
from sillway.fit.load import load_checks
from sillway.fit.place import Admissible, admissible, place_checks
from sillway.fit.question import Question
from sillway.fit.verdict import DECIDING, ORDER, conditions_of, verdict_of
from sillway.fit.way import Asked, Way, find_way
from sillway.records.van import Place
from sillway.units import show_length

# Physical and rating checks whose answer at one spot is no answer for the whole place.
_AT_THE_SPOT = ("place.footprint", "place.headroom", "place.strap.front", "place.strap.rear")
_ELSEWHERE = "Judged at the preferred spot; another spot in the place may do."
# Seat plans tried with the full search; the quick search and the bounds see them all.
_MOST_PLANS = 24


@dataclass(frozen=True, slots=True)
class Trial:
    """The best that came of one place.

    Attributes:
        ride: the posture kept in the place.
        climbed: the climb in the direction taken.
        bad: the scene of the certificate.
        covers: what a no of this place covers.
        reasons: why it is a no, each with what it is short by.
    """

    place: Place
    verdict: Verdict
    plan: Mapping[str, str]
    seating: Mapping[str, str]
    ride: Sitting
    climbed: Climbed
    pose: Pose
    way: Way | None
    bad: Scene | None
    checks: tuple[Check, ...]
    covers: str
    reasons: tuple[str, ...]


def rank(basis: Basis, trial: Trial) -> tuple[float, ...]:
    """Best first: verdict, fewest seats changed, fewest conditions, widest worst margin."""
    margins = [
        seats.in_comfort(basis, c, best=trial.verdict is Verdict.NO)
        for c in trial.checks
        if c.check_class in DECIDING
    ]
    return (
        ORDER.index(trial.verdict),
        seats.changed(trial.plan),
        len(conditions_of(trial.checks)),
        -min(margins, default=0.0),
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """A place and a posture for the ride, before seats are chosen."""

    question: Question
    place: Place
    ride: Sitting
    spot: Admissible
    party: tuple[seats.Walking, ...]

    @property
    def rider_drives(self) -> bool:
        return self.place.kind == "driver"


def try_place(question: Question, place: Place) -> Trial:
    """The best arrangement for one place over all postures for the ride."""
    tried = []
    for ride in (s for s in question.sittings if s.rides):
        spot = admissible(
            question.van, place, question.rider.chair, question.basis, ride.layers, question.common
        )
        party = seats.walking_party(question.rider, place.kind == "driver")
        tried.append(_arranged(_Place(question, place, ride, spot, party)))
        if tried[-1].verdict in (Verdict.FITS, Verdict.CONDITIONS):
            break
    return min(tried, key=lambda t: rank(question.basis, t))


def _arranged(p: _Place) -> Trial:
    q = p.question
    usual = {seat.id: "in use" for seat in q.van.seats}
    if p.spot.good is None:
        room = yes_no(
            "place.footprint", "Does the chair stand inside its place?", CheckClass.PHYSICAL, False,
            needed="the chair's outline inside the place and on the floor",
            measured="too large for it at every spot", source=cite(q.basis, "physics.solid"),
        )  # fmt: skip
        return _trial(p, usual, {}, None, None, (room,), covers="every spot and heading in it")
    if all(verdict_of(c.checks) is Verdict.NO for c in q.climbs.values()):
        return _trial(p, usual, {}, None, None, (), covers="the climb in both directions")
    plans = [
        plan for plan in seats.plans(q.van)
        if seats.room_for_party(q.van, plan, p.party, p.rider_drives) >= 0
    ]  # fmt: skip
    if not plans:
        full = seats.capacity_check(q.van, usual, p.party, p.rider_drives)
        return _trial(p, usual, {}, None, None, (full,), covers="every state of every seat")
    return _planned(p, plans)


def _planned(p: _Place, plans: Sequence[dict[str, str]]) -> Trial:
    """Try seat plans: an easy way first, then the bound, then the full search."""
    quick = None
    for number, plan in enumerate(plans):
        if (way := _way(p, plan, quick_only=True)) is not None:
            trial = _with_party(p, plan, way)
            if trial.verdict is not Verdict.NO:
                quick = (number, trial)
                break
    if quick is not None and quick[0] == 0:
        return quick[1]
    bound = _bound(p)
    if bound is not None:
        return bound
    cheaper = plans[: quick[0] if quick else _MOST_PLANS]
    open_: list[Trial] = [quick[1]] if quick else []
    closed: list[Trial] = []
    for plan in cheaper[:_MOST_PLANS]:
        if p.question.late():
            break
        way = _way(p, plan, quick_only=False)
        if way is None:
            continue
        trial = _with_party(p, plan, way)
        if trial.verdict in (Verdict.FITS, Verdict.CONDITIONS):
            return trial
        (closed if trial.verdict is Verdict.NO else open_).append(trial)
    if open_:
        return min(open_, key=lambda t: rank(p.question.basis, t))
    if closed and len(closed) == len(plans):
        nearest = max(closed, key=lambda t: -rank(p.question.basis, t)[-1])
        reasons = tuple(r for t in closed for r in t.reasons)
        covers = f"all {len(plans)} ways to set the seats that leave a seat for everybody"
        return replace(nearest, reasons=tuple(dict.fromkeys(reasons)), covers=covers)
    return _unfinished(p, plans[0])


def _unfinished(p: _Place, plan: dict[str, str]) -> Trial:
    """The time was up before every seat plan was settled."""
    check = Check(
        "cabin.way", "Can the chair be driven from the ramp to its place?", CheckClass.PHYSICAL,
        Finding.CLOSE, None, "a drive that touches nothing", "not settled: the search ended first",
        (), cite(p.question.basis, "physics.passage"),
    )  # fmt: skip
    return _trial(p, plan, {}, None, None, (check,), covers="")


def _bound(p: _Place) -> Trial | None:
    """A no with every seat gone that can change at all is a no for every seat plan."""
    from sillway.fit.drive.scene import Budget
    from sillway.fit.drive.subdivide import Shut, explore

    van = p.question.van
    fixed = {s.id: "in use" for s in van.seats if len(s.states()) == 1}
    if len(fixed) == len(van.seats):
        return None  # nothing to relax: the one plan is asked by itself
    assert p.spot.good is not None
    scene = _good(p, p.question.rooms[Side.GOOD].prisms(fixed), p.spot.good)
    if not isinstance(explore(scene, Budget(max_boxes=100_000, late=p.question.late)), Shut):
        return None
    way = _way(p, fixed, quick_only=False)
    if way is None or way.check.finding is not Finding.FAILS:
        return None
    usual = {seat.id: "in use" for seat in van.seats}
    return _trial(p, usual, {}, way, None, (way.check,), covers="every seat in any state or out")


def _good(p: _Place, obstacles: tuple[Prism, ...], goal: PoseBox) -> Scene:
    q = p.question
    return good_scene(q.basis, q.van, q.entry, obstacles, q.common, goal)


def _asked(p: _Place, plan: Mapping[str, str]) -> tuple[list[Asked], Prism]:
    """The directions worth asking, the better climb first, and the wheels."""
    q = p.question
    chair = q.rider.chair
    climbs = [c for c in q.climbs.values() if verdict_of(c.checks) is not Verdict.NO]
    climbs.sort(key=lambda c: ORDER.index(verdict_of(c.checks)))
    obstacles = q.rooms[Side.BAD].prisms(plan)
    asked, wheels = [], None
    for climbed in climbs:
        bad = body(q.basis, chair, climbed.sitting.layers, Side.BAD)
        wheels = wheel_prism(q.basis, chair, bad, BELOW_FLOOR)
        way = way_in(
            q.basis, q.entry, bad, wheels, climbed.direction, floor_tolerance(q.basis, q.van)
        )
        scene = bad_scene(
            q.basis, q.van, q.entry, obstacles, bad, way.inside, p.spot.preferred,
            drive_of(q.basis, chair),
        )  # fmt: skip
        asked.append(Asked(way, scene))
    assert wheels is not None
    return asked, wheels


def _way(p: _Place, plan: Mapping[str, str], *, quick_only: bool) -> Way | None:
    q = p.question
    assert p.spot.good is not None
    asked, wheels = _asked(p, plan)
    good = _good(p, q.rooms[Side.GOOD].prisms(plan), p.spot.good)
    return find_way(
        q.basis, q.van, asked, good, wheels, q.late, explain=q.explain, quick_only=quick_only
    )


def _with_party(p: _Place, plan: Mapping[str, str], way: Way) -> Trial:
    """Seat the party the best way and put all checks together."""
    q = p.question
    best: Trial | None = None
    for seating in seats.seatings(q.van, plan, p.party, p.rider_drives):
        trial = _trial(p, plan, seating, way, None, (way.check,), covers="")
        if best is None or rank(q.basis, trial) < rank(q.basis, best):
            best = trial
        if best.verdict is Verdict.FITS or q.late():
            break
        if not _seating_matters(best):
            break
    assert best is not None
    return best


def _seating_matters(trial: Trial) -> bool:
    """Whether another seating could better the verdict: an axle or the attendant is not right."""
    return any(
        c.finding is not Finding.HOLDS
        and (
            c.id in ("load.front", "load.rear", "place.attendant") or c.id.startswith("load.tires")
        )
        for c in trial.checks
        if c.check_class is not CheckClass.YARDSTICK
    )


def _trial(
    p: _Place,
    plan: Mapping[str, str],
    seating: Mapping[str, str],
    way: Way | None,
    bad: Scene | None,
    own: tuple[Check, ...],
    covers: str,
) -> Trial:
    q = p.question
    climbed = _climb_for(q, way)
    pose = p.spot.preferred
    checks = [*q.general, *climbed.checks, *own]
    if p.spot.good is not None:
        held = place_checks(
            q.van, p.place, q.rider, pose, q.basis, layers=p.ride.layers, seat_states=plan,
            walkers=seating,
        )  # fmt: skip
        checks += [_spot_only(c) for c in held]
        if seating or not p.party:
            checks.append(seats.capacity_check(q.van, plan, p.party, p.rider_drives))
        checks += load_checks(q.van, q.rider, pose, plan, seating, q.basis)
    if way is not None and way.certificate is not None:
        asked, _ = _asked(p, plan)
        bad = next(a.bad for a in asked if a.way_in.direction == way.direction)
        if p.ride.name != climbed.sitting.name:
            checks.append(_stands(p, bad))
    told = tuple({c.id: c for c in checks}.values())
    reasons = tuple(
        f"{c.question} {c.finding} ({_short(c)})"
        for c in told
        if c.check_class in DECIDING and c.finding is Finding.FAILS
    )
    return Trial(
        p.place, verdict_of(told), dict(plan), dict(seating), p.ride, climbed, pose, way, bad, told,
        covers, reasons,
    )  # fmt: skip


def _short(check: Check) -> str:
    if check.margin is None or check.margin.unit != "mm":
        return f"{check.measured}; wanted {check.needed}"
    return f"short by {show_length(-check.margin.best)} at best; {check.measured}"


def _climb_for(q: Question, way: Way | None) -> Climbed:
    if way is not None and way.direction:
        return q.climbs[way.direction]
    return min(q.climbs.values(), key=lambda c: ORDER.index(verdict_of(c.checks)))


def _spot_only(check: Check) -> Check:
    """A fail at the preferred spot is no proof for the place; the drive engine proves those."""
    if (
        check.finding is Finding.FAILS
        and check.check_class in DECIDING
        and (check.id.startswith(_AT_THE_SPOT))
    ):
        return replace(check, finding=Finding.CLOSE, note=f"{check.note} {_ELSEWHERE}".strip())
    return check


def _stands(p: _Place, bad: Scene) -> Check:
    """The posture for the ride, at rest in the place, against everything around."""
    from sillway.fit.drive.kernel import pose_clearance
    from sillway.fit.drive.packed import pack

    q = p.question
    sitting = body(q.basis, q.rider.chair, p.ride.layers, Side.BAD)
    gap = pose_clearance(pack(replace(bad, body=sitting)), p.spot.preferred)[0]
    margin = Margin(gap, gap, "mm")
    return Check(
        "cabin.stand", "Does the chair stand free in its place in the posture for the ride?",
        CheckClass.PHYSICAL,
        Finding.CLOSE if finding_of(margin) is Finding.FAILS else Finding.HOLDS, margin,
        "a gap all round", show_length(gap), (), cite(q.basis, "physics.solid"),
    )  # fmt: skip
