"""The first desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("", _("The lot"), "lot.see", "lot:lot", 10)
