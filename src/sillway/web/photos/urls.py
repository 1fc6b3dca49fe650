"""Addresses of photos."""

from __future__ import annotations

from django.urls import path

from sillway.web.photos import views

urlpatterns = [
    path("<int:number>.jpg", views.photo, name="photo"),
    path("<int:number>.thumb.jpg", views.thumb, name="thumb"),
    path("<int:number>/hide/", views.hide, name="hide"),
]
