"""The desk of calls."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("calls/", _("Calls"), "rider.edit", "calls:calls", 15)
