"""Who does something, and from where."""

from __future__ import annotations

from dataclasses import dataclass

from sillway.store.clock import now
from sillway.store.models import Trace


@dataclass(frozen=True, slots=True)
class By:
    """Who acts.

    Attributes:
        name: as shown in the history.
        origin: from where: ``page``, ``phone``, ``link``, ``command``, ``job``.
        account: the account's number, if an account acts.
    """

    name: str
    origin: str
    account: int | None = None


def trace(verb: str, by: By, subject: str = "", says: str = "") -> None:
    """Note an act. Call it inside the act's own transaction."""
    Trace.objects.create(
        verb=verb,
        at=now(),
        account=by.account,
        by_name=by.name,
        origin=by.origin,
        subject=subject,
        says=says,
    )
