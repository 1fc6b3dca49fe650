"""Addresses: each desk below its own prefix."""

from __future__ import annotations

from django.urls import include, path
from django.views.i18n import set_language

from sillway.web.desks import desks

handler403 = "sillway.web.pages.forbidden"
handler404 = "sillway.web.pages.not_found"
handler500 = "sillway.web.pages.broken"

urlpatterns = [
    path("language/", set_language, name="set_language"),
    *(
        path(desk.prefix, include((f"sillway.web.{name}.urls", name), namespace=name))
        for name, desk in desks()
    ),
]
