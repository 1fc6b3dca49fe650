"""The door: sign-in and everybody's own account; for the owner, the list of accounts."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("accounts/", _("Accounts"), "account.manage", "accounts:accounts", 90)
