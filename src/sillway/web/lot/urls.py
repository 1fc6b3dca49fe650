"""Addresses of the lot."""

from __future__ import annotations

from django.urls import path

from sillway.web.lot import views

urlpatterns = [path("", views.lot, name="lot")]
