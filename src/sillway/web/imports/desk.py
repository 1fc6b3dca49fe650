"""The desk of sheets to bring in."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk(
    "imports/", _("Bring in"), "import.run", "imports:start", 70, ("sillway.web.imports.tasks",)
)
