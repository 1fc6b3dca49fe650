"""A row of a sheet held against what is kept: new, changed, the same, or wrong and why."""

from __future__ import annotations

import copy
import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID, uuid5

from sillway.errors import BadInput
from sillway.records import rows
from sillway.records.fields import EACH, FieldOf, Takes, by_path
from sillway.records.flat import cells
from sillway.store.bulk import Item
from sillway.store.kinds import checked_card, kind_of, lacks
from sillway.store.merge import changes, same
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.records import read_many
from sillway.web.imports.columns import CARD, KEYS, split
from sillway.web.imports.shelf import Sent
from sillway.web.sheet import MODELS

# Records opened at once while those kept are read.
_BATCH: Final = 200
_YES_NO: Final = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_BARE: Final = re.compile(r"[-+\d][\d\s.,/-]*(?:\s+to\s+[\d\s.,/-]+)?", re.ASCII)
_TOLD: Final = re.compile(r"row \d+ \((?P<path>.*)\)")


@dataclass(frozen=True, slots=True)
class Known:
    """A record that is kept already."""

    record: int
    version: int
    content: Content


@dataclass(frozen=True, slots=True)
class Found:
    """What one row comes to.

    Attributes:
        row: its number in the file.
        does: ``new``, ``changes``, ``same`` or ``error``.
        name: the stock number or name in it.
        record: the record it is about, 0 for a new one.
        version: revision of that record when the row was held against it.
        fields: names of the fields it changes.
        says: the first thing a record will still lack.
        wrong: field, given and wanted, where the row is wrong.
    """

    row: int
    does: str
    name: str
    record: int = 0
    version: int = 0
    fields: tuple[str, ...] = ()
    says: str = ""
    wrong: tuple[str, str, str] = ("", "", "")


def look_over(
    sent: Sent, token: str, tell: Callable[[int], None]
) -> Iterator[tuple[Found, Item | None]]:
    """Every row held against the store; an item to keep for each that is new or changes one.

    ``tell`` is called with how many rows are done and may raise to stop.
    """
    known = _known(sent.kind)
    columns = _columns(sent)
    seen: dict[tuple[str, ...], int] = {}
    for place, (number, texts) in enumerate(sent.rows):
        tell(place)
        name = ""
        try:
            given = _given(columns, texts)
            name = given.get((KEYS[sent.kind][0], "value"), "")
            found, item = _row(sent, number, name, given, known, seen, token)
        except BadInput as error:
            where = _where(error.field, columns)
            wrong = (where, error.given, error.wanted)
            found, item = Found(number, "error", name, wrong=wrong), None
        yield found, item


def _columns(sent: Sent) -> dict[tuple[str, str], tuple[int, str]]:
    """Field and part → place of the column and its name."""
    found: dict[tuple[str, str], tuple[int, str]] = {}
    for place, path in enumerate(sent.chosen):
        parts = split(sent.kind, path) if path else None
        if parts is not None:
            found[parts] = (place, sent.header[place])
    return found


def _given(
    columns: Mapping[tuple[str, str], tuple[int, str]], texts: list[str]
) -> dict[tuple[str, str], str]:
    found = {}
    for key, (place, _name) in columns.items():
        text = texts[place]
        if text.startswith(("=", "@")):
            raise BadInput(key[0], text, "the value itself, not a formula")
        # A spreadsheet's mark for "this is text", as our own export sets it.
        found[key] = text.removeprefix("'") if re.match(r"'[=+@-]", text) else text
    return {key: text for key, text in found.items() if text}


def _row(
    sent: Sent,
    number: int,
    name: str,
    given: dict[tuple[str, str], str],
    known: Mapping[str, list[Known]],
    seen: dict[tuple[str, ...], int],
    token: str,
) -> tuple[Found, Item | None]:
    if not name:
        raise BadInput(KEYS[sent.kind][0], "", "what the record is found by")
    phone = _digits(given.get((f"{CARD}phone", "value"), ""))
    key = (_key(name), phone)
    if key in seen:
        raise BadInput(KEYS[sent.kind][0], name, f"each record once; row {seen[key]} is it already")
    seen[key] = number
    before = _match(sent.kind, name, phone, known.get(_key(name), []))
    doc, card = _parsed(sent, given)
    fields = by_path(MODELS[sent.kind])
    if before is None:
        start = {"kind": sent.kind, "units": "metric" if sent.metric else "inch-pound"}
        content = Content(_join(start, doc, "", fields), checked_card(kind_of(sent.kind), card))
    else:
        _same_units(sent, given, before)
        joined = _join(before.content.doc, doc, "", fields)
        whole = checked_card(kind_of(sent.kind), {**before.content.card, **card})
        content = Content(joined, whole)
    missing = lacks(kind_of(sent.kind), content.doc)
    if before is not None and same(content.whole(), before.content.whole()):
        return Found(number, "same", name, before.record, before.version), None
    content = replace(content, note=f"from row {number} of a sheet")
    item = Item(
        sent.kind, content, not missing, uuid5(UUID(token), f"row {number}"),
        before.record if before else None, before.version if before else 0,
        f"row {number}",
    )  # fmt: skip
    if before is None:
        return Found(number, "new", name, says=missing), item
    changed = changes(before.content.whole(), content.whole())
    names = tuple(one.field.removeprefix("doc.") for one in changed)
    return Found(number, "changes", name, before.record, before.version, names, missing), item


def _parsed(sent: Sent, given: dict[tuple[str, str], str]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The row as a document and a card, through the row sheet's own reader.

    Entries of lists come by their numbers, ``{"seats": {2: …}}``: a row may hold the second seat
    of a van whose first is kept already.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(rows.COLUMNS[:4])
    card: dict[str, Any] = {}
    paths = dict.fromkeys(path for path, _part in given)
    numbers = _numbers([path for path in paths if not path.startswith(CARD)])
    real: dict[str, str] = {}
    for path in paths:
        if path.startswith(CARD):
            card[path.removeprefix(CARD)] = given[path, "value"]
            continue
        value, way, tolerance = (given.get((path, p), "") for p in ("value", "way", "tolerance"))
        if not value:
            raise BadInput(path, way or tolerance, "a value beside its way or tolerance")
        close = _closed_up(path, numbers)
        real[close] = path
        writer.writerow((close, value, way, tolerance))
    try:
        tree = rows.parse(out.getvalue(), MODELS[sent.kind]).record
    except BadInput as error:
        told = _TOLD.fullmatch(error.field)
        where = real.get(told["path"], told["path"]) if told else error.field
        raise BadInput(where, error.given, error.wanted) from None
    return _plain(tree, "", "", numbers, by_path(MODELS[sent.kind])), card


def _numbers(paths: list[str]) -> dict[str, list[int]]:
    """For each list the numbers of its entries that the row holds."""
    found: dict[str, set[int]] = {}
    for path in paths:
        steps = path.split(".")
        for place, step in enumerate(steps):
            if step.isdigit():
                found.setdefault(".".join(steps[:place]), set()).add(int(step))
    return {above: sorted(numbers) for above, numbers in found.items()}


def _closed_up(path: str, numbers: Mapping[str, list[int]]) -> str:
    """The path with its entries counted on without gaps, as the row sheet's reader wants them."""
    steps = path.split(".")
    closed = [
        str(numbers[".".join(steps[:place])].index(int(step)) + 1) if step.isdigit() else step
        for place, step in enumerate(steps)
    ]
    return ".".join(closed)


def _plain(
    part: Any, path: str, pattern: str, numbers: Mapping[str, list[int]],
    fields: Mapping[str, FieldOf],
) -> Any:  # fmt: skip
    """Yes, no and whole numbers as JSON has them, as in a record typed in on a page."""
    if isinstance(part, list) and path in numbers:
        return {
            number: _plain(entry, f"{path}.{number}", f"{pattern}.{EACH}", numbers, fields)
            for number, entry in zip(numbers[path], part, strict=True)
        }
    field = fields.get(pattern.removesuffix(f".{EACH}"))
    if isinstance(part, dict) and (field is None or field.takes is Takes.PART):
        above, below = (f"{one}." if one else "" for one in (path, pattern))
        return {
            name: _plain(value, f"{above}{name}", f"{below}{name}", numbers, fields)
            for name, value in part.items()
        }
    if isinstance(part, str) and field is not None and not field.many:
        if field.takes is Takes.YES_NO:
            return _YES_NO.get(part.casefold(), part)
        if field.takes is Takes.NUMBER and re.fullmatch(r"-?\d{1,15}", part, re.ASCII):
            return int(part)
    return part


def _join(
    old: Mapping[str, Any], new: dict[str, Any], under: str, fields: Mapping[str, FieldOf]
) -> dict[str, Any]:
    """What is kept, with what the row says in its place; what the row is silent of stays."""
    joined = copy.deepcopy(dict(old))
    for name, value in new.items():
        field, before = fields[f"{under}{name}"], old.get(name)
        if field.many and isinstance(value, dict) and all(isinstance(key, int) for key in value):
            joined[name] = _entries(list(before or []), value, field, fields)
        elif field.takes is Takes.PART:
            joined[name] = _join(before or {}, value, f"{field.path}.", fields)
        elif before is None or not _alike(before, value, field):
            joined[name] = value
    return joined


def _entries(
    kept: list[Any], given: dict[int, Any], field: FieldOf, fields: Mapping[str, FieldOf]
) -> list[Any]:
    for number, entry in given.items():
        if number > len(kept) + 1:
            wanted = f"entries counted without a gap; number {len(kept) + 1} is not there"
            raise BadInput(field.path, number, wanted)
        before = kept[number - 1] if number <= len(kept) else None
        if field.takes is Takes.PART:
            entry = _join(before or {}, entry, f"{field.path}.{EACH}.", fields)
        elif before is not None and _alike(before, entry, replace(field, many=False)):
            entry = before
        kept[number - 1 : number] = [entry]
    return kept


def _alike(old: Any, new: Any, field: FieldOf) -> bool:
    """Whether the row says what is kept. A way or tolerance it is silent of stays."""
    if field.many:
        pair = [one if isinstance(one, list) else [one] for one in (old, new)]
        return len(pair[0]) == len(pair[1]) and all(
            _alike(a, b, replace(field, many=False)) for a, b in zip(*pair, strict=True)
        )
    was, now = cells(old, field), cells(new, field)
    return was[0] == now[0] and all(b in ("", a) for a, b in zip(was[1:], now[1:], strict=True))


def _same_units(sent: Sent, given: dict[tuple[str, str], str], before: Known) -> None:
    if (before.content.doc.get("units") == "metric") == sent.metric:
        return
    for (path, part), text in given.items():
        field = None if path.startswith(CARD) else _field(sent.kind, path)
        measured = field is not None and field.measures is not None
        if part != "way" and measured and _BARE.fullmatch(text):
            kept = str(before.content.doc.get("units", "inch-pound"))
            raise BadInput(path, text, f"a unit beside the number; this record is kept in {kept}")


def _field(kind: str, path: str) -> FieldOf | None:
    pattern = ".".join(EACH if step.isdigit() else step for step in path.split("."))
    fields = by_path(MODELS[kind])
    return fields.get(pattern) or fields.get(pattern.removesuffix(f".{EACH}"))


def _match(kind: str, name: str, phone: str, found: list[Known]) -> Known | None:
    """The one record a row is about. Raises BadInput where it could be several."""
    if phone:
        by_phone = [one for one in found if _digits(str(one.content.card.get("phone"))) == phone]
        # Somebody kept without a number is the one whose number now comes.
        blank = [one for one in found if not _digits(str(one.content.card.get("phone") or ""))]
        found = by_phone or blank
    if len(found) > 1:
        wanted = "their phone number too" if kind == "rider" else "a stock number kept once"
        raise BadInput(KEYS[kind][0], name, f"{wanted}: {len(found)} records have this one")
    return found[0] if found else None


def _known(kind: str) -> dict[str, list[Known]]:
    """Every record of the kind by what it is found by."""
    found: dict[str, list[Known]] = {}
    pks = list(Record.objects.filter(kind=kind, gone_at=None).values_list("pk", flat=True))
    for start in range(0, len(pks), _BATCH):
        batch = list(Record.objects.filter(pk__in=pks[start : start + _BATCH]))
        said = read_many(batch)
        for row in batch:
            if row.pk in said:
                content = said[row.pk]
                name = _key(str(content.doc.get(KEYS[kind][0], "")))
                found.setdefault(name, []).append(Known(row.pk, row.version, content))
    return found


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def _digits(phone: str) -> str:
    return re.sub(r"\D", "", phone)[-10:]


def _where(field: str, columns: Mapping[tuple[str, str], tuple[int, str]]) -> str:
    """A field as the sheet's column, where it has one."""
    told = _TOLD.fullmatch(field)
    path = re.sub(r"\[(\d+)\]", lambda hit: f".{int(hit[1]) + 1}", told["path"] if told else field)
    for (known, _part), (_place, name) in columns.items():
        if known in (path, f"{CARD}{path}"):
            return name if name == known else f"{name} ({known})"
    return path
