"""Addresses of taking out."""

from __future__ import annotations

from django.urls import path

from sillway.web.exports import views

urlpatterns = [
    path("", views.start, name="start"),
    path("archive/", views.archive, name="archive"),
]
