"""What a revision holds as bytes: JSON, compressed, sealed under a person's key where needed."""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass, field
from typing import Any, Final

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.limits import limit

# First byte of a body: the format it is in.
_PLAIN: Final = b"Z"
_SEALED: Final = b"S"


@dataclass(frozen=True, slots=True)
class Content:
    """What a record says.

    Attributes:
        doc: the document in the published format of its kind.
        card: what the lot keeps beside it (stage, phone), by the kind's card model.
        note: what was said about this change; not compared, not merged.
    """

    doc: dict[str, Any]
    card: dict[str, Any] = field(default_factory=dict)
    note: str = ""

    def whole(self) -> dict[str, Any]:
        """Document and card as one, for merging and comparing."""
        return {"doc": self.doc, "card": self.card}


def pack(content: Content, person: str, about: str) -> bytes:
    """A body for this content. Raises BadInput over the size limit, Destroyed without key."""
    text = json.dumps(
        {**content.whole(), "note": content.note}, ensure_ascii=False, separators=(",", ":")
    ).encode()
    most = limit("record.bytes")
    if len(text) > most:
        raise BadInput("record", f"{len(text):,} bytes", f"at most {most:,} bytes")
    packed = zlib.compress(text)
    if not person:
        return _PLAIN + packed
    return _SEALED + keys.seal(keys.person_key(person), packed, about)


def unpack(body: bytes, person: str, about: str) -> Content:
    """The content of a body. Raises Destroyed, or KeyTrouble if it was altered."""
    packed = bytes(body[1:])
    if body[:1] == _SEALED:
        packed = keys.unseal(keys.person_key(person), packed, about)
    return Content(**json.loads(zlib.decompress(packed)))
