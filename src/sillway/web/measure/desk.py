"""The measuring desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk(
    "measure/", _("Measure"), "van.edit", "measure:vans", 15, ("sillway.web.measure.entries",)
)
