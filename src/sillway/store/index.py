"""The indexed columns of a record, made from what it says."""

from __future__ import annotations

import datetime as dt

from sillway.store import keys
from sillway.store.kinds import kind_of, words_in
from sillway.store.models import Figure, Record, Term
from sillway.store.pack import Content


def reindex(row: Record, content: Content) -> None:
    """Set the columns, words and figures of a record; the caller saves the row."""
    kind = kind_of(row.kind)
    index = kind.index(content.doc, content.card)
    came_on = content.card.get("came_on")
    row.stage = str(content.card.get("stage") or "")
    row.came_on = dt.date.fromisoformat(came_on) if came_on else None
    row.invented = content.doc.get("invented") is True
    row.title = "" if kind.sealed else index.title[:300]
    words = sorted({_kept(word, kind.sealed) for word in index.words})
    Term.objects.filter(record=row).delete()
    Term.objects.bulk_create(Term(record=row, word=word) for word in words)
    Figure.objects.filter(record=row).delete()
    if not kind.sealed:
        Figure.objects.bulk_create(
            Figure(record=row, name=name, value=value) for name, value in index.figures.items()
        )


def find(text: str, kinds: tuple[str, ...]) -> list[Record]:
    """Records of these kinds that have every word of ``text``, the last changed first.

    Plain records match the beginning of a word; sealed ones whole words, names, and the last
    4, 6, 7, 8 or 10 signs of a number.
    """
    rows = Record.objects.filter(kind__in=kinds, gone_at=None)
    words = [word for word in words_in(text) if not (word.isdigit() and len(word) < 2)]
    asked = [part.casefold() for part in text.split()]
    if not asked or not words:
        return []
    for part in asked:
        part_words = words_in(part)
        whole = max(part_words, key=len, default="")
        if not whole:
            continue
        plain = Term.objects.filter(word__startswith=whole).values("record")
        hidden = Term.objects.filter(word=_kept(whole, sealed=True)).values("record")
        rows = rows.filter(pk__in=plain.union(hidden))
    return list(rows.order_by("-changed_at")[:200])


def _kept(word: str, sealed: bool) -> str:
    # The mark keeps a hash from ever being taken for the beginning of a plain word.
    return "#" + keys.hashed(word).hex() if sealed else word
