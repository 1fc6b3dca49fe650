"""Addresses of the search."""

from __future__ import annotations

from django.urls import path

from sillway.web.find import views

urlpatterns = [path("", views.find_page, name="find")]
