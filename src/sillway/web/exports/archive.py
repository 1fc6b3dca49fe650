"""The archive of everything: a ZIP written while it is sent, never whole in memory or on disk.

about.txt                    what is where
records/<kind>/<n>.json      each record as it stands
revisions/<kind>/<n>.jsonl   every change of it, the oldest first, one a line
sheets/<kind>s.csv           vans and riders, one a row; can be brought in again
photos/<hash>.jpg, photos.csv
manifest.json                every file with its size and SHA-256, and what is missing and why
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any, Final

from sillway.records.flat import flat
from sillway.store import keys
from sillway.store.clock import now
from sillway.store.models import PhotoUse, Record, Revision
from sillway.store.pack import Content
from sillway.store.photos import read_photo
from sillway.store.records import content_of
from sillway.web.sheet import MODELS

FORMAT: Final = "sillway export 1"
ABOUT: Final = """Everything this account may take out of sillway.

records/    each record as it stands: doc is the document, card what the lot keeps beside it
revisions/  every change of each record, the oldest first, one JSON object a line
sheets/     vans and riders as tables, one a row; they can be brought in again
photos/     pictures by the SHA-256 of their bytes, or a keyed hash for those of people;
            photos.csv tells which belong to which record
manifest.json  every file above with its size and SHA-256

This archive is not encrypted. Keep it as carefully as the papers it came from.
"""
# What a spreadsheet takes for a formula, unless it is plainly a number, a measure or a phone.
_FORMULA: Final = re.compile(r"[=+@\t\r-]")
_NUMBER: Final = re.compile(r"[-+]?\(?\d[\d\s.,/()-]*(?: ?[a-zA-Z\"']{1,5})?(?: to -?[\d., ]+)?")


class _Sink(io.RawIOBase):
    """Takes in what the ZIP writes, to be handed on."""

    def __init__(self) -> None:
        self.held = bytearray()

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self.held += data
        return len(data)

    def take(self) -> bytes:
        """What came since the last time."""
        found = bytes(self.held)
        self.held.clear()
        return found


class _Archive:
    """A ZIP that remembers what is in it."""

    def __init__(self) -> None:
        self.sink = _Sink()
        # A stream that cannot be sought: sizes stand behind each file, as the format provides.
        self.zip = zipfile.ZipFile(self.sink, "w", zipfile.ZIP_DEFLATED)
        self.files: list[dict[str, Any]] = []

    def add(self, path: str, data: bytes, *, packed: bool = True) -> bytes:
        """Put one file in; answers the bytes to hand on."""
        how = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        self.zip.writestr(zipfile.ZipInfo(path, now().timetuple()[:6]), data, how)
        digest = hashlib.sha256(data).hexdigest()
        self.files.append({"path": path, "bytes": len(data), "sha256": digest})
        return self.sink.take()

    def end(self) -> bytes:
        """The directory at the end, without which a ZIP is not whole."""
        self.zip.close()
        return self.sink.take()


def stream(kinds: Sequence[str], by_name: str) -> Iterator[bytes]:
    """The archive of these kinds, in pieces as they are made.

    Taken record by record, each up to the revision that was newest at the start: what is saved
    meanwhile is not in it.
    """
    archive, missing = _Archive(), list[dict[str, str]]()
    yield archive.add("about.txt", ABOUT.encode())
    rows = list(Record.objects.filter(kind__in=kinds).order_by("kind", "pk"))
    tables: dict[str, list[dict[str, str]]] = {kind: [] for kind in kinds if kind in MODELS}
    counts = dict.fromkeys(kinds, 0)
    for row in rows:
        try:
            revisions = _revisions(row)
        except keys.Destroyed:
            missing.append({"record": f"{row.kind} {row.pk}", "why": "deleted on request"})
            continue
        counts[row.kind] += 1
        newest = revisions[-1][1]
        where = f"{row.kind}/{row.pk:06d}"
        yield archive.add(f"records/{where}.json", _json(_record(row, newest)))
        lines = b"".join(_json(_told(one, said), indent=None) for one, said in revisions)
        yield archive.add(f"revisions/{where}.jsonl", lines)
        if row.kind in tables:
            tables[row.kind].append(_cells(row, newest))
    for kind, table in tables.items():
        yield archive.add(f"sheets/{kind}s.csv", _sheet(table))
    yield from _photos(archive, rows, missing)
    manifest = {
        "format": FORMAT, "made_at": now().isoformat(), "by": by_name, "records": counts,
        "missing": missing, "files": archive.files.copy(),
    }  # fmt: skip
    yield archive.add("manifest.json", _json(manifest))
    yield archive.end()


def safe_cell(text: str) -> str:
    """A cell no spreadsheet will run: what looks like a formula gets the mark for text.

    >>> safe_cell("=1+1"), safe_cell("-15.5 in"), safe_cell("+1 (555) 010-7788"), safe_cell("a")
    ("'=1+1", '-15.5 in', '+1 (555) 010-7788', 'a')
    """
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def _revisions(row: Record) -> list[tuple[Revision, Content]]:
    found = Revision.objects.filter(record=row, number__lte=row.version).order_by("number")
    return [(one, content_of(row, one)) for one in found]


def _record(row: Record, said: Content) -> dict[str, Any]:
    return {
        "record": row.pk, "kind": row.kind, "about": row.about_id, "revision": row.version,
        "complete": row.complete, "made_at": row.made_at.isoformat(),
        "changed_at": row.changed_at.isoformat(), "card": said.card, "doc": said.doc,
    }  # fmt: skip


def _told(one: Revision, said: Content) -> dict[str, Any]:
    return {
        "number": one.number, "at": one.at.isoformat(), "by": one.by_name, "from": one.origin,
        "undo_of": one.undo_of, "note": said.note, "digest": bytes(one.digest).hex(),
        "card": said.card, "doc": said.doc,
    }  # fmt: skip


def _cells(row: Record, said: Content) -> dict[str, str]:
    card = {
        f"card.{name}": str(value)
        for name, value in said.card.items()
        if value not in (None, "") and not isinstance(value, dict | list)
    }
    return {"record": str(row.pk), **card, **flat(said.doc, MODELS[row.kind])}


def _sheet(table: list[dict[str, str]]) -> bytes:
    columns = dict.fromkeys(name for cells in table for name in cells)
    for name in ("kind", "units"):
        columns.pop(name, None)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for cells in table:
        writer.writerow(safe_cell(cells.get(name, "")) for name in columns)
    return out.getvalue().encode("utf-8-sig")


def _photos(
    archive: _Archive, rows: list[Record], missing: list[dict[str, str]]
) -> Iterator[bytes]:
    by_pk = {row.pk: row for row in rows}
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("photo", "record", "kind", "shows", "at", "by", "hidden"))
    done: set[str] = set()
    for use in PhotoUse.objects.select_related("photo").order_by("pk").iterator():
        row = by_pk.get(use.record_id)
        if row is None:
            continue
        if use.photo_id not in done:
            done.add(use.photo_id)
            try:
                picture = read_photo(use.photo)
            except (keys.Destroyed, FileNotFoundError) as error:
                gone = isinstance(error, keys.Destroyed)
                why = "deleted on request" if gone else "the file is lost"
                missing.append({"photo": use.photo_id, "why": why})
                continue
            yield archive.add(f"photos/{use.photo_id}.jpg", picture, packed=False)
        told = (row.kind, safe_cell(use.shows), use.at.isoformat(), safe_cell(use.by_name))
        writer.writerow((use.photo_id, use.record_id, *told, use.hidden_at is not None))
    yield archive.add("photos.csv", out.getvalue().encode("utf-8-sig"))


def _json(value: Any, indent: int | None = 1) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=indent) + "\n").encode()
