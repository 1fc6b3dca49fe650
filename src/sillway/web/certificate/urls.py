"""Its address."""

from __future__ import annotations

from django.urls import path

from sillway.web.certificate import views

urlpatterns = [path("", views.authority, name="authority")]
