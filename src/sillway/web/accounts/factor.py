"""The second factor: codes from an app on the phone (TOTP), and recovery codes on paper."""

from __future__ import annotations

import qrcode
import qrcode.image.svg
from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST
from django_otp import devices_for_user, match_token, user_has_device
from django_otp import login as second_login
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from sillway.store.by import trace
from sillway.store.limits import limit
from sillway.web import limiter, pages
from sillway.web.access import act, by
from sillway.web.accounts import sessions
from sillway.web.accounts.forms import CodeForm
from sillway.web.accounts.views import onward
from sillway.web.policy import OWN


@act(OWN, before_second_factor=True)
@require_http_methods(["GET", "POST"])
def second_factor(request: HttpRequest) -> HttpResponse:
    """Ask for the code."""
    if not user_has_device(request.user):
        return redirect("accounts:set_up_second_factor")
    form = CodeForm(request.POST or None)
    if request.method == "POST":
        if not limiter.allow("code", str(request.user.pk)):
            return pages.too_many(request)
        if form.is_valid():
            device = match_token(request.user, form.cleaned_data["code"])
            if device is not None:
                _let_in(request, device)
                return redirect(onward(request))
            form.add_error("code", _refused(request))
    return render(request, "accounts/second_factor.html", {"form": form, "next": onward(request)})


@act(OWN, before_second_factor=True)
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Show the secret as a picture to scan, and take a first code as proof that it arrived."""
    user = request.user
    if user_has_device(user) and not user.is_verified():  # type: ignore[union-attr]
        # Somebody who knows only the password must not replace the second factor.
        return redirect("accounts:second_factor")
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    if device is None:
        device = TOTPDevice.objects.create(user=user, name="app", confirmed=False)
    form = CodeForm(request.POST or None)
    if request.method == "POST":
        if not limiter.allow("code", str(user.pk)):
            return pages.too_many(request)
        if form.is_valid():
            if device.verify_token(form.cleaned_data["code"]):
                with transaction.atomic():
                    TOTPDevice.objects.filter(user=user, confirmed=True).delete()
                    device.confirmed = True
                    device.save()
                    codes = _fresh_codes(request)
                    trace("account.second_factor", by(request), subject=user.get_username())
                _let_in(request, device)
                return render(request, "accounts/codes.html", {"codes": codes})
            form.add_error("code", _("This code does not match. Wait for the next one."))
    context = {"form": form, "picture": _picture(device.config_url), "secret": _spelt(device)}
    return render(request, "accounts/set_up.html", context)


@act(OWN)
@require_POST
def new_codes(request: HttpRequest) -> HttpResponse:
    """New recovery codes; the old ones end."""
    if not user_has_device(request.user):
        messages.error(request, _("Set up the second factor first."))
        return redirect("accounts:me")
    with transaction.atomic():
        codes = _fresh_codes(request)
        trace("account.codes", by(request), subject=request.user.get_username())
    return render(request, "accounts/codes.html", {"codes": codes})


def _refused(request: HttpRequest) -> str:
    waits = [device.verify_is_allowed()[0] for device in devices_for_user(request.user)]
    if not all(waits):
        return _("This code does not match, or came too soon after a wrong one. Wait a little.")
    return _("This code does not match, or was used already.")


def _let_in(request: HttpRequest, device: object) -> None:
    second_login(request, device)
    sessions.renew(request, request.user)  # type: ignore[arg-type]


def _fresh_codes(request: HttpRequest) -> list[str]:
    device, _made = StaticDevice.objects.get_or_create(user=request.user, name="paper")
    device.token_set.all().delete()
    codes = [StaticToken.random_token() for _count in range(limit("sign_in.codes"))]
    for code in codes:
        device.token_set.create(token=code)
    return codes


def _picture(url: str) -> str:
    image = qrcode.make(url, image_factory=qrcode.image.svg.SvgPathImage, box_size=12)
    text = image.to_string(encoding="unicode")
    assert isinstance(text, str)
    return text


def _spelt(device: TOTPDevice) -> str:
    from base64 import b32encode

    plain = b32encode(device.bin_key).decode().rstrip("=")
    return " ".join(plain[start : start + 4] for start in range(0, len(plain), 4))
