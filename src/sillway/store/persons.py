"""A person's data goes when asked: the key is destroyed, and with it every copy of the data."""

from __future__ import annotations

from django.db import connection, transaction

from sillway.store import keys, photos, ring
from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.models import DestroyedPerson, Photo, Record, Term


def destroy_person(person: str, by: By) -> int:
    """Destroy a person's key and whatever finds the person; answers how many records it held.

    The records' revisions stay, as something nobody can read. First the decision is kept, then
    the key goes: after a crash in between, ``finish_destroying`` at the next start ends it.
    """
    with transaction.atomic():
        rows = Record.objects.filter(person=person)
        count = rows.count()
        at = now()
        rows.update(gone_at=at, stage="", came_on=None, invented=False)
        Term.objects.filter(record__person=person).delete()
        DestroyedPerson.objects.get_or_create(person=person, defaults={"at": at})
        numbers = ", ".join(str(pk) for pk in rows.values_list("pk", flat=True))
        trace("person.destroyed", by, subject=person, says=f"records {numbers}"[:400])
    finish_destroying()
    return count


def finish_destroying() -> None:
    """End what a crash interrupted: remove keys and photos of persons who asked for it."""
    for one in DestroyedPerson.objects.filter(done_at=None):
        keys.forget(one.person)
        for photo in Photo.objects.filter(person=one.person):
            photos.remove_files(photo)
        ring.drop_from_copies(one.person)
        one.done_at = now()
        one.save()
    if connection.in_atomic_block:
        return
    # Old pages must not linger in the write-ahead log.
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
