"""The desk of taking everything out."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("exports/", _("Take out"), "export.lot", "exports:start", 71)
