"""The desk of links and of what was sent in by them."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("share/", _("Sent in"), "rider.edit", "share:sent_in", 25)
"""Its public pages guard themselves by the link's secret; see ``guest.py``."""
