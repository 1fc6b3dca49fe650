"""Addresses of the offline desk."""

from __future__ import annotations

from django.urls import path

from sillway.web.offline import views

urlpatterns = [
    path("sw.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("offline/", views.waiting, name="waiting"),
    path("offline/away/", views.away, name="away"),
    path("offline/state/", views.state, name="state"),
    path("offline/entries/", views.entries, name="entries"),
]
