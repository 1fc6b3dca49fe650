"""What a phone asks for: the worker, the manifest, whether it is signed in; and what it brings."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from importlib.resources import files as package
from typing import Any, Final

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.records import Conflict
from sillway.web import limiter
from sillway.web.access import act
from sillway.web.offline.arrive import arrive, given_from
from sillway.web.offline.keeping import on_phones
from sillway.web.offline.kinds import KINDS
from sillway.web.policy import ANYONE, may, needs_second_factor
from sillway.web.templatetags.sheet import said

#: What a page on a phone needs without signal.
SHELL: Final = (
    "sillway/sheet.css",
    "sillway/measure.css",
    "sillway/outbox.js",
    "sillway/measure.js",
    "sillway/mark.svg",
    "sillway/icon-192.png",
    "django_htmx/htmx-2.min.js",
)
_PAPER: Final = "#fcfbf7"


@act(ANYONE)
@require_http_methods(["GET"])
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker. At the root, so that it may keep pages of every desk."""
    files = [static(name) for name in SHELL]
    version = hashlib.sha256(" ".join(files).encode()).hexdigest()[:12]
    known = {"version": version, "files": files, "statics": settings.STATIC_URL}
    head = f'"use strict";\nconst SETTINGS = {json.dumps(known)};\n'
    return HttpResponse(
        head + _script(),
        content_type="text/javascript; charset=utf-8",
        headers={"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"},
    )


@act(ANYONE)
@require_http_methods(["GET"])
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone needs to put sillway on its first screen."""
    icons = [
        {"src": static(f"sillway/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png",
         "purpose": "any"}
        for size in (192, 512)
    ]  # fmt: skip
    whole = {
        "id": "/measure/",
        "name": _("sillway in the yard"),
        "short_name": "sillway",
        "start_url": "/measure/",
        "scope": "/",
        "display": "standalone",
        "background_color": _PAPER,
        "theme_color": _PAPER,
        "icons": icons,
    }
    response = JsonResponse(whole, content_type="application/manifest+json")
    response["Cache-Control"] = "no-cache"
    return response


@act(ANYONE)
@require_http_methods(["GET"])
def away(request: HttpRequest) -> HttpResponse:
    """The page shown in place of one that is not on the phone. It says nothing of anybody."""
    return on_phones(render(request, "offline/away.html"))


@act(ANYONE)
@require_http_methods(["GET"])
def waiting(request: HttpRequest) -> HttpResponse:
    """The list of what has not arrived yet; it is on the phone, so the phone fills it in."""
    return on_phones(render(request, "offline/waiting.html"))


@act(ANYONE)
@require_http_methods(["GET"])
def state(request: HttpRequest) -> HttpResponse:
    """Whether the phone is signed in, as whom, and a token to send with."""
    if not _signed_in(request):
        return JsonResponse({"signed_in": False})
    user = request.user
    whole = {"signed_in": True, "account": user.pk, "name": user.get_username()}
    return JsonResponse({**whole, "token": get_token(request)})


@act(ANYONE)
@require_POST
def entries(request: HttpRequest) -> HttpResponse:
    """Take in one entry. Guards itself, since a phone must be told, not sent elsewhere."""
    if not _signed_in(request):
        return _no(401, "signed out", _("Sign in again; what waits on this phone stays there."))
    if not limiter.allow("write", str(request.user.pk)):
        return _no(429, "later", _("That was more than one hour allows; it stays on this phone."))
    try:
        one = given_from(request.POST.get("entry", ""))
        if one.account != request.user.pk:
            return _no(403, "not yours", _("Somebody else entered this and must be signed in."))
        if not may(request.user.role, KINDS[one.kind].act):
            raise PermissionDenied
        answer = arrive(request, one, request.FILES.get("file"))
    except BadInput as error:
        return _no(422, "refused", error.sentence(), field=error.field)
    except Conflict as conflict:
        return _clash(conflict)
    except PermissionDenied:
        return _no(422, "refused", _("Your role at this lot does not include this."))
    except Http404:
        return _no(422, "refused", _("The record it belongs to is not there any more."))
    return JsonResponse({"state": "kept", "answer": answer})


def _signed_in(request: HttpRequest) -> bool:
    user = request.user
    if not user.is_authenticated:
        return False
    return not needs_second_factor(user.role) or bool(user.is_verified())  # type: ignore[attr-defined]


def _no(status: int, name: str, says: str, **more: Any) -> HttpResponse:
    return JsonResponse({"state": name, "says": says, **more}, status=status)


def _clash(conflict: Conflict) -> HttpResponse:
    both = [{"field": one.field.removeprefix("doc."), "mine": said(one.mine),
             "theirs": said(one.theirs)} for one in conflict.clashes]  # fmt: skip
    lines = "; ".join(_("%(field)s: yours %(mine)s, now %(theirs)s") % one for one in both)
    says = _("Somebody else answered this meanwhile.") + " " + lines
    return _no(409, "clash", says, clashes=both, newest=conflict.theirs)


@cache
def _script() -> str:
    return package("sillway.web.offline").joinpath("sw.js").read_text("utf-8")
