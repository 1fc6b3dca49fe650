"""Addresses of sheets to bring in."""

from __future__ import annotations

from django.urls import path

from sillway.web.imports import views

urlpatterns = [
    path("", views.start, name="start"),
    path("heading/<slug:kind>.csv", views.heading, name="heading"),
    path("<slug:token>/", views.columns, name="columns"),
    path("<slug:token>/rows/", views.rows, name="rows"),
    path("<slug:token>/apply/", views.apply, name="apply"),
    path("<slug:token>/drop/", views.drop, name="drop"),
]
