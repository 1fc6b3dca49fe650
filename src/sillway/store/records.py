"""The verbs on records. Each is one transaction and leaves a revision; none loses an update."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.index import reindex
from sillway.store.kinds import Kind, checked_card, kind_of, lacks
from sillway.store.merge import Clash, Side, merge, same
from sillway.store.models import Record, Revision
from sillway.store.pack import Content, pack, unpack


class NoSuchRecord(LookupError):  # noqa: N818 - named for what it tells the reader
    """There is no record, or no revision of it, with that number."""


class Conflict(RuntimeError):  # noqa: N818 - named for what it tells the reader
    """Two people changed the same fields.

    Attributes:
        clashes: the fields, with both answers and the one before.
        mine: what I wanted to save.
        base: the revision I started from.
        theirs: the revision saved meanwhile.
    """

    def __init__(self, clashes: tuple[Clash, ...], mine: Content, base: int, theirs: int) -> None:
        self.clashes, self.mine, self.base, self.theirs = clashes, mine, base, theirs
        fields = ", ".join(clash.field for clash in clashes)
        super().__init__(f"somebody else changed this meanwhile: {fields}")


@dataclass(frozen=True, slots=True)
class Saved:
    """What a save came to.

    Attributes:
        record: its number.
        revision: number of the newest revision now.
        changed: false when there was nothing to change.
        merged: true when another's change was joined in.
    """

    record: int
    revision: int
    changed: bool = True
    merged: bool = False


@dataclass(frozen=True, slots=True)
class Read:
    """A record as it stands at one revision."""

    row: Record
    revision: Revision
    content: Content


def create_record(
    kind: str,
    content: Content,
    by: By,
    *,
    person: str = "",
    about: int | None = None,
    entry: UUID | None = None,
) -> Saved:
    """Keep a new record.

    Args:
        kind: one of ``kinds.KINDS``.
        content: document and card; the document may still lack fields.
        by: who does it.
        person: for a sealed kind, the person it is about; a new person if left out.
        about: the record it belongs to.
        entry: the sender's own id of this entry; sent again, it is kept once.
    Raises:
        BadInput: something given will not do.
        Destroyed: that person's data was deleted.
    """
    how = kind_of(kind)
    content = replace(content, card=checked_card(how, content.card))
    missing = lacks(how, content.doc)
    if how.sealed and not person:
        # Before the transaction: a key without a record does no harm, the reverse would.
        if entry is not None and (known := _known(entry)) is not None:
            return known
        person = keys.new_person()
    elif not how.sealed and person:
        raise BadInput("person", person, f"nothing, a {kind} is about no person")
    with transaction.atomic():
        if entry is not None and (known := _known(entry)) is not None:
            return known
        if about is not None:
            _locked(about)
        at = now()
        row = Record.objects.create(
            kind=kind, person=person, about_id=about, made_at=at, changed_at=at
        )
        _append(row, content, by, complete=not missing, entry=entry)
    return Saved(row.pk, 1)


def save_record(
    record: int,
    content: Content,
    by: By,
    *,
    base: int,
    choices: Mapping[str, Side] | None = None,
    against: int | None = None,
    entry: UUID | None = None,
) -> Saved:
    """Keep a change of a record that was read at revision ``base``.

    Where somebody else saved since, different fields are joined; the same field changed to two
    things is a ``Conflict`` unless ``choices`` says which side holds (``mine`` or ``theirs``) and
    ``against`` is still the newest revision: nobody chooses against what was not shown.

    Raises:
        BadInput, Destroyed, NoSuchRecord, Conflict.
    """
    # Reading a whole document takes longer than all the rest: outside the lock, and only if it
    # is another one. What will not do is refused before anybody is asked to merge.
    shown = read_record(record)
    how = kind_of(shown.row.kind)
    mine = replace(content, card=checked_card(how, content.card))
    complete = _complete(how, mine.doc, shown)
    with transaction.atomic():
        if entry is not None and (known := _known(entry)) is not None:
            return known
        row = _locked(record)
        newest = _at(row, row.version)
        current = newest.content
        merged = False
        if base != row.version:
            start = _at(row, base).content
            chosen = choices if against == row.version else None
            joined = merge(start.whole(), mine.whole(), current.whole(), chosen)
            if joined.clashes:
                raise Conflict(joined.clashes, mine, base, row.version)
            merged = not same(joined.content, mine.whole())
            mine = replace(mine, **joined.content)
            if merged:
                complete = _complete(how, mine.doc, newest)
        if same(mine.whole(), current.whole()):
            return Saved(record, row.version, changed=False)
        _append(row, mine, by, complete=complete, entry=entry)
    return Saved(record, row.version, merged=merged)


def undo_to(record: int, revision: int, by: By, *, base: int) -> Saved:
    """Bring back a record as it stood at ``revision``, as a new revision.

    Raises:
        NoSuchRecord, Destroyed.
        Conflict: somebody saved after ``base``, the revision that was shown.
    """
    with transaction.atomic():
        row = _locked(record)
        then = _at(row, revision).content
        if base != row.version:
            newest = _at(row, row.version).content
            raise Conflict(
                merge(_at(row, base).content.whole(), then.whole(), newest.whole()).clashes,
                then,
                base,
                row.version,
            )
        current = _at(row, row.version).content
        if same(then.whole(), current.whole()):
            return Saved(record, row.version, changed=False)
        missing = lacks(kind_of(row.kind), then.doc)
        _append(row, replace(then, note=""), by, complete=not missing, undo_of=revision)
    return Saved(record, row.version)


def read_record(record: int, revision: int | None = None) -> Read:
    """A record as it stands, or stood at a revision. Raises NoSuchRecord, Destroyed."""
    try:
        row = Record.objects.get(pk=record)
    except Record.DoesNotExist:
        raise NoSuchRecord(f"there is no record {record}") from None
    return _at(row, row.version if revision is None else revision)


def read_many(rows: list[Record]) -> dict[int, Content]:
    """What these records say now, by number; one query. Deleted persons are left out."""
    wanted = {row.pk: row for row in rows}
    found: dict[int, Content] = {}
    for pk, revision in newest(rows).items():
        try:
            found[pk] = content_of(wanted[pk], revision)
        except keys.Destroyed:
            continue
    return found


def newest(rows: list[Record]) -> dict[int, Revision]:
    """The newest revision of each of these records, by the record's number; one query."""
    found = Revision.objects.filter(record__in=rows, number=F("record__version"))
    return {one.record_id: one for one in found.only("record", "number", "body", "digest")}


def history(record: int, *, upto: int | None = None, most: int | None = None) -> list[Read]:
    """Every revision, newest first; or ``most`` of them from number ``upto`` down.

    Raises:
        NoSuchRecord, Destroyed.
    """
    row = read_record(record).row
    rows = Revision.objects.filter(record=row).order_by("-number")
    if upto is not None:
        rows = rows.filter(number__lte=upto)
    return [Read(row, one, content_of(row, one)) for one in rows[:most]]


def chain_holds(row: Record) -> bool:
    """Whether every revision of a record still is what it was when it was kept."""
    before, number = b"", 0
    for number, one in enumerate(Revision.objects.filter(record=row).order_by("number"), start=1):
        if one.number != number or bytes(one.digest) != digest(before, one):
            return False
        before = bytes(one.digest)
    return number == row.version


def _complete(how: Kind, doc: dict[str, Any], known: Read) -> bool:
    """Whether a document lacks nothing; one that is known already is not read again."""
    if same(doc, known.content.doc):
        return known.row.complete
    return not lacks(how, doc)


def _known(entry: UUID) -> Saved | None:
    one = Revision.objects.filter(entry=entry).first()
    return Saved(one.record_id, one.number, changed=False) if one else None


def _locked(record: int) -> Record:
    # The transaction began IMMEDIATE: nobody else writes until it ends.
    try:
        return Record.objects.get(pk=record)
    except Record.DoesNotExist:
        raise NoSuchRecord(f"there is no record {record}") from None


def _at(row: Record, number: int) -> Read:
    try:
        one = Revision.objects.get(record=row, number=number)
    except Revision.DoesNotExist:
        raise NoSuchRecord(f"record {row.pk} has no revision {number}") from None
    return Read(row, one, content_of(row, one))


def bound_to(row: Record, number: int) -> str:
    """What the body of one revision is sealed to, so that it opens in no other place."""
    return f"{row.kind} {row.pk}.{number}"


def content_of(row: Record, one: Revision) -> Content:
    """What a record says at one of its revisions. Raises Destroyed, or KeyTrouble if altered."""
    return unpack(bytes(one.body), row.person, bound_to(row, one.number))


def digest(before: bytes, one: Revision) -> bytes:
    """Chained over what the row says, so that altering or dropping one shows."""
    head = [one.record_id, one.number, one.at.isoformat(), one.account, one.by_name, one.origin,
            one.undo_of, str(one.entry)]  # fmt: skip
    return hashlib.sha256(before + repr(head).encode() + bytes(one.body)).digest()


def _append(
    row: Record,
    content: Content,
    by: By,
    *,
    complete: bool,
    undo_of: int | None = None,
    entry: UUID | None = None,
) -> None:
    number = row.version + 1
    last = Revision.objects.filter(record=row, number=row.version).first()
    one = Revision(
        record=row,
        number=number,
        at=now(),
        account=by.account,
        by_name=by.name,
        origin=by.origin,
        undo_of=undo_of,
        entry=entry,
        body=pack(content, row.person, bound_to(row, number)),
    )
    one.digest = digest(bytes(last.digest) if last else b"", one)
    one.save(force_insert=True)
    row.version = number
    row.changed_at = one.at
    row.complete = complete
    reindex(row, content)
    row.save()
