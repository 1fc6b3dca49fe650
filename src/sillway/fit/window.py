"""Checks against a window with two ends, which no single monotone margin can tell."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sillway.fit.check import (
    Check,
    CheckClass,
    Finding,
    Margin,
    finding_of,
    margin_over,
    settle_by,
)
from sillway.fit.known import Known

# Margins this close to nothing are rounding of the arithmetic: a nanometre, a nanogram, a
# billionth of a degree; no measure is that fine.
ROUNDING = 1e-6


def snapped(margin: Margin) -> Margin:
    """The margin with ends that are nothing but rounding set to nothing.

    >>> snapped(Margin(-4e-15, 3.0, "mm")).worst
    0.0
    """
    worst = 0.0 if abs(margin.worst) < ROUNDING else margin.worst
    best = 0.0 if abs(margin.best) < ROUNDING else margin.best
    return Margin(worst, best, margin.unit)


def judge_all(
    id: str,  # noqa: A002 - the contract's word
    question: str,
    check_class: CheckClass,
    margins: Sequence[Callable[..., float]],
    used: Sequence[Known],
    unit: str,
    *,
    needed: str,
    measured: str,
    source: str,
    who: str = "",
    note: str = "",
) -> Check:
    """Build a check from several margins that all have to hold, each monotone in each measure.

    The least of monotone margins need not be monotone (an angle may leave its window at either
    end), so each is taken over the corners by itself: the worst end is exact, the best end is not
    smaller than the true one.
    """
    each = [margin_over(of, used, unit) for of in margins]
    margin = snapped(Margin(min(m.worst for m, _ in each), min(m.best for m, _ in each), unit))
    finding = finding_of(margin)
    ranked = min(each, key=lambda one: one[0].worst)[1]
    settle = settle_by(ranked) if finding is Finding.CLOSE else ()
    return Check(
        id, question, check_class, finding, margin, needed, measured, tuple(used), source,
        settle, who, note,
    )  # fmt: skip


def judge_one(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    of: Callable[..., float],
    used: Sequence[Known],
    unit: str,
    *,
    needed: str,
    measured: str,
    source: str,
    who: str = "",
    note: str = "",
) -> Check:
    """`judge` with rounding taken out of the margin."""
    return judge_all(
        id, question, check_class, [of], used, unit, needed=needed, measured=measured,
        source=source, who=who, note=note,
    )  # fmt: skip


def check_of(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    margin: Margin,
    ranked: Sequence[Known],
    used: Sequence[Known],
    *,
    needed: str,
    measured: str,
    source: str,
    who: str = "",
    note: str = "",
) -> Check:
    """Build a check from a margin whose ends were found elsewhere."""
    margin = snapped(margin)
    finding = finding_of(margin)
    settle = settle_by(ranked) if finding is Finding.CLOSE else ()
    return Check(
        id, question, check_class, finding, margin, needed, measured, tuple(used), source,
        settle, who, note,
    )  # fmt: skip
