"""The lines of a match: what was answered, sorted, and what is still open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sillway.store.keys import Destroyed
from sillway.store.models import Record
from sillway.store.records import read_many
from sillway.web.fits import keep
from sillway.web.fits.models import Fitted

#: Verdicts in words, best first.
VERDICTS: Final = ("fits", "fits with conditions", "too close to call", "does not fit")


@dataclass(frozen=True, slots=True)
class Line:
    """One pair of a match.

    Attributes:
        number, title, stage, whole: of the record on the other side.
        row: what was answered; None where nothing that still holds was.
        in_time: whether the search came to its end.
        changed: there is an answer, but records or rules changed since.
    """

    van: int
    rider: int
    number: int
    title: str
    stage: str
    whole: bool
    row: dict[str, Any] | None
    in_time: bool
    changed: bool


def for_rider(rider: Record, vans: Sequence[Record], on: dt.date) -> list[Line]:
    """A line for each van, best first."""
    found = Fitted.objects.filter(rider=rider, van__in=vans).defer("sheet")
    kept = {one.van_id: one for one in found}
    made = (_line(van, rider, van.pk, van.title, kept.get(van.pk), on) for van in vans)
    return _sorted(made)


def for_van(van: Record, riders: Sequence[Record], on: dt.date) -> list[Line]:
    """A line for each rider, best first. Those who were deleted are left out."""
    found = Fitted.objects.filter(van=van, rider__in=riders).defer("sheet")
    kept = {one.rider_id: one for one in found}
    names = {pk: str(said.doc.get("name") or "?") for pk, said in read_many(list(riders)).items()}
    made = (
        _line(van, rider, rider.pk, names[rider.pk], kept.get(rider.pk), on)
        for rider in riders
        if rider.pk in names
    )
    return _sorted(made)


def _line(
    van: Record, rider: Record, number: int, title: str, kept: Fitted | None, on: dt.date
) -> Line | None:
    stage, whole = (van.stage, van.complete) if number == van.pk else (rider.stage, rider.complete)
    row, in_time = None, True
    if kept is not None and keep.holds(kept, van, rider, on):
        try:
            row, in_time = keep.row_of(kept, rider), kept.in_time
        except Destroyed:
            return None
    changed = kept is not None and row is None
    return Line(van.pk, rider.pk, number, title, stage, whole, row, in_time, changed)


def _sorted(made: Iterable[Line | None]) -> list[Line]:
    return sorted((line for line in made if line is not None), key=_key)


def _key(line: Line) -> tuple[int, float, str, int]:
    if line.row is None:
        return (len(VERDICTS), 0.0, line.title, line.number)
    place = VERDICTS.index(line.row["verdict"])
    return (place, -line.row["comfort"], line.title, line.number)


def counts(found: Iterable[Line]) -> list[tuple[str, int]]:
    """How many lines have each verdict, best first."""
    said = [line.row["verdict"] for line in found if line.row is not None]
    return [(verdict, said.count(verdict)) for verdict in VERDICTS]
