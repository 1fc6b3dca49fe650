"""Addresses of the match."""

from __future__ import annotations

from django.urls import path

from sillway.web.match import views

urlpatterns = [
    path("", views.start, name="start"),
    path("rider/<int:number>/", views.rider, name="rider"),
    path("van/<int:number>/", views.van, name="van"),
    path("rider/<int:number>/begin/", views.begin_rider, name="begin_rider"),
    path("van/<int:number>/begin/", views.begin_van, name="begin_van"),
    path("stop/<int:job>/", views.stop, name="stop"),
]
