"""Will this rider, in this chair, ride in this van? All checks, both sides, best arrangement."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

from sillway.fit import seats
from sillway.fit.body import Side, body
from sillway.fit.cabin import FORWARDS, entry_of, room_of
from sillway.fit.check import Check, CheckClass, Finding, yes_no
from sillway.fit.choose import choose, enough_places
from sillway.fit.climb import playback_stand
from sillway.fit.drive.scene import Verdict, never
from sillway.fit.home import home_checks
from sillway.fit.known import Basis, Known
from sillway.fit.party import Trial
from sillway.fit.question import YES, Question, seated_of
from sillway.fit.result import Arrangement, FitAnswer, Frame, OtherCertified, Proof
from sillway.fit.turning import turning_check
from sillway.fit.verdict import DECIDING, conditions_of, settle_of
from sillway.fit.way import frames
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
        explain: also tell where a no is closed and how wide a close call is, and look for a way
            even where another check is a close call anyway (costs time).
        playback: also make the frames of the certified way.
    Raises:
        RuleError: if a rule needed is not in force on that day.
        BadInput: if the records make no ramp or chair that can be computed.
    """
    question = ask(van, rider, on, late, explain=explain)
    if not enough_places(question):
        return _no_place(question)
    outcome = choose(question)
    return _answer(question, outcome.trial, outcome.proof, playback=playback)


def ask(
    van: Van, rider: Rider, on: dt.date, late: Callable[[], bool] = never, *, explain: bool = True
) -> Question:
    """All that does not depend on places and seats."""
    basis = Basis(on)
    entry = entry_of(basis, van)
    return Question(
        basis=basis,
        van=van,
        rider=rider,
        entry=entry,
        seated=seated_of(basis, van, rider),
        rooms={side: room_of(basis, van, entry, side) for side in (Side.BAD, Side.GOOD)},
        home=(*home_checks(van, rider, basis), turning_check(basis, van)),
        late=late,
        explain=explain,
    )


def _no_place(question: Question) -> FitAnswer:
    van, rider = question.van, question.rider
    chairs = len(question.seated)
    wished, there = " or ".join(rider.wishes), ", ".join(sorted({p.kind for p in van.places}))
    needed = wished if chairs == 1 else f"{wished}, and one for each of {chairs} chairs"
    check = yes_no(
        "place.wished", "Has the van a place of the kind the rider wishes?", CheckClass.PHYSICAL,
        False, needed=needed, measured=f"{len(van.places)} ({there})", source="the van record",
    )  # fmt: skip
    proof = Proof((f"every place of the van ({there})",), (f"none left that is a {wished} place",))
    ramp = question.seated[0].ramp
    checks = (check, *question.home, *ramp)
    return FitAnswer(
        Verdict.NO, van.name(), rider.name, question.basis.on,
        question.seated[0].sittings[0].name, None, checks, (), (), _assumed(checks), None, proof,
        check.id,
    )  # fmt: skip


def _answer(question: Question, best: Trial, proof: Proof | None, *, playback: bool) -> FitAnswer:
    van, rider, basis = question.van, question.rider, question.basis
    yes = best.verdict in YES
    way, climbed, main = best.ways[0], best.climbs[0], best.main
    certificate = way.certificate if yes and way else None
    deciding = deciding_check(basis, best)
    others = best.layout.stands[1:]
    arrangement = Arrangement(
        main.place.id, main.place.kind, climbed.direction if climbed else FORWARDS,
        best.layout.plan, best.seating, {s.seated.name: s.place.id for s in others},
    )  # fmt: skip
    rolled: tuple[Frame, ...] = ()
    if playback and certificate is not None and best.bad is not None and climbed is not None:
        stand = playback_stand(
            basis, van, question.entry, rider, climbed.sitting, climbed.direction
        )
        rolled = frames(certificate, best.bad, stand)
    posture = main.ride.name
    if climbed is not None and climbed.sitting.name != posture:
        posture = f"{climbed.sitting.name} on the way in, {posture} for the ride"
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
        side_views=climbed.views if climbed else (),
        place_pose=main.pose,
        body=body(basis, rider.chair, main.ride.layers, Side.MIDDLE),
        playback=rolled,
        others=_others(best) if yes else (),
    )


def _others(best: Trial) -> tuple[OtherCertified, ...]:
    out = []
    for i, stand in enumerate(best.layout.stands):
        way = best.ways[i]
        if stand.seated.main or way is None or way.certificate is None:
            continue
        out.append(
            OtherCertified(
                stand.seated.name, stand.place.id, stand.pose, way.direction,
                best.layout.order.index(i) + 1, way.certificate,
            )
        )  # fmt: skip
    return tuple(out)


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
    if (way := trial.ways[0]) and way.certificate:
        spare = way.certificate.claimed_clearance_mm
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
