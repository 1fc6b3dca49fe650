"""The indexed columns of a record, made from what it says."""

from __future__ import annotations

import datetime as dt

from sillway.store import keys
from sillway.store.kinds import kind_of
from sillway.store.models import Figure, Record, Term
from sillway.store.pack import Content


def reindex(row: Record, content: Content) -> None:
    """Set the columns, words and figures of a record; the caller saves the row."""
    terms, figures = index_of(row, content)
    Term.objects.filter(record=row).delete()
    Term.objects.bulk_create(terms)
    Figure.objects.filter(record=row).delete()
    Figure.objects.bulk_create(figures)


def index_of(row: Record, content: Content) -> tuple[list[Term], list[Figure]]:
    """Set the row's columns; answers its words and figures, none of them kept yet."""
    kind = kind_of(row.kind)
    index = kind.index(content.doc, content.card)
    came_on = content.card.get("came_on")
    row.stage = str(content.card.get("stage") or "")
    row.came_on = dt.date.fromisoformat(came_on) if came_on else None
    row.invented = content.doc.get("invented") is True
    row.title = "" if kind.sealed else index.title[:300]
    words = sorted({kept(word, kind.sealed) for word in index.words})
    figures = {} if kind.sealed else index.figures
    return (
        [Term(record=row, word=word) for word in words],
        [Figure(record=row, name=name, value=value) for name, value in figures.items()],
    )


def kept(word: str, sealed: bool) -> str:
    """A word as the index holds it: as it is, or a keyed hash that tells nothing."""
    # The mark keeps a hash from ever being taken for the beginning of a plain word.
    return "#" + keys.hashed(word).hex() if sealed else word
