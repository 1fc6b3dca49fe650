"""Which vans could fit so far, and what to ask next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from sillway.errors import BadInput
from sillway.fit.check import Check
from sillway.fit.known import Basis
from sillway.fit.screen import Screened, Stands, next_measures, screen
from sillway.fit.sketch import told, whole
from sillway.records.measure import Way
from sillway.records.read import rider_from, van_from
from sillway.records.van import Van
from sillway.store.models import Record
from sillway.store.records import read_record
from sillway.units import Shown
from sillway.web.calls.answers import shown
from sillway.web.calls.questions import BY_MEASURE, DRIVE, QUESTIONS
from sillway.web.match.who import lot

_ORDER: Final = (Stands.CLEAR, Stands.OPEN, Stands.OUT)
# Parsed vans kept by each process; a large lot has some hundred.
_VANS: Final = 1024
_TAPE: Final = str(Way.TAPE)


@dataclass(frozen=True, slots=True)
class VanSoFar:
    """How one van stands in the talk so far.

    Attributes:
        why: the bound that says most, with its margin, in words.
    """

    row: Record
    screened: Screened
    why: str

    @property
    def stands(self) -> Stands:
        """After the quick bounds."""
        return self.screened.stands


@dataclass(frozen=True, slots=True)
class Talk:
    """The lot as it stands in the talk.

    Attributes:
        vans: the best first.
        not_whole: vans that cannot be asked, their records lack measures.
        ask: id of the question that settles most; empty when all are answered or passed over.
        settles: for how many vans.
        again: questions told from memory that a tape would settle, with for how many vans.
        wrong: why nothing can be screened, if so.
    """

    vans: tuple[VanSoFar, ...]
    not_whole: int
    ask: str
    settles: int
    again: tuple[tuple[str, int], ...] = ()
    wrong: str = ""

    def of(self, stands: Stands) -> tuple[VanSoFar, ...]:
        """The vans that stand so."""
        return tuple(one for one in self.vans if one.stands is stands)

    @property
    def clear(self) -> tuple[VanSoFar, ...]:
        """Nothing against them so far."""
        return self.of(Stands.CLEAR)

    @property
    def open(self) -> tuple[VanSoFar, ...]:
        """Not decided by what is known."""
        return self.of(Stands.OPEN)

    @property
    def out(self) -> tuple[VanSoFar, ...]:
        """Ruled out."""
        return self.of(Stands.OUT)


def talk(doc: Mapping[str, Any], passed: frozenset[str], on: dt.date) -> Talk:
    """Screen the lot with what is known and choose the next question.

    Args:
        passed: questions passed over in this talk.
    """
    rows = lot()
    whole_rows = [row for row in rows if row.complete]
    try:
        rider = rider_from(whole(doc, on))
    except BadInput as error:
        return Talk((), len(rows) - len(whole_rows), "", 0, wrong=error.sentence())
    basis = Basis(on)
    vans = [_so_far(row, screen(van_at(row.pk, row.version), rider, basis)) for row in whole_rows]
    vans.sort(key=lambda v: (_ORDER.index(v.stands), -v.screened.comfort, v.row.title))
    open_ = [one for one in open_questions(doc) if one not in passed]
    ask, settles = "", 0
    if DRIVE in open_:
        ask = DRIVE
    elif open_:
        measures = {name: one for name, one in BY_MEASURE.items() if one in open_}
        ranked = next_measures((one.screened for one in vans), measures)
        ask, settles = (measures[ranked[0][0]], ranked[0][1]) if ranked else (open_[0], 0)
    again = () if settles or ask == DRIVE else _again(doc, vans)
    return Talk(tuple(vans), len(rows) - len(whole_rows), ask, settles, again)


def _again(doc: Mapping[str, Any], vans: Sequence[VanSoFar]) -> tuple[tuple[str, int], ...]:
    """Once nothing else settles: what was told from memory and is still too loose."""
    loose = {}
    for one in QUESTIONS:
        if one.asked is not None and shown(doc, one.id):
            given = told(doc, one.asked)
            if given is not None and not (isinstance(given, dict) and given.get("way") == _TAPE):
                loose[one.asked.measure] = one.id
    ranked = next_measures((one.screened for one in vans), loose)
    return tuple((loose[name], count) for name, count in ranked)


def open_questions(doc: Mapping[str, Any]) -> list[str]:
    """The questions without an answer, in their usual order."""
    drive = doc["chair"].get("drive") if isinstance(doc.get("chair"), dict) else None
    found = []
    for one in QUESTIONS:
        if one.asked is None:
            if not drive:
                found.append(one.id)
        elif shown(doc, one.id) and told(doc, one.asked) is None:
            found.append(one.id)
    return found


@lru_cache(maxsize=_VANS)
def van_at(number: int, revision: int) -> Van:
    """A van as it stood at a revision, which never changes. Raises BadInput."""
    return van_from(read_record(number, revision).content.doc)


def _so_far(row: Record, screened: Screened) -> VanSoFar:
    return VanSoFar(row, screened, _why(screened.decides, screened.stands))


def _why(check: Check, stands: Stands) -> str:
    if check.margin is None:
        return f"{check.question} {str(check.finding).capitalize()}."
    show = Shown(check.margin.unit)
    if stands is Stands.OUT:
        return f"{check.question} Short by {show(-check.margin.best)} even at the best."
    if stands is Stands.CLEAR:
        return f"{check.question} At least {show(check.margin.worst)} left."
    low, high = show(check.margin.worst), show(check.margin.best)
    return f"{check.question} Between {low} and {high} left."
