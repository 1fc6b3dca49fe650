"""Addresses of measuring."""

from __future__ import annotations

from django.urls import path

from sillway.web.measure import views

urlpatterns = [
    path("", views.vans, name="vans"),
    path("van/<int:number>/", views.van_start, name="van"),
    path("van/<int:number>/review/", views.van_review, name="van_review"),
    path("van/<int:number>/<slug:step>/", views.van_step, name="van_step"),
    path("rider/<int:number>/", views.rider_start, name="rider"),
    path("rider/<int:number>/review/", views.rider_review, name="rider_review"),
    path("rider/<int:number>/<slug:step>/", views.rider_step, name="rider_step"),
]
