"""The search for the best arrangement of a party, or for the proof that there is none.

First an easy way is looked for wherever nothing cheap speaks against it. Where there is none, the
proofs come next, with as few seats standing as can be: one such proof covers many plans. Only what
is still open then gets the full search.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from sillway.fit import seats
from sillway.fit.arrange import Found, Plan, Stand, Ways, failing, meets, stands_of
from sillway.fit.check import Check, CheckClass, Finding, Margin
from sillway.fit.drive.scene import Verdict
from sillway.fit.party import Layout, Trial, overload, rank, reasons_of, trial_of
from sillway.fit.question import YES, Question, Seated
from sillway.fit.result import Proof
from sillway.fit.verdict import DECIDING, verdict_of
from sillway.fit.way import Effort, Way

Base = tuple[Stand, ...]
# Of another chair's person nobody was asked where to ride; driving from the chair is not assumed.
_OTHERS_WISH = ("cabin", "front passenger")
# Seat plans tried for an easy way, and with the full search; proofs see them all.
_MOST_EASY, _MOST_FULL = 24, 2
# More arrangements of chairs over places than this are not searched for a way; proofs see them all.
_MOST_BASES = 24
# A close call of these may go away with other seats; of all others it stays.
_BY_PLAN = ("load.", "cabin.stand")


@dataclass(frozen=True, slots=True)
class Outcome:
    """The arrangement to show, and the proof where it is a no."""

    trial: Trial
    proof: Proof | None = None


@dataclass(slots=True)
class _Case:
    """What has been shown so far.

    Attributes:
        reasons: of arrangements that are out, why.
        shut: proofs of the drive engine by what they cover.
    """

    ways: Ways
    covered: list[str] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    shut: dict[str, Way] = field(default_factory=dict)


def enough_places(q: Question) -> bool:
    """Whether each chair can have a place of its own, of a kind wished."""
    each = [[p.id for p in q.van.places if p.kind in _wished(q, s)] for s in q.seated]
    return any(len(set(ids)) == len(ids) for ids in itertools.product(*each))


def _wished(q: Question, seated: Seated) -> tuple[str, ...]:
    return q.rider.wishes if seated.main else _OTHERS_WISH


def choose(q: Question) -> Outcome:
    """The best arrangement over places, postures, seats, orders of entry and directions.

    There have to be enough places (`enough_places`).
    """
    case = _Case(Ways(q))
    stands = {s.name: _stands(q, s) for s in q.seated}
    every = list(_bases(q, stands))
    bases = [b for b in every if not _ruled_out(q, case, b)]
    if not bases:
        return _no(q, case, every)
    hopeless = [s for s in q.seated if _no_way_up(q, s)]
    if hopeless:
        return _up_no(q, bases, hopeless)
    uncapped = [b for b in bases if not _capped(q, b)]
    easy = [t for b in uncapped[:_MOST_BASES] for t in _easy(q, case, b)]
    sure = [t for t in easy if t.verdict in YES]
    if sure:
        return Outcome(_cheaper(q, case, min(sure, key=lambda t: rank(q.basis, t))))
    return _hard(q, case, every, bases, easy)


def _stands(q: Question, seated: Seated) -> dict[str, list[Stand]]:
    wished = _wished(q, seated)
    return {p.id: stands_of(q, seated, p) for p in q.van.places if p.kind in wished}


def _bases(q: Question, stands: Mapping[str, Mapping[str, list[Stand]]]) -> Iterator[Base]:
    """Every way to give each chair a place of its own and a posture for the ride."""
    each = [[s for of in stands[one.name].values() for s in of] for one in q.seated]
    for base in itertools.product(*each):
        if len({s.place.id for s in base}) == len(base):
            yield base


def _no_way_up(q: Question, seated: Seated) -> bool:
    return verdict_of(q.best_climb(seated).checks) is Verdict.NO


def _usual(q: Question) -> dict[str, str]:
    return {seat.id: "in use" for seat in q.van.seats}


def _layout(q: Question, base: Base, plan: Plan | None = None) -> Layout:
    return Layout(base, plan or _usual(q), tuple(range(len(base))))


def _room_to_sit(q: Question, base: Base, plan: Plan) -> bool:
    drives = base[0].place.kind == "driver"
    party = seats.walking_party(q.rider, drives)
    return seats.room_for_party(q.van, plan, party, drives) >= 0


def _ruled_out(q: Question, case: _Case, base: Base) -> bool:
    """Whether a cheap check fails with every seat plan, whatever the way."""
    for stand in base:
        if failing(stand.seated.ramp):
            case.covered.append(f"every place, for {stand.seated.name}")
            own = [stand.seated.own(c) for c in stand.seated.ramp]
            case.reasons += reasons_of(own)
            return True
    for stand in base:
        if stand.fails:
            where = f"place {stand.place.id} ({stand.place.kind}), {stand.seated.name}"
            case.covered.append(f"{where}: every spot and heading in it, every posture")
            own = [stand.seated.own(c) for c in stand.fails]
            case.reasons += [f"{where}: {r}" for r in reasons_of(own)]
            return True
    if not _room_to_sit(q, base, _usual(q)):
        case.covered.append(f"{_where(base)}: every state of every seat")
        case.reasons.append(f"{_where(base)}: no seat for everybody who walks, with all in use")
        return True
    return False


def _where(base: Base) -> str:
    if len(base) == 1:
        return f"place {base[0].place.id} ({base[0].place.kind})"
    return "; ".join(f"{s.seated.name} in place {s.place.id}" for s in base)


def _capped(q: Question, base: Base) -> bool:
    """Whether a check that neither seats nor way can mend keeps the answer from being a yes."""
    return any(
        c.check_class in DECIDING and c.finding is not Finding.HOLDS
        for s in base
        for c in (*s.seated.ramp, *q.best_climb(s.seated).checks, *s.held)
    )


# --- a yes -----------------------------------------------------------------------------------


def _easy(q: Question, case: _Case, base: Base) -> list[Trial]:
    """Arrangements of these chairs to which a way is easily found; the last one is the best."""
    out: list[Trial] = []
    for plan in itertools.islice(_plans(q, case, base), _MOST_EASY):
        if q.late():
            break
        trial = _driven(q, case, base, plan, Effort.EASY)
        if trial is None:
            continue
        out.append(trial)
        if trial.verdict in YES or _stays(trial):
            break
    return out


def _plans(q: Question, case: _Case, base: Base) -> Iterator[dict[str, str]]:
    """The seat plans with which these chairs can stand and the others sit, cheapest first."""
    if any(meets(a.parked, b.parked) for a, b in itertools.combinations(base, 2)):
        return
    barred = frozenset().union(*(case.ways.barred(s) for s in base))
    if any(len(seat.states()) == 1 and (seat.id, "in use") in barred for seat in q.van.seats):
        return
    for plan in seats.plans(q.van, barred):
        if _room_to_sit(q, base, plan) and not overload(q, _layout(q, base, plan)):
            yield plan


def _driven(q: Question, case: _Case, base: Base, plan: Plan, effort: Effort) -> Trial | None:
    """All chairs driven in with these seats, in the best order for which ways are found."""
    best: Trial | None = None
    for order in itertools.permutations(range(len(base))):
        layout = Layout(base, plan, order)
        found: list[Found | None] = [None] * len(base)
        for i in order:
            found[i] = case.ways.find(base[i], plan, layout.before(i), effort)
            if found[i] is None:
                break
        if all(found):
            trial = trial_of(q, layout, found)
            if best is None or rank(q.basis, trial) < rank(q.basis, best):
                best = trial
    return best


def _stays(trial: Trial, *but: str) -> bool:
    """Whether something other than seats keeps the trial from being a yes.

    Args:
        but: what to leave out besides, by the beginning of its id.
    """
    return any(
        c.check_class in DECIDING
        and c.finding is not Finding.HOLDS
        and not c.id.startswith((*_BY_PLAN, *but))
        for c in trial.checks
    )


def _cheaper(q: Question, case: _Case, best: Trial) -> Trial:
    """The same chairs with fewer seats changed, where only the full search finds a way."""
    fewer = itertools.takewhile(
        lambda plan: seats.changed(plan) < seats.changed(best.layout.plan),
        _plans(q, case, best.layout.stands),
    )
    for plan in itertools.islice(fewer, _MOST_FULL):
        if q.late():
            break
        trial = _driven(q, case, best.layout.stands, plan, Effort.FULL)
        if trial is not None and rank(q.basis, trial) < rank(q.basis, best):
            return trial
    return best


# --- what has no easy way --------------------------------------------------------------------


def _hard(
    q: Question, case: _Case, every: Sequence[Base], bases: Sequence[Base], easy: Sequence[Trial]
) -> Outcome:
    """Proofs first, then the full search where a yes is still possible."""
    alive: list[tuple[Base, Plan]] = []
    driven = {t.layout.stands for t in easy}
    for base in bases:
        if base in driven:
            continue
        plan = _alive(q, case, base)
        if plan is not None:
            alive.append((base, plan))
    if not alive and not easy:
        return _no(q, case, every)
    close = list(easy)
    for base, plan in alive[:_MOST_BASES]:
        trial = _searched(q, case, base, plan)
        if trial.verdict in YES:
            return Outcome(trial)
        close.append(trial)
    best = min(close, key=lambda t: rank(q.basis, t))
    if any(best is t for t in easy) or _stays(best, "cabin."):
        return Outcome(best)
    return Outcome(_open(q, case, best.layout, explain=True))


def _alive(q: Question, case: _Case, base: Base) -> Plan | None:
    """A seat plan that no proof closes, or None where proofs close them all.

    Plans with the fewest seats standing come first: what is closed to a chair with these seats is
    closed with more. Folded seats are left out at first, so that a proof covers all their states.
    """
    fixed = {s.id: "in use" for s in q.van.seats if len(s.states()) == 1}
    if _closed(case, base, fixed, "every seat in any state or out"):
        return None
    plans = [p for p in seats.plans(q.van) if _room_to_sit(q, base, p)]
    shut: list[frozenset[tuple[str, str]]] = []
    for plan in reversed(plans):
        if any(stands <= frozenset(plan.items()) for stands in shut):
            continue
        layout = _layout(q, base, plan)
        if over := overload(q, layout):
            case.reasons += [f"{_where(base)}, {_says(plan)}: {r}" for r in reasons_of(over)]
            continue
        used = {seat: state for seat, state in plan.items() if state == "in use"}
        for standing, more in ((used, "others in any state or out"), (plan, "")):
            if _closed(case, base, standing, _says(standing, more)):
                shut.append(frozenset(standing.items()))
                break
        else:
            return plan
    return None


def _says(plan: Plan, more: str = "") -> str:
    told = [f"{seat} {state}" for seat, state in plan.items()]
    return "seats: " + ", ".join([*told, more] if more else told)


def _closed(case: _Case, base: Base, plan: Plan, says: str) -> bool:
    for stand in base:
        way = case.ways.closed(stand, plan)
        if way is not None:
            who = "" if len(base) == 1 else f", {stand.seated.name}"
            case.shut[f"place {stand.place.id}{who}: {says}"] = way
            return True
    return False


def _searched(q: Question, case: _Case, base: Base, alive: Plan) -> Trial:
    """The full search; where something else keeps it from a yes, a short one for the sheet."""
    capped = _capped(q, base)
    if capped and not q.explain:
        return trial_of(q, _layout(q, base, alive), [None] * len(base))
    plans = list(itertools.islice(_plans(q, case, base), _MOST_FULL))
    effort = Effort.SOME if capped else Effort.FULL
    for plan in plans[: 1 if capped else None]:
        if q.late():
            break
        trial = _driven(q, case, base, plan, effort)
        if trial is not None and (trial.verdict in YES or capped):
            return trial
    shown = next((p for p in plans if not _known_closed(case, base, p)), alive)
    return _open(q, case, _layout(q, base, shown), explain=False)


def _known_closed(case: _Case, base: Base, plan: Plan) -> bool:
    return any(case.ways.closed(stand, plan) is not None for stand in base)


def _open(q: Question, case: _Case, layout: Layout, *, explain: bool) -> Trial:
    """A close call: what ways were found, and of the first chair that has none why not."""
    found: list[Found | None] = [None] * len(layout.stands)
    told: list[Way | None] = [None] * len(layout.stands)
    for i in layout.order:
        stand, before = layout.stands[i], layout.before(i)
        found[i] = case.ways.find(stand, layout.plan, before, Effort.EASY)
        if found[i] is None:
            told[i] = case.ways.open(stand, layout.plan, before, explain=explain)
            explain = False
    return trial_of(q, layout, found, told)


# --- a no ------------------------------------------------------------------------------------


def _postures(q: Question) -> str:
    names = dict.fromkeys(s.name for seated in q.seated for s in seated.sittings)
    return f"postures: {', '.join(names)}; entering forwards and backing"


def _no(q: Question, case: _Case, every: Sequence[Base]) -> Outcome:
    """Every arrangement is out: the nearest one is shown, with where it is closed."""
    base = min(every, key=lambda b: sum(len(s.fails) for s in b))
    base = next((b for b in every if any(_is_shut(case, s) for s in b)), base)
    told = [_is_shut(case, s) for s in base]
    told = [w and case.ways.explained(w) for w in told]
    layout = _layout(q, base)
    trial = trial_of(q, layout, [None] * len(base), told, climb=q.explain)
    if trial.verdict is not Verdict.NO:
        # What is out here was shown over several seat plans together.
        trial = _with(trial, _together(q))
    covered = [*case.covered, *case.shut, _postures(q)]
    if len(q.seated) > 1:
        covered.append("the chairs in any order, each in a place of its own")
    reasons = [*case.reasons]
    reasons += [f"{says}: {r}" for says, w in case.shut.items() for r in reasons_of((w.check,))]
    reasons += [r for r in trial.reasons if not any(r in told_ for told_ in reasons)]
    drive = {says: way.shut for says, way in case.shut.items()}
    pinch = next((w.pinch for w in told if w is not None and w.pinch is not None), None)
    return Outcome(trial, Proof(tuple(dict.fromkeys(covered)), _unique(reasons), drive, pinch))


def _unique(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))


def _is_shut(case: _Case, stand: Stand) -> Way | None:
    mine = [w for says, w in case.shut.items() if says.startswith(f"place {stand.place.id}")]
    return mine[0] if mine else None


def _with(trial: Trial, check: Check) -> Trial:
    checks = (*trial.checks, check)
    return Trial(
        trial.layout, verdict_of(checks), trial.seating, trial.climbs, trial.ways, trial.bad, checks
    )


def _together(q: Question) -> Check:
    return Check(
        "seats.arrangement", "Is there any arrangement that carries the whole party?",
        CheckClass.PHYSICAL, Finding.FAILS, Margin(-1, -1, "seats"), "one that does",
        "each is closed by a proof or overloaded", (), "one arrangement after the other (counting)",
    )  # fmt: skip


def _up_no(q: Question, bases: Sequence[Base], hopeless: Sequence[Seated]) -> Outcome:
    """Nobody gets up the ramp, whatever the place."""
    trial = trial_of(q, _layout(q, bases[0]), [None] * len(bases[0]))
    whose = ", ".join(s.name for s in hopeless)
    covered = (f"every place and every state of every seat, for {whose}", _postures(q))
    return Outcome(trial, Proof(covered, trial.reasons))
