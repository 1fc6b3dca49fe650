"""An entry arrives: it takes effect once, however often it is sent."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpRequest

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.clock import now
from sillway.web.offline.kinds import KINDS, Answer, Kind, Sent
from sillway.web.offline.models import Entry


class AnotherEntry(BadInput):
    """The key was used for something else, or by somebody else."""

    def __init__(self) -> None:
        super().__init__("key", "one that was used before", "a key of its own for each entry")


@dataclass(frozen=True, slots=True)
class Given:
    """An entry as read off the request."""

    key: UUID
    kind: str
    account: int
    after: UUID | None
    payload: Mapping[str, Any]


def given_from(text: str) -> Given:
    """An entry from its JSON. Raises BadInput."""
    wanted = "an entry with key, kind, account and payload"
    try:
        whole = json.loads(text)
        after = whole.get("after")
        one = Given(
            UUID(whole["key"]),
            str(whole["kind"]),
            int(whole["account"]),
            UUID(after) if after else None,
            whole["payload"],
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput("entry", text, wanted) from None
    if not isinstance(one.payload, dict):
        raise BadInput("entry.payload", one.payload, "an object in braces")
    if one.kind not in KINDS:
        raise BadInput("entry.kind", one.kind, "one of: " + ", ".join(sorted(KINDS)))
    return one


def arrive(request: HttpRequest, one: Given, file: UploadedFile[Any] | None) -> Answer:
    """Let an entry take effect, or tell again what was told when it did.

    Raises:
        AnotherEntry: its key stands for another entry.
        BadInput, Conflict, Http404, PermissionDenied: from the handler; nothing was kept.
    """
    kind = KINDS[one.kind]
    said = json.dumps([one.kind, one.payload], sort_keys=True)
    digest = keys.hashed(said)
    known = _known(one, digest)
    if known is not None:
        return known
    sent = Sent(request, one.key, one.payload, file, _earlier(one))
    if kind.keeps_key:
        # Said twice, the store answers the same; only this note of it may be written late.
        return _note(one, digest, kind.handle(sent))
    return _together(one, digest, kind, sent)


def _together(one: Given, digest: bytes, kind: Kind, sent: Sent) -> Answer:
    with transaction.atomic():
        # The transaction began IMMEDIATE: nobody else can bring the same key meanwhile.
        known = _known(one, digest)
        if known is not None:
            return known
        return _note(one, digest, kind.handle(sent))


def _note(one: Given, digest: bytes, answer: Answer) -> Answer:
    Entry.objects.get_or_create(
        key=one.key,
        defaults={"kind": one.kind, "account": one.account, "digest": digest, "answer": answer,
                  "at": now()},
    )  # fmt: skip
    return answer


def _known(one: Given, digest: bytes) -> Answer | None:
    found = Entry.objects.filter(key=one.key).first()
    if found is None:
        return None
    if bytes(found.digest) != digest or found.account != one.account:
        raise AnotherEntry
    return dict(found.answer)


def _earlier(one: Given) -> Answer:
    if one.after is None:
        return {}
    found = Entry.objects.filter(key=one.after, account=one.account).first()
    return dict(found.answer) if found else {}
