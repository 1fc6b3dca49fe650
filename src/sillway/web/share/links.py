"""Making, looking up and ending links."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import Final

from django.db import transaction

from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.web.share.models import ShareLink

#: 256 bits; guessing one of a million links takes 10^71 tries.
SECRET_BYTES: Final = 32


class LinkGone(LookupError):  # noqa: N818 - named for what it tells the reader
    """There is no such link, or it holds no more."""


def make_link(rider: Record, language: str, by: By) -> tuple[ShareLink, str]:
    """A new link and its secret, which is told once and kept nowhere."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    at = now()
    with transaction.atomic():
        link = ShareLink.objects.create(
            digest=_digest(secret), rider=rider, language=language, account=by.account,
            by_name=by.name, made_at=at, until=at + timedelta(seconds=limit("link.share")),
        )  # fmt: skip
        trace("share.made", by, subject=f"record {rider.pk}")
    return link, secret


def look(secret: str) -> ShareLink:
    """The link of a secret, if it still holds. Raises LinkGone."""
    found = (
        ShareLink.objects.select_related("rider")
        .filter(digest=_digest(secret), revoked_at=None, until__gt=now(), rider__gone_at=None)
        .first()
    )
    if found is None:
        raise LinkGone
    return found


def revoke(link: ShareLink, by: By) -> None:
    """End a link at once. Ending it twice is no error."""
    with transaction.atomic():
        if ShareLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now()):
            trace("share.revoked", by, subject=f"record {link.rider_id}")


def holds(link: ShareLink) -> bool:
    """Whether it still opens."""
    return link.revoked_at is None and link.until > now()


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
