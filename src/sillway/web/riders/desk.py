"""The riders' desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("riders/", _("Riders"), "rider.see", "riders:riders", 20)
