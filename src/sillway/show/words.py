"""The answer in words: the same for page, PDF, terminal and drawings."""

from __future__ import annotations

import itertools
import math
from typing import Final

from sillway import rules
from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.drive.scene import Point, Pose, Verdict
from sillway.fit.result import Arrangement, Certificate, FitAnswer
from sillway.units import Shown, show_length

CLASS_SAYS: Final = {
    CheckClass.PHYSICAL: ("Physical checks", "They decide the verdict."),
    CheckClass.RATING: ("Ratings", "They decide the verdict."),
    CheckClass.PRACTICE: ("Practice", "Outside its range the answer carries a condition."),
    CheckClass.YARDSTICK: ("Yardsticks", "For comparison; they never change the verdict."),
}
_LEAST_TURN_RAD: Final = 1e-6


def headline(answer: FitAnswer) -> str:
    """The verdict as a sentence of its own.

    >>> from sillway.fit.drive.scene import Verdict
    >>> str(Verdict.NO).capitalize()
    'Does not fit'
    """
    return f"{str(answer.verdict).capitalize()}."


def deciding_check(answer: FitAnswer) -> Check | None:
    """The check whose margin decides, if the answer names one that was asked."""
    return next((check for check in answer.checks if check.id == answer.deciding), None)


def deciding_says(answer: FitAnswer) -> str:
    """What decides, and by how much."""
    check = deciding_check(answer)
    if check is None:
        return ""
    if check.margin is None:
        return f"Decided by: {check.question} {str(check.finding).capitalize()}."
    show = Shown(check.margin.unit)
    worst, best = check.margin.worst, check.margin.best
    if check.finding is Finding.HOLDS:
        size = f"{show(worst)} left, with every measure at its bad end"
    elif check.finding is Finding.FAILS:
        size = f"short by {show(abs(best))}, even with every measure at its good end"
    else:
        size = f"between {show(worst)} and {show(best)}, as far as the measures tell"
    return f"Decided by: {check.question} {size[0].upper()}{size[1:]}."


def margin_says(check: Check) -> str:
    """Both ends of a margin, or one if they agree."""
    if check.margin is None:
        return "none: yes or no" if check.finding is not Finding.NOT_ASSESSED else "not known"
    show = Shown(check.margin.unit)
    worst, best = show(check.margin.worst), show(check.margin.best)
    return worst if worst == best else f"{worst} to {best}"


def backing(answer: FitAnswer) -> str:
    """What backs the verdict, in plain words."""
    if answer.verdict is Verdict.NO:
        if answer.proof is None:
            return "Nothing was written down that backs this no."
        count = len(answer.proof.covered)
        cases = "case" if count == 1 else "cases"
        return (
            f"Proved: {count} {cases} covered, listed under “What this no covers”. Each fails even "
            "with every measure at its good end, for a chair that could slide sideways."
        )
    if answer.certificate is not None and answer.certificate.path:
        claimed = show_length(answer.certificate.claimed_clearance_mm)
        backed = (
            f"A drivable way is certified: {moves(answer.certificate)}. Nothing comes closer than "
            f"{claimed} to the chair at any moment, with every measure at its bad end."
        )
        if answer.verdict is Verdict.CLOSE:
            return f"{backed} Another check is still open."
        return backed
    if answer.verdict is Verdict.CLOSE:
        return "Neither a certified way nor a proof that there is none; see what would settle it."
    return "No certificate comes with this answer."


def moves(certificate: Certificate) -> str:
    """How many runs, turns and reversals a way takes.

    >>> way = ((0.0, 0.0, 0.0), (900.0, 0.0, 0.0), (900.0, 0.0, 1.0))
    >>> moves(Certificate((), (), way, {}, 20.0))
    '1 straight run, 1 turn, no reversal'
    """
    signs: list[int] = []
    runs = turns = bends = 0
    for i, (a, b) in enumerate(itertools.pairwise(certificate.path)):
        centre = certificate.arcs.get(i)
        turn = abs(b[2] - a[2]) > _LEAST_TURN_RAD
        if centre is None and turn:
            turns += 1
            continue
        if centre is None and a[:2] == b[:2]:
            continue
        bends += centre is not None
        runs += centre is None
        signs.append(_sense(a, b, centre))
    reversals = sum(x != y for x, y in itertools.pairwise(signs))
    parts = [_count(runs, "straight run"), _count(turns, "turn")]
    if bends:
        parts.append(_count(bends, "bend"))
    return ", ".join([*parts, _count(reversals, "reversal")])


def _sense(a: Pose, b: Pose, centre: Point | None) -> int:
    if centre is None:
        ahead = (b[0] - a[0]) * math.cos(a[2]) + (b[1] - a[1]) * math.sin(a[2])
        return 1 if ahead >= 0 else -1
    left = (centre[1] - a[1]) * math.cos(a[2]) - (centre[0] - a[0]) * math.sin(a[2]) > 0
    return 1 if left == (b[2] > a[2]) else -1


def _count(n: int, word: str) -> str:
    return f"{n or 'no'} {word}{'s' if n > 1 else ''}"


def seating(arrangement: Arrangement, rider: str) -> list[tuple[str, str]]:
    """Who sits where: person, place."""
    out = [
        (rider, f"place {arrangement.place} ({arrangement.place_kind}), {arrangement.direction} in")
    ]
    out += [(name, f"place {place}") for name, place in arrangement.other_chairs.items()]
    return out + [(name, f"seat {seat}") for name, seat in arrangement.walkers.items()]


def cautions(answer: FitAnswer) -> list[str]:
    """What every sheet says besides, as the rules have it on that day.

    Raises:
        RuleError: if none is in force; a sheet without cautions must not go out.
    """
    ids = [rule_id for rule_id in rules.ids() if rule_id.startswith("caution.")]
    if not ids:
        raise rules.RuleError("caution", "There are no cautions to print on a sheet.")
    return [rules.text(rule_id, answer.on) for rule_id in ids]
