"""Keeping many records at once: all of them or none, in one short transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from django.db import transaction

from sillway.errors import BadInput
from sillway.store import keys, records
from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.index import index_of
from sillway.store.kinds import kind_of
from sillway.store.models import Figure, Record, Revision, Term
from sillway.store.pack import Content, pack

# Rows written by one statement; SQLite is quick long before this and bounded above it.
_BATCH: Final = 200


@dataclass(frozen=True, slots=True)
class Item:
    """One record to keep, checked by the caller.

    Attributes:
        kind: one of ``kinds.KINDS``.
        content: document and card; the card with its defaults.
        complete: whether the document is whole.
        entry: the sender's own id, by which sending it twice keeps it once.
        record: the record it changes; None for a new one.
        base: the revision it was read at.
        told: how an error names it.
    """

    kind: str
    content: Content
    complete: bool
    entry: UUID
    record: int | None = None
    base: int = 0
    told: str = "record"


def keep_all(items: Sequence[Item], by: By, verb: str, tell: Callable[[int], None]) -> bool:
    """Keep all of these, or, when anything is wrong, none.

    Args:
        items: what to keep; each entry once.
        by: who does it.
        verb: the act as noted in the traces.
        tell: called with how many are prepared; may raise to stop.
    Raises:
        BadInput: one of them was changed since it was read.
    Returns:
        False when these very entries were kept before.
    """
    if not items or Revision.objects.filter(entry=items[0].entry).exists():
        return False
    persons: dict[int, str] = {}
    try:
        # Keys go to disk one by one, which is slow: not while the database is locked.
        for place, item in enumerate(items):
            tell(place)
            if item.record is None and kind_of(item.kind).sealed:
                persons[place] = keys.new_person()
        with transaction.atomic():
            _keep(items, persons, by)
            new = sum(item.record is None for item in items)
            trace(verb, by, says=f"{new} new, {len(items) - new} changed")
    except BaseException:
        for person in persons.values():
            # Looked up, so that an interruption after the commit takes no key that is in use.
            if not Record.objects.filter(person=person).exists():
                keys.forget(person)
        raise
    return True


def _keep(items: Sequence[Item], persons: dict[int, str], by: By) -> None:
    at = now()
    rows = [
        _row(item)
        if item.record is not None
        else Record(kind=item.kind, person=persons.get(place, ""), made_at=at, changed_at=at)
        for place, item in enumerate(items)
    ]
    terms: list[Term] = []
    figures: list[Figure] = []
    for row, item in zip(rows, items, strict=True):
        row.version += 1
        row.changed_at, row.complete = at, item.complete
        words, sizes = index_of(row, item.content)
        terms.extend(words)
        figures.extend(sizes)
    Record.objects.bulk_create([row for row in rows if row.pk is None], batch_size=_BATCH)
    changed = [row for row, item in zip(rows, items, strict=True) if item.record is not None]
    for row in changed:
        # One by one is many times as fast here as bulk_update, which writes CASE by the row.
        row.save()
    for start in range(0, len(changed), _BATCH):
        some = changed[start : start + _BATCH]
        Term.objects.filter(record__in=some).delete()
        Figure.objects.filter(record__in=some).delete()
    revisions = [
        _revision(row, item, by, at) for row, item in zip(rows, items, strict=True)
    ]  # fmt: skip
    Revision.objects.bulk_create(revisions, batch_size=_BATCH)
    Term.objects.bulk_create(terms, batch_size=_BATCH)
    Figure.objects.bulk_create(figures, batch_size=_BATCH)


def _revision(row: Record, item: Item, by: By, at: dt.datetime) -> Revision:
    before = None
    if item.record is not None:
        before = Revision.objects.filter(record=row, number=row.version - 1).first()
    one = Revision(
        record=row, number=row.version, at=at, account=by.account, by_name=by.name,
        origin=by.origin, entry=item.entry,
        body=pack(item.content, row.person, records.bound_to(row, row.version)),
    )  # fmt: skip
    one.digest = records.digest(bytes(before.digest) if before else b"", one)
    return one


def _row(item: Item) -> Record:
    row = Record.objects.filter(pk=item.record or 0, kind=item.kind, gone_at=None).first()
    if row is None or row.version != item.base:
        raise BadInput(item.told, "changed by somebody meanwhile", "the sheet once more")
    return row
