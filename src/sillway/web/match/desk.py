"""The desk of matches."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk(
    "match/", _("Match"), "rider.see", "match:start", 25, ("sillway.web.match.tasks",)
)  # fmt: skip
