"""Which class of check decides what: the one place that turns checks into a verdict.

Physical and rating checks decide. A practice check outside its range, or not assessed, makes
a condition. A yardstick never changes the verdict. `fits` needs a certificate, `does not fit`
a proof; everything between is too close to call.
"""

from __future__ import annotations

from collections.abc import Sequence

from sillway.fit.check import Check, CheckClass, Finding, Settle
from sillway.fit.drive.scene import Verdict
from sillway.fit.result import Condition

DECIDING = (CheckClass.PHYSICAL, CheckClass.RATING)
# Best first.
ORDER = (Verdict.FITS, Verdict.CONDITIONS, Verdict.CLOSE, Verdict.NO)


def verdict_of(checks: Sequence[Check]) -> Verdict:
    """The verdict of one arrangement from its checks.

    A check that nobody could assess leaves a deciding question open: too close to call.
    """
    deciding = [c for c in checks if c.check_class in DECIDING]
    if any(c.finding is Finding.FAILS for c in deciding):
        return Verdict.NO
    if any(c.finding is not Finding.HOLDS for c in deciding):
        return Verdict.CLOSE
    return Verdict.CONDITIONS if conditions_of(checks) else Verdict.FITS


def conditions_of(checks: Sequence[Check]) -> tuple[Condition, ...]:
    """What a yes hangs on: every practice check that does not simply hold."""
    return tuple(
        Condition(c.id, _says(c), c.who)
        for c in checks
        if c.check_class is CheckClass.PRACTICE and c.finding is not Finding.HOLDS
    )


def _says(check: Check) -> str:
    needed = f" (wanted: {check.needed}; found: {check.measured})"
    return f"{check.question} {str(check.finding).capitalize()}{needed}"


def settle_of(checks: Sequence[Check]) -> tuple[Settle, ...]:
    """What to measure, the question whose answer is furthest from certain first, none twice."""
    open_checks = [
        c
        for c in checks
        if c.check_class in DECIDING and c.finding in (Finding.CLOSE, Finding.NOT_ASSESSED)
    ]
    open_checks.sort(key=lambda c: c.margin.best if c.margin else 0.0)
    seen: dict[str, Settle] = {}
    for check in open_checks:
        for settle in check.settle:
            seen.setdefault(settle.measure, settle)
    return tuple(seen.values())


def worst(verdicts: Sequence[Verdict]) -> Verdict:
    """The worst of several verdicts that all have to hold."""
    return max(verdicts, key=ORDER.index)


def best(verdicts: Sequence[Verdict]) -> Verdict:
    """The best of several ways of which one is enough."""
    return min(verdicts, key=ORDER.index)
