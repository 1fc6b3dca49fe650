"""One question the fit asks, and its answer: verdict, margin, and what would settle it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sillway.fit.known import Known
from sillway.units import Shown

# So many measures are named to settle one check.
_SETTLED_BY = 4
# So many tolerances are told beside a check.
_TOLD = 3


class CheckClass(StrEnum):
    """What a check can do to the verdict (design 1.1)."""

    PHYSICAL = "physical"
    RATING = "rating"
    PRACTICE = "practice"
    YARDSTICK = "yardstick"


class Finding(StrEnum):
    """What a single check comes to."""

    HOLDS = "holds"
    CLOSE = "too close to call"
    FAILS = "does not hold"
    NOT_ASSESSED = "not assessed"


@dataclass(frozen=True, slots=True)
class Margin:
    """How much is left, signed: with every measure at its bad end, and at its good end."""

    worst: float
    best: float
    unit: str

    def shown(self) -> str:
        """The guaranteed margin as people read it."""
        return Shown(self.unit)(self.worst)


@dataclass(frozen=True, slots=True)
class Settle:
    """The measurement that would decide a close call, and what is to be done."""

    measure: str
    how: str
    now: str = ""


@dataclass(frozen=True, slots=True)
class Check:
    """One check of a fit.

    Attributes:
        id: stable name (``ramp.header``).
        question: what is asked, in plain words.
        check_class: what it can do to the verdict.
        finding: what it comes to.
        margin: how much is left; None where nothing is measured (yes/no questions).
        needed, measured: both sides as people read them.
        used: every measure it rests on.
        source: clause, date and whether the text was seen; or the statics it follows.
        settle: measures that would settle it, most telling first.
        who: who can settle a practice condition.
        note: a remark to print with it.
    """

    id: str
    question: str
    check_class: CheckClass
    finding: Finding
    margin: Margin | None
    needed: str
    measured: str
    used: tuple[Known, ...]
    source: str
    settle: tuple[Settle, ...] = ()
    who: str = ""
    note: str = ""

    @property
    def tolerance(self) -> str:
        """The widest tolerances used, as words; all measures stand in ``used``."""
        wide = sorted((k for k in self.used if k.half_width), key=lambda k: -k.half_width)
        told = "; ".join(f"{k.name} ±{Shown(k.unit)(k.half_width)} ({k.way})" for k in wide[:_TOLD])
        more = len(wide) - _TOLD
        return f"{told}; and {more} narrower" if more > 0 else told

    @property
    def assumed(self) -> tuple[Known, ...]:
        """The values it rests on that nobody measured."""
        return tuple(k for k in self.used if k.assumed)


def margin_over(
    of: Callable[..., float], used: Sequence[Known], unit: str
) -> tuple[Margin, tuple[Known, ...]]:
    """Ends of a margin over all its measures, and the measures by how much each one widens it.

    ``of`` has to be monotone in each argument taken alone over the box of intervals; its extremes
    then lie at corners of the box, which are all visited.

    >>> from sillway.records.measure import Way
    >>> door = Known("door.width", 800, 806, "mm", Way.TAPE, "803 mm")
    >>> chair = Known("chair.width", 690, 716, "mm", Way.REPORTED, "703 mm")
    >>> margin, by_weight = margin_over(lambda d, c: d - c, [door, chair], "mm")
    >>> margin.worst, margin.best, by_weight[0].name
    (84, 116, 'chair.width')
    """
    wide = [k for k in used if k.high > k.low]
    ends = [(k.low, k.high) if k.high > k.low else (k.low,) for k in used]
    values = {corner: of(*corner) for corner in itertools.product(*ends)}
    worst, best = min(values.values()), max(values.values())

    def swing(known: Known) -> float:
        place = next(i for i, k in enumerate(used) if k is known)
        by_end: dict[float, list[float]] = {known.low: [], known.high: []}
        for corner, value in values.items():
            by_end[corner[place]].append(value)
        return max(
            abs(a - b) for a, b in zip(by_end[known.low], by_end[known.high], strict=True)
        )  # corners come in the same order on both sides

    ranked = sorted(wide, key=swing, reverse=True)
    return Margin(worst, best, unit), tuple(ranked)


def finding_of(margin: Margin) -> Finding:
    """A margin holds if its bad end does, fails if its good end fails, else is close."""
    if margin.worst >= 0:
        return Finding.HOLDS
    return Finding.FAILS if margin.best < 0 else Finding.CLOSE


def settle_by(ranked: Sequence[Known]) -> tuple[Settle, ...]:
    """The measures of a close call, the most telling first, and no more than can be taken."""
    out = []
    for known in ranked[:_SETTLED_BY]:
        verb = "measure" if known.assumed else "measure again, closer than"
        shown = "" if known.assumed else f" ±{Shown(known.unit)(known.half_width)}"
        out.append(Settle(known.name, f"{verb} {known.name}{shown}".strip(), known.typed))
    return tuple(out)


def not_assessed(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    *,
    measures: Sequence[str],
    needed: str,
    source: str,
    who: str = "",
    note: str = "",
) -> Check:
    """A check that cannot be answered for want of measures; says which."""
    settle = tuple(Settle(m, f"measure {m}") for m in measures)
    return Check(
        id, question, check_class, Finding.NOT_ASSESSED, None, needed, "not measured", (), source,
        settle, who, note,
    )  # fmt: skip


def yes_no(
    id: str,  # noqa: A002
    question: str,
    check_class: CheckClass,
    answer: bool | None,
    *,
    needed: str,
    measured: str,
    source: str,
    measures: Sequence[str] = (),
    who: str = "",
    note: str = "",
) -> Check:
    """A check without a measure: yes, no, or nobody has looked."""
    if answer is None:
        return not_assessed(
            id, question, check_class, measures=measures, needed=needed, source=source, who=who,
            note=note,
        )  # fmt: skip
    finding = Finding.HOLDS if answer else Finding.FAILS
    return Check(
        id, question, check_class, finding, None, needed, measured, (), source, (), who, note
    )
