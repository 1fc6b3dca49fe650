"""Will this rider, in this chair, ride in this van? All checks, both sides, best arrangement."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from sillway.fit import seats
from sillway.fit.arrange import Trial, rank, try_place
from sillway.fit.body import Side, Sitting, body, common_body, sittings, wheel_prism
from sillway.fit.cabin import BELOW_FLOOR, Entry, entry_of, floor_tolerance, room_of, way_in
from sillway.fit.check import Check, CheckClass, Finding, yes_no
from sillway.fit.climb import playback_stand
from sillway.fit.climb_checks import Climbed, climb_checks, ramp_checks
from sillway.fit.drive.scene import Verdict, never
from sillway.fit.home import home_checks
from sillway.fit.known import Basis, Known
from sillway.fit.question import Question
from sillway.fit.result import Arrangement, FitAnswer, Frame, Proof
from sillway.fit.verdict import DECIDING, ORDER, conditions_of, settle_of, verdict_of
from sillway.fit.way import DIRECTIONS, frames
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.units import Shown


def fit(
    van: Van,
    rider: Rider,
    on: dt.date,
    late: Callable[[], bool] = never,
    *,
    explain: bool = True,
    playback: bool = True,
) -> FitAnswer:
    """Answer the question.

    Args:
        on: the day whose rules hold.
        late: asked now and then; True ends the search, and what is open is said to be.
        explain: also tell where a no is closed and how wide a close call is (costs time).
        playback: also make the frames of the certified way.
    Raises:
        RuleError: if a rule needed is not in force on that day.
        BadInput: if the records make no ramp or chair that can be computed.
    """
    question = ask(van, rider, on, late, explain=explain)
    places = [p for p in van.places if p.kind in rider.wishes]
    if not places:
        return _no_place(question)
    trials = [try_place(question, place) for place in places]
    best = min(trials, key=lambda t: rank(question.basis, t))
    return _answer(question, trials, best, playback=playback)


def ask(
    van: Van, rider: Rider, on: dt.date, late: Callable[[], bool] = never, *, explain: bool = True
) -> Question:
    """All that does not depend on the place: scenes, postures, the climb, general checks."""
    basis = Basis(on)
    entry = entry_of(basis, van)
    sat = sittings(rider.chair, rider.postures)
    general = [*ramp_checks(basis, van, rider, sat), *home_checks(van, rider, basis)]
    climbs = _climbs(basis, van, entry, rider, sat)
    if rider.home.driveway_slope is not None:
        slope = basis.known("home.driveway_slope", rider.home.driveway_slope, "rad")
        general += _driveway(basis, van, entry, rider, climbs, slope)
    return Question(
        basis=basis,
        van=van,
        rider=rider,
        entry=entry,
        sittings=sat,
        common=common_body(basis, rider.chair, sat),
        rooms={side: room_of(basis, van, entry, side) for side in (Side.BAD, Side.GOOD)},
        climbs=climbs,
        general=tuple(general),
        late=late,
        explain=explain,
    )


def _until(basis: Basis, van: Van, entry: Entry, rider: Rider, sitting: Sitting, way: str) -> float:
    """How far past the sill the drive axle goes before the floor is level for all wheels."""
    bad = body(basis, rider.chair, sitting.layers, Side.BAD)
    wheels = wheel_prism(basis, rider.chair, bad, BELOW_FLOOR)
    inside = way_in(basis, entry, bad, wheels, way, floor_tolerance(basis, van)).inside
    return abs(inside[0] - entry.sill[0]) + abs(inside[1] - entry.sill[1])


def _climbs(
    basis: Basis, van: Van, entry: Entry, rider: Rider, sat: Sequence[Sitting]
) -> dict[str, Climbed]:
    """The best posture up the ramp in each direction; as measured, if that holds."""
    out = {}
    for direction in DIRECTIONS:
        tried: list[Climbed] = []
        for sitting in sat:
            until = _until(basis, van, entry, rider, sitting, direction)
            tried.append(climb_checks(basis, van, entry, rider, sitting, direction, until))
            if verdict_of(tried[-1].checks) in (Verdict.FITS, Verdict.CONDITIONS):
                break
        out[direction] = min(tried, key=lambda c: ORDER.index(verdict_of(c.checks)))
    return out


def _driveway(
    basis: Basis, van: Van, entry: Entry, rider: Rider, climbs: Mapping[str, Climbed], slope: Known
) -> tuple[Check, ...]:
    best = min(climbs.values(), key=lambda c: ORDER.index(verdict_of(c.checks)))
    until = _until(basis, van, entry, rider, best.sitting, best.direction)
    climbed = climb_checks(basis, van, entry, rider, best.sitting, best.direction, until, slope)
    who = "the buyer: board on level ground, or try the climb at home"
    return tuple(replace(c, who=c.who or who) for c in climbed.checks)


def _no_place(question: Question) -> FitAnswer:
    van, rider = question.van, question.rider
    wished, there = " or ".join(rider.wishes), ", ".join(sorted({p.kind for p in van.places}))
    check = yes_no(
        "place.wished", "Has the van a place of the kind the rider wishes?", CheckClass.PHYSICAL,
        False, needed=wished, measured=there, source="the van record",
    )  # fmt: skip
    proof = Proof((f"every place of the van ({there})",), (f"none is a {wished} place",))
    checks = (check, *question.general)
    return FitAnswer(
        Verdict.NO, van.name(), rider.name, question.basis.on, question.sittings[0].name, None,
        checks, (), (), _assumed(checks), None, proof, check.id,
    )  # fmt: skip


def _answer(
    question: Question, trials: Sequence[Trial], best: Trial, *, playback: bool
) -> FitAnswer:
    van, rider, basis = question.van, question.rider, question.basis
    yes = best.verdict in (Verdict.FITS, Verdict.CONDITIONS)
    certificate = best.way.certificate if yes and best.way else None
    proof = _proof(question, trials) if best.verdict is Verdict.NO else None
    deciding = deciding_check(basis, best)
    arrangement = Arrangement(
        best.place.id, best.place.kind, best.climbed.direction, best.plan, best.seating
    )
    rolled: tuple[Frame, ...] = ()
    if playback and certificate is not None and best.bad is not None:
        stand = playback_stand(
            basis, van, question.entry, rider, best.climbed.sitting, best.climbed.direction
        )
        rolled = frames(certificate, best.bad, stand)
    posture = best.ride.name
    if best.climbed.sitting.name != posture:
        posture = f"{best.climbed.sitting.name} on the way in, {posture} for the ride"
    return FitAnswer(
        verdict=best.verdict,
        van=van.name(),
        rider=rider.name,
        on=basis.on,
        posture=posture,
        arrangement=arrangement,
        checks=best.checks,
        conditions=conditions_of(best.checks) if yes else (),
        settle=settle_of(best.checks) if best.verdict is Verdict.CLOSE else (),
        assumed=_assumed(best.checks),
        certificate=certificate,
        proof=proof,
        deciding=deciding.id if deciding else "",
        spare=_spare(best) if yes else (),
        side_views=best.climbed.views,
        place_pose=best.pose,
        body=body(basis, rider.chair, best.ride.layers, Side.MIDDLE),
        playback=rolled,
    )


def _proof(question: Question, trials: Sequence[Trial]) -> Proof:
    covered = [f"place {t.place.id} ({t.place.kind}): {t.covers}" for t in trials]
    postures = ", ".join(s.name for s in question.sittings)
    covered.append(f"postures: {postures}; entering forwards and backing")
    reasons = [f"place {t.place.id}: {reason}" for t in trials for reason in t.reasons]
    drive = {f"place {t.place.id}": t.way.shut for t in trials if t.way and t.way.shut is not None}
    pinches = [t.way.pinch for t in trials if t.way and t.way.shut is not None and t.way.pinch]
    widest = max(pinches, key=lambda p: p.clearance_mm, default=None)
    return Proof(tuple(covered), tuple(dict.fromkeys(reasons)), drive, widest)


def deciding_check(basis: Basis, trial: Trial) -> Check | None:
    """The deciding check that is nearest to tipping the verdict the other way."""
    wanted = {
        Verdict.NO: (Finding.FAILS,),
        Verdict.CLOSE: (Finding.CLOSE, Finding.NOT_ASSESSED),
    }.get(trial.verdict, (Finding.HOLDS,))
    mine = [c for c in trial.checks if c.check_class in DECIDING and c.finding in wanted]
    if not mine:
        return None
    if trial.verdict is Verdict.NO:
        return max(mine, key=lambda c: seats.in_comfort(basis, c, best=True))
    if trial.verdict is Verdict.CLOSE:
        return min(mine, key=lambda c: seats.in_comfort(basis, c, best=True))
    return min(mine, key=lambda c: seats.in_comfort(basis, c, best=False))


def _assumed(checks: Sequence[Check]) -> tuple[Known, ...]:
    return tuple({k.name: k for c in checks for k in c.assumed}.values())


def _spare(trial: Trial) -> tuple[str, ...]:
    """How much larger a next chair could be and still pass, from the guaranteed margins."""
    out = []
    if trial.way and trial.way.certificate:
        spare = trial.way.certificate.claimed_clearance_mm
        out.append(f"all round: {Shown('mm')(spare)} wider on each side, the whole way in")
    for check_id, says in (
        ("ramp.width", "at the wheels: {} wider on this ramp"),
        ("ramp.header", "at the head: {} higher through the door"),
        ("place.headroom", "at the head: {} higher in its place"),
        ("load.gross", "in all: {} heavier within the gross rating"),
        ("load.rear", "in all: about {} more on the rear axle"),
        ("load.front", "in all: about {} more on the front axle"),
        ("ramp.load", "on the ramp: {} heavier"),
    ):
        found = next((c for c in trial.checks if c.id == check_id and c.margin), None)
        if found is not None and found.margin is not None and found.margin.worst > 0:
            out.append(says.format(Shown(found.margin.unit)(found.margin.worst)))
    return tuple(out)
