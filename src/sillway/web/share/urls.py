"""Addresses of links: the lot's side, and below ``with/`` the guest's."""

from __future__ import annotations

from django.urls import path

from sillway.web.share import guest, views

urlpatterns = [
    path("", views.sent_in, name="sent_in"),
    path("rider/<int:number>/", views.links, name="links"),
    path("link/<int:number>/end/", views.end, name="end"),
    path("proposal/<int:number>/", views.proposal, name="proposal"),
    path("with/<str:secret>/", guest.begin, name="begin"),
    path("with/<str:secret>/review/", guest.review, name="review"),
    path("with/<str:secret>/again/", guest.again, name="again"),
    path("with/<str:secret>/<slug:name>/", guest.step, name="step"),
]
