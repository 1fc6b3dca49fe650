"""Signing in and out, the one-time link, and one's own account."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST
from django_otp import devices_for_user

from sillway.store.by import trace
from sillway.store.limits import limit
from sillway.web import limiter, pages
from sillway.web.access import act, address, by
from sillway.web.accounts import links, sessions
from sillway.web.accounts.forms import NewAccountForm, NewPasswordForm, SignInForm
from sillway.web.accounts.models import Account
from sillway.web.policy import ANYONE, OWN

_BACKEND = "sillway.web.accounts.backend.AccountBackend"


def onward(request: HttpRequest) -> str:
    """Where the person wanted to go before signing in; never to another site."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, request.is_secure()):
        return asked
    return "/"


@act(ANYONE)
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password. The second factor, where needed, is asked by the gate."""
    form = SignInForm(request.POST or None)
    if request.method == "POST":
        if not limiter.allow("sign_in", address(request)):
            return pages.too_many(request)
        if form.is_valid():
            given = form.cleaned_data
            user = authenticate(request, username=given["name"], password=given["password"])
            if user is not None:
                login(request, user)
                return redirect(onward(request))
            if getattr(request, "axes_locked_out", False):
                return locked_out(request)
            form.add_error(None, _("This name and password do not go together."))
    return render(request, "accounts/sign_in.html", {"form": form, "next": onward(request)})


def locked_out(request: HttpRequest, *_args: Any, **_kwargs: Any) -> HttpResponse:
    """429 after too many wrong passwords."""
    minutes = limit("sign_in.locked") // 60
    says = _("Too many wrong passwords. Try again in %(n)d minutes, or ask the owner for a link.")
    return pages.refusal(request, 429, _("Locked for now"), says % {"n": minutes})


@act(OWN, before_second_factor=True)
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End this sign-in."""
    logout(request)
    return redirect("accounts:sign_in")


@act(ANYONE)
@require_http_methods(["GET", "POST"])
def begin(request: HttpRequest, secret: str) -> HttpResponse:
    """Use a one-time link: choose a name and a password."""
    if not limiter.allow("link", address(request)):
        return pages.too_many(request)
    try:
        link = links.look(secret)
    except links.LinkGone:
        return _link_gone(request)
    data = request.POST or None
    form: NewPasswordForm
    if link.account is None:
        form = NewAccountForm(data, account=Account(role=link.role))
    else:
        form = NewPasswordForm(data, account=link.account)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            account = links.use_link(secret, given.get("name", ""), given["password"])
        except links.LinkGone:
            return _link_gone(request)
        except IntegrityError:
            form.add_error("name", _("Somebody here has this name already."))
        else:
            login(request, account, backend=_BACKEND)
            return redirect("/")
    return render(request, "accounts/begin.html", {"form": form, "link": link})


def _link_gone(request: HttpRequest) -> HttpResponse:
    says = _("It was used already or has run out. Ask for a new one.")
    return pages.refusal(request, 410, _("This link no longer works"), says)


@act(OWN)
@require_http_methods(["GET"])
def me(request: HttpRequest) -> HttpResponse:
    """One's own account: sign-ins, second factor, password."""
    account = _account(request)
    context = {
        "sessions": sessions.of(account),
        "this_session": request.session.session_key,
        "has_factor": any(devices_for_user(account)),
    }
    return render(request, "accounts/me.html", context)


@act(OWN)
@require_http_methods(["GET", "POST"])
def new_password(request: HttpRequest) -> HttpResponse:
    """Change one's password; every other sign-in ends."""
    account = _account(request)
    form = NewPasswordForm(request.POST or None, account=account)
    if request.method == "POST" and form.is_valid():
        account.set_password(form.cleaned_data["password"])
        account.save()
        update_session_auth_hash(request, account)
        sessions.end_all(account)
        sessions.note(request, account)
        trace("account.password", by(request), subject=account.name)
        messages.success(request, _("The password is changed; every other sign-in has ended."))
        return redirect("accounts:me")
    return render(request, "accounts/password.html", {"form": form})


@act(OWN)
@require_POST
def end_session(request: HttpRequest, number: int) -> HttpResponse:
    """End one of one's own sign-ins."""
    if not sessions.end(_account(request), number):
        raise Http404
    messages.success(request, _("That sign-in has ended."))
    return redirect("accounts:me")


def _account(request: HttpRequest) -> Account:
    user = request.user
    assert isinstance(user, Account)  # the gate let nobody else in
    return user
