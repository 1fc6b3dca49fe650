"""Judging: from margins, monotone in each measure, to a check.

A window with two ends has no single monotone margin, so several can be judged together.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Sum:
    """Measures of which only a sum or difference counts, as one interval.

    Attributes:
        plus, minus: what is added and what is taken off.
    """

    name: str
    plus: tuple[Known, ...]
    minus: tuple[Known, ...] = ()

    @property
    def parts(self) -> tuple[Known, ...]:
        """All measures in it."""
        return self.plus + self.minus

    def known(self) -> Known:
        """The interval it spans: exact, as each measure stands in it once."""
        low = sum(k.low for k in self.plus) - sum(k.high for k in self.minus)
        high = sum(k.high for k in self.plus) - sum(k.low for k in self.minus)
        first = self.parts[0]
        return Known(self.name, low, high, first.unit, first.way, first.typed)


def _ranked(ranked: Sequence[Known], sums: Mapping[str, Sum]) -> list[Known]:
    out: list[Known] = []
    for known in ranked:
        if known.name in sums:
            parts = sums[known.name].parts
            out += sorted((k for k in parts if k.half_width), key=lambda k: -k.half_width)
        else:
            out.append(known)
    return list({k.name: k for k in out}.values())


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
    used: Sequence[Known | Sum],
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
    smaller than the true one. A `Sum` counts as one measure, and is told as those in it.
    """
    sums = {u.name: u for u in used if isinstance(u, Sum)}
    ends = [u.known() if isinstance(u, Sum) else u for u in used]
    parts = tuple(
        {k.name: k for u in used for k in (u.parts if isinstance(u, Sum) else (u,))}.values()
    )
    each = [margin_over(of, ends, unit) for of in margins]
    margin = Margin(min(m.worst for m, _ in each), min(m.best for m, _ in each), unit)
    ranked = _ranked(min(each, key=lambda one: one[0].worst)[1], sums)
    return check_of(
        id, question, check_class, margin, ranked, parts, needed=needed, measured=measured,
        source=source, who=who, note=note,
    )  # fmt: skip


def judge(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    of: Callable[..., float],
    used: Sequence[Known | Sum],
    unit: str,
    *,
    needed: str,
    measured: str,
    source: str,
    who: str = "",
    note: str = "",
) -> Check:
    """Build a check from a margin that is monotone in each measure (see `check.margin_over`)."""
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
