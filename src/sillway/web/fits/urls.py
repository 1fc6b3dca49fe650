"""Addresses of pairs."""

from __future__ import annotations

from django.urls import path

from sillway.web.fits import views

urlpatterns = [
    path("<int:van>/<int:rider>/", views.page, name="page"),
    path("<int:van>/<int:rider>/begin/", views.begin, name="begin"),
    path("<int:van>/<int:rider>/sheet.pdf", views.sheet_pdf, name="pdf"),
]
