"""Addresses of the call sheet."""

from __future__ import annotations

from django.urls import path

from sillway.web.calls import views

urlpatterns = [
    path("", views.calls, name="calls"),
    path("new/", views.new, name="new"),
    path("<int:number>/", views.sheet, name="sheet"),
    path("<int:number>/answer/", views.answer, name="answer"),
]
