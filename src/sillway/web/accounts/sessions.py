"""Sign-ins as a list, each of which can be ended."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.models import Session
from django.db import transaction
from django.http import HttpRequest

from sillway.store.clock import now
from sillway.web.access import address
from sillway.web.accounts.models import Account, SignedIn


def connect() -> None:
    """Note every sign-in and sign-out."""
    user_logged_in.connect(_noted, dispatch_uid="sillway.signed_in")
    user_logged_out.connect(_ended, dispatch_uid="sillway.signed_out")


def _noted(sender: Any, request: HttpRequest, user: Account, **_kwargs: Any) -> None:
    if not request.session.session_key:
        request.session.save()
    note(request, user)


def note(request: HttpRequest, user: Account) -> None:
    """Keep this sign-in in the list."""
    SignedIn.objects.update_or_create(
        session=request.session.session_key,
        defaults={
            "account": user,
            "at": now(),
            "agent": request.headers.get("User-Agent", "")[:200],
            "address": address(request)[:45],
        },
    )


def _ended(sender: Any, request: HttpRequest, user: Account | None, **_kwargs: Any) -> None:
    SignedIn.objects.filter(session=request.session.session_key).delete()


def renew(request: HttpRequest, user: Account) -> None:
    """Give the sign-in a new secret once it may do more than before."""
    old = request.session.session_key
    request.session.cycle_key()
    SignedIn.objects.filter(session=old).delete()
    note(request, user)


def of(account: Account) -> list[SignedIn]:
    """The sign-ins of an account that still hold, newest first."""
    alive = Session.objects.filter(expire_date__gt=now()).values("session_key")
    return list(SignedIn.objects.filter(account=account, session__in=alive).order_by("-at"))


def end(account: Account, number: int) -> bool:
    """End one sign-in of an account; whether there was one."""
    with transaction.atomic():
        one = SignedIn.objects.filter(account=account, pk=number).first()
        if one is None:
            return False
        Session.objects.filter(session_key=one.session).delete()
        one.delete()
    return True


def end_all(account: Account, keep: str | None = None) -> None:
    """End every sign-in of an account but one."""
    with transaction.atomic():
        rows = SignedIn.objects.filter(account=account).exclude(session=keep or "")
        Session.objects.filter(session_key__in=rows.values("session")).delete()
        rows.delete()
