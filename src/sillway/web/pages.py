"""Pages of refusal: each says what happened and what to do next."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from sillway.errors import BadInput


def refusal(request: HttpRequest, status: int, title: str, says: str) -> HttpResponse:
    """One refusal as a page."""
    return render(request, "refusal.html", {"title": title, "says": says}, status=status)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403."""
    says = _("Your role at this lot does not include this. The owner can change that.")
    return refusal(request, 403, _("Not yours to do"), says)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404."""
    says = _("There is no such page, or it is not for your eyes. Go back and try another way.")
    return refusal(request, 404, _("Not here"), says)


def broken(request: HttpRequest) -> HttpResponse:
    """500, without the context processors: one of them may be what broke."""
    return HttpResponse(
        "<!doctype html><html lang=en><title>sillway</title><h1>Something broke here</h1>"
        "<p>What you sent may not have been kept. Go back, look, and send it again.",
        status=500,
    )


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403 for a form that did not come from this sign-in."""
    says = _("This form is from before you signed in, or cookies are off. Load the page again.")
    return refusal(request, 403, _("This form has gone stale"), says)


def too_many(request: HttpRequest) -> HttpResponse:
    """429."""
    says = _("That was more than one hour allows. Wait a while; nothing of it was kept.")
    return refusal(request, 429, _("Too many at once"), says)


def destroyed(request: HttpRequest) -> HttpResponse:
    """410 for a person who asked for deletion."""
    says = _("This person asked for deletion. What was kept can no longer be read by anybody.")
    return refusal(request, 410, _("Deleted on request"), says)


def bad_input(request: HttpRequest, error: BadInput) -> HttpResponse:
    """400 for input that no form took care of."""
    return refusal(request, 400, _("That will not do"), error.sentence())


Context = dict[str, Any]
