"""Answers of a caller and the rider's record they grow into. Nothing typed is lost."""

from __future__ import annotations

import copy
import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from sillway.errors import BadInput
from sillway.fit.sketch import is_sketch, tell, tell_drive, told, whole
from sillway.records.measure import Way
from sillway.records.read import rider_from
from sillway.store.kinds import checked_card, kind_of
from sillway.store.pack import Content
from sillway.web.calls.questions import DRIVE, NAME, NOTE, PHONE, QUESTIONS, typed

_RANGE: Final = re.compile(r"(?P<low>.+?)\s+(?:to|a)\s+(?P<high>.+)", re.IGNORECASE)
# A line of the record's note that keeps what was typed and could not be understood.
_UNCLEAR: Final = re.compile(r"^Typed, not understood, (?P<id>[a-z_]+): (?P<text>.*)$")
_MORE: Final = re.compile(r" \(and \d+ more\)$")
WAYS: Final = (str(Way.REPORTED), str(Way.TAPE))
FIELDS: Final = (NAME, PHONE, *(one.id for one in QUESTIONS), NOTE)


@dataclass(frozen=True, slots=True)
class Told:
    """A record with answers put in.

    Attributes:
        wrong: field → why its answer will not do; the text itself is kept in the note.
    """

    content: Content
    wrong: dict[str, str] = field(default_factory=dict)


def values(content: Content) -> dict[str, str]:
    """Every field as it was typed, also what was not understood."""
    doc = content.doc
    note, unclear = _note(doc)
    drive = doc.get("chair", {}).get("drive") if isinstance(doc.get("chair"), dict) else None
    out = {NAME: str(doc.get("name", "")), PHONE: str(content.card.get("phone", "")), NOTE: note,
           DRIVE: str(drive or "")}  # fmt: skip
    for one in QUESTIONS:
        if one.asked is not None:
            out[one.id] = typed(told(doc, one.asked)) if shown(doc, one.id) else ""
    return out | unclear


def unclear(content: Content) -> dict[str, str]:
    """Field → what was typed there and not understood."""
    return _note(content.doc)[1]


def shown(doc: Mapping[str, Any], name: str) -> bool:
    """Whether a measure can be told here: not where the chair was measured in other layers, and
    a scooter's radius only of scooters."""
    asked = next((one.asked for one in QUESTIONS if one.id == name), None)
    if asked is None:
        return True
    drive = doc["chair"].get("drive") if isinstance(doc.get("chair"), dict) else None
    if asked.for_drive and asked.for_drive != drive:
        return False
    return not asked.layered or is_sketch(doc)


def put(content: Content, given: Mapping[str, str], way: str, on: dt.date) -> Told:
    """Put answers into a record, each by itself: one that will not do stops no other.

    Args:
        given: field → what was typed; an empty text takes the answer back.
        way: how the measures among them were come by.
    """
    note, said = _note(content.doc)
    if NOTE in given:
        note = given[NOTE].strip()
    doc, card, wrong = copy.deepcopy(content.doc), dict(content.card), {}
    sound = _complaint(doc, on) is None
    # The kind of chair first: the ranges of all else depend on it.
    for name in sorted(given, key=lambda one: FIELDS.index(one) if one != DRIVE else -1):
        text = given[name].strip()
        said.pop(name, None)
        if name == NOTE:
            continue
        try:
            if name == PHONE:
                card = checked_card(kind_of("rider"), {**card, PHONE: text})
                continue
            grown = _grown(doc, name, text, way, on)
        except BadInput as error:
            wrong[name], said[name] = _says(text, error), text
            continue
        bad = _complaint(grown, on) if sound else None
        if bad is not None:
            wrong[name], said[name] = _says(text, bad), text
        else:
            doc = grown
    lines = [note] if note else []
    lines += [f"Typed, not understood, {name}: {text}" for name, text in said.items()]
    before = doc.get("note")
    doc["note"] = "\n".join(lines)
    if not lines:
        doc.pop("note")
    if NOTE in given and (bad := _complaint(doc, on)) is not None and sound:
        wrong[NOTE] = bad.sentence()
        doc["note"] = before or ""
    return Told(replace(content, doc=doc, card=card), wrong)


def _grown(doc: dict[str, Any], name: str, text: str, way: str, on: dt.date) -> dict[str, Any]:
    if name == NAME:
        out = {**doc, "name": text}
        if not text:
            out.pop("name")
        return out
    if name == DRIVE:
        return tell_drive(doc, text, on)
    asked = next(one.asked for one in QUESTIONS if one.id == name)
    assert asked is not None
    return tell(doc, asked, _measure(text, way), on)


def _measure(text: str, way: str) -> dict[str, str] | None:
    if not text:
        return None
    ends = _RANGE.fullmatch(text)
    how = {"way": way if way in WAYS else WAYS[0]}
    return {**ends.groupdict(), **how} if ends else {"value": text, **how}


def _complaint(doc: dict[str, Any], on: dt.date) -> BadInput | None:
    try:
        rider_from(whole(doc, on))
    except BadInput as error:
        return error
    return None


def _says(text: str, error: BadInput) -> str:
    # What was typed, not what follows from it; and one complaint of several.
    return f"“{text}”: {_MORE.sub('', error.wanted)}"


def _note(doc: Mapping[str, Any]) -> tuple[str, dict[str, str]]:
    note, found = [], {}
    for line in str(doc.get("note") or "").split("\n"):
        match = _UNCLEAR.match(line)
        if match and match["id"] in FIELDS:
            found[match["id"]] = match["text"]
        else:
            note.append(line)
    return "\n".join(note).strip(), found
