"""Addresses of long work."""

from __future__ import annotations

from django.urls import path

from sillway.web.jobs import views

urlpatterns = [
    path("", views.jobs, name="jobs"),
    path("look-over/", views.look_over, name="look_over"),
    path("<int:number>/", views.one, name="one"),
    path("<int:number>/cancel/", views.cancel, name="cancel"),
]
