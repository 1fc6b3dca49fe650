"""Accounts by name and password. No permissions here: those are ``policy``'s."""

from __future__ import annotations

from django.contrib.auth.backends import ModelBackend


class AccountBackend(ModelBackend):
    """Django's own check, hashing also for unknown names so that time tells nothing."""
