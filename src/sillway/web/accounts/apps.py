"""Accounts as a Django app."""

from __future__ import annotations

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Label ``accounts``."""

    name = "sillway.web.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Note sign-ins from the first request on."""
        from sillway.web.accounts import sessions

        sessions.connect()
