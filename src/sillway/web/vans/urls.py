"""Addresses of a van."""

from __future__ import annotations

from django.urls import path

from sillway.web.vans import views

urlpatterns = [
    path("new/", views.new, name="new"),
    path("<int:number>/", views.page, name="page"),
    path("<int:number>/edit/<slug:part>/", views.edit, name="edit"),
    path("<int:number>/history/", views.past, name="history"),
    path("<int:number>/undo/<int:revision>/", views.undo_to, name="undo"),
    path("<int:number>/photos/", views.photo, name="photo"),
    path("<int:number>/plan-<int:revision>.svg", views.plan, name="plan"),
    path("<int:number>/costs/", views.cost, name="cost"),
    path("<int:number>/costs/<slug:line>/out/", views.take_cost, name="take_cost"),
]
