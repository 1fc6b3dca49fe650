"""Addresses of the door."""

from __future__ import annotations

from django.urls import path

from sillway.web.accounts import factor, manage, views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("begin/<str:secret>/", views.begin, name="begin"),
    path("me/", views.me, name="me"),
    path("me/password/", views.new_password, name="new_password"),
    path("me/end/<int:number>/", views.end_session, name="end_session"),
    path("second-factor/", factor.second_factor, name="second_factor"),
    path("second-factor/set-up/", factor.set_up, name="set_up_second_factor"),
    path("second-factor/codes/", factor.new_codes, name="new_codes"),
    path("", manage.accounts, name="accounts"),
    path("invite/", manage.invite, name="invite"),
    path("<int:number>/", manage.change, name="change"),
]
