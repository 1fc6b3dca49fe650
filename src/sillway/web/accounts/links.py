"""One-time links: made, looked at, used once."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta

from django.db import transaction

from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.limits import limit
from sillway.web.accounts.models import Account, OneTimeLink
from sillway.web.policy import Role


class LinkGone(LookupError):  # noqa: N818 - named for what it tells the reader
    """The link was used, has run out, or never was."""


def make_link(role: Role, by: By, *, account: Account | None = None) -> str:
    """A new link's secret, to be told once; what is kept is its hash."""
    secret = secrets.token_urlsafe(32)
    holds = limit("link.invitation" if by.account else "link.first_owner")
    with transaction.atomic():
        OneTimeLink.objects.create(
            digest=_digest(secret),
            role=role,
            account=account,
            made_by=by.name,
            until=now() + timedelta(seconds=holds),
        )
        trace("link.made", by, subject=account.name if account else role)
    return secret


def look(secret: str) -> OneTimeLink:
    """The link, if it still holds. Raises LinkGone."""
    one = OneTimeLink.objects.filter(
        digest=_digest(secret), used_at=None, until__gt=now()
    ).select_related("account").first()  # fmt: skip
    if one is None:
        raise LinkGone
    return one


def use_link(secret: str, name: str, password: str) -> Account:
    """Open the account the link is for, and end the link.

    For a new start the account keeps its name and loses its second factors and sign-ins.

    Raises:
        LinkGone: somebody was faster, or it ran out.
        IntegrityError: the name was taken meanwhile.
    """
    with transaction.atomic():
        link = look(secret)
        if link.account is None:
            account = Account(name=name, role=link.role, made_at=now())
        else:
            account = link.account
            _forget_factors(account)
        account.set_password(password)
        account.save()
        link.used_at = now()
        link.save()
        trace("account.opened", By(account.name, "link", account.pk), subject=account.name)
    return account


def _forget_factors(account: Account) -> None:
    from django_otp import devices_for_user

    from sillway.web.accounts.sessions import end_all

    for device in devices_for_user(account, confirmed=None):
        device.delete()
    end_all(account)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
