"""Accounts by name and password. No permissions here: those are ``policy``'s."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.http import HttpRequest


class AccountBackend(ModelBackend):
    """Django's own check, hashing also for unknown names so that time tells nothing."""


def known_as(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """The name that wrong passwords are counted under: upper and lower case are one."""
    given = (credentials or {}).get("username") or request.POST.get("name", "")
    return str(given).strip().casefold()[:255]
