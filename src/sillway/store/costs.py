"""What a van has cost the lot: one sealed document per van, read and added to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, Final
from uuid import uuid4

from django.db import transaction

from sillway.store.by import By
from sillway.store.ledger import KIND, CostLine, Ledger, ledger
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.records import (
    content_of,
    create_record,
    newest,
    read_many,
    read_record,
    save_record,
)

_Lines = list[dict[str, Any]]
# Sums kept in memory; a lot has some hundreds of vans, so this is years of changes.
_MOST_TOTALS: Final = 5000
_TOTALS: Final[dict[bytes, int]] = {}


def ledgers(vans: Iterable[int]) -> dict[int, Ledger]:
    """The costs of these vans by the van's number; a van without any is left out."""
    rows = list(Record.objects.filter(kind=KIND, about__in=list(vans)))
    said = read_many(rows)
    return {
        row.about_id: ledger(said[row.pk].doc)
        for row in rows
        if row.about_id is not None and row.pk in said
    }


def totals_cents(vans: Iterable[int]) -> dict[int, int]:
    """What is in each of these vans, by the van's number; a van without costs is left out.

    A revision never changes, so its sum is kept in memory under its digest: opening all of them
    takes longer than a list may.
    """
    rows = list(Record.objects.filter(kind=KIND, about__in=list(vans)))
    revisions = newest(rows)
    if len(_TOTALS) > _MOST_TOTALS:
        _TOTALS.clear()
    found: dict[int, int] = {}
    for row in rows:
        one = revisions.get(row.pk)
        if row.about_id is None or one is None:
            continue
        digest = bytes(one.digest)
        if digest not in _TOTALS:
            _TOTALS[digest] = ledger(content_of(row, one).doc).total_cents
        found[row.about_id] = _TOTALS[digest]
    return found


def add_line(van: int, day: dt.date, what: str, cents: int, by: By) -> None:
    """Put one line to a van's costs. Raises BadInput, NoSuchRecord."""
    line = {"id": uuid4().hex, "day": day.isoformat(), "what": what, "cents": cents}
    _change(van, lambda lines: [*lines, line], by, note=f"added: {what}"[:200])


def take_line(van: int, line: str, by: By) -> CostLine | None:
    """Take one line out and answer it; it stays in the revisions. None if it is not there."""
    held = ledgers([van]).get(van, Ledger()).lines

    def without(lines: _Lines) -> _Lines:
        return [one for one in lines if one.get("id") != line]

    _change(van, without, by, note="taken out")
    return next((one for one in held if one.id == line), None)


def _change(van: int, change: Callable[[_Lines], _Lines], by: By, *, note: str) -> None:
    # One transaction around all of it: two first lines must not make two documents.
    with transaction.atomic():
        row = Record.objects.filter(kind=KIND, about=van).first()
        if row is None:
            lines = change([])
            if lines:
                content = Content({"kind": KIND, "lines": lines}, note=note)
                create_record(KIND, content, by, about=van)
            return
        read = read_record(row.pk)
        doc = {**read.content.doc, "lines": change(list(read.content.doc.get("lines", [])))}
        content = replace(read.content, doc=doc, note=note)
        save_record(row.pk, content, by, base=row.version)
