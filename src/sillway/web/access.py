"""The gate: no view runs unless it names its act and the account may do it.

A view says ``@act("van.edit")``. A record is fetched by ``record_for`` and by nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ImproperlyConfigured, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django_otp import user_has_device

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.keys import Destroyed
from sillway.store.records import NoSuchRecord, Read, read_record
from sillway.web import limiter, pages
from sillway.web.policy import ANYONE, OWN, may, needs_second_factor

_View = TypeVar("_View", bound=Callable[..., HttpResponseBase])
# Views of libraries, which cannot name an act themselves.
_OTHERS = {"django.views.i18n.set_language": ANYONE, "django.views.static.serve": ANYONE}
_WRITES = frozenset({"POST", "PUT", "PATCH", "DELETE"})


def act(name: str, *, before_second_factor: bool = False) -> Callable[[_View], _View]:
    """Say what a view does. The middleware lets only those in who may.

    Args:
        name: an act of ``policy.POLICY``, or ``ANYONE``, or ``OWN``.
        before_second_factor: for the few pages on the way to the second factor itself.
    """

    def mark(view: _View) -> _View:
        view.act = name  # type: ignore[attr-defined]
        view.before_second_factor = before_second_factor  # type: ignore[attr-defined]
        return view

    return mark


def act_of(view: Callable[..., Any]) -> str:
    """The act a view named. Raises ImproperlyConfigured if it named none."""
    found = getattr(view, "act", None) or _OTHERS.get(f"{view.__module__}.{view.__name__}")
    if not isinstance(found, str):
        raise ImproperlyConfigured(f"{view.__module__}.{view.__name__} names no act; see access.py")
    return found


class AccessMiddleware:
    """Checks each request's act before its view runs."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if not request.path.startswith(settings.STATIC_URL):
            # Pages hold what not everybody may see; a shared phone must not keep them.
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Let in, send to sign in, ask for the second factor, or refuse."""
        wanted = act_of(view)
        if wanted == ANYONE:
            return None
        user = request.user
        if not user.is_authenticated:
            return _to_sign_in(request)
        if needs_second_factor(user.role) and not request.user.is_verified():  # type: ignore[union-attr]
            if not getattr(view, "before_second_factor", False):
                known = user_has_device(user)
                name = "accounts:second_factor" if known else "accounts:set_up_second_factor"
                return _elsewhere(request, redirect(name).url)
        elif wanted != OWN and not may(user.role, wanted):
            raise PermissionDenied
        if request.method in _WRITES and not limiter.allow("write", str(user.pk)):
            return pages.too_many(request)
        return None

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Turn the store's refusals that a view let through into pages."""
        if isinstance(error, limiter.TooMany):
            return pages.too_many(request)
        if isinstance(error, Destroyed):
            return pages.destroyed(request)
        if isinstance(error, BadInput):
            return pages.bad_input(request, error)
        if isinstance(error, NoSuchRecord):
            raise Http404 from error
        return None


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    return _elsewhere(request, redirect_to_login(request.get_full_path()).url)


def _elsewhere(request: HttpRequest, url: str) -> HttpResponse:
    if getattr(request, "htmx", False):
        # A fragment must not receive a whole sign-in page.
        return HttpResponse(status=204, headers={"HX-Redirect": url})
    return redirect(url)


def allowed(request: HttpRequest, name: str) -> bool:
    """Whether this account may do that, for showing or leaving out a button."""
    user = request.user
    return bool(user.is_authenticated and may(user.role, name))


def demand(request: HttpRequest, name: str) -> None:
    """Raise PermissionDenied unless this account may do that."""
    if not allowed(request, name):
        raise PermissionDenied


def record_for(
    request: HttpRequest, kind: str, number: int, *, revision: int | None = None,
    to: str = "see",
) -> Read:  # fmt: skip
    """The only way of a page to a record: of this kind, by somebody who may do ``to`` with it.

    Raises:
        Http404: no such record of this kind, or one this account may not know of.
        PermissionDenied: it may be seen by this account, but not that.
        store.keys.Destroyed: the person asked for deletion (shown as a page of its own).
    """
    if not allowed(request, f"{kind}.see"):
        raise Http404
    if to != "see":
        demand(request, f"{kind}.{to}")
    try:
        found = read_record(number, revision)
    except NoSuchRecord:
        raise Http404 from None
    if found.row.kind != kind:
        raise Http404
    return found


def by(request: HttpRequest, origin: str = "page") -> By:
    """The signed-in account as the one who acts."""
    user = request.user
    return By(user.get_username(), origin, user.pk)


def address(request: HttpRequest) -> str:
    """The address a request came from; behind a proxy, the last one the proxy itself noted."""
    if settings.BEHIND_PROXY:
        noted = request.headers.get("X-Forwarded-For", "")
        if noted:
            return noted.split(",")[-1].strip()
    return str(request.META.get("REMOTE_ADDR", ""))
