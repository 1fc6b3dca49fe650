"""One photo, its thumbnail, and taking it away."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from sillway.store.models import PhotoUse
from sillway.store.photos import hide_photo, read_photo
from sillway.web.access import act, record_for

_DESKS = {"van": "vans:page", "rider": "riders:page"}


def _use(request: HttpRequest, number: int, to: str = "see") -> PhotoUse:
    use = PhotoUse.objects.select_related("record", "photo").filter(pk=number).first()
    if use is None:
        raise Http404
    record_for(request, use.record.kind, use.record.pk, to=to)
    return use


def _sent(request: HttpRequest, number: int, thumb: bool) -> HttpResponse:
    use = _use(request, number)
    try:
        content = read_photo(use.photo, thumb=thumb)
    except FileNotFoundError:
        raise Http404 from None
    response = HttpResponse(content, content_type="image/jpeg")
    if not use.photo.person:
        # The address never shows another picture; the browser may keep it for this person.
        response["Cache-Control"] = "private, max-age=86400, immutable"
    return response


@act("lot.see")
@require_http_methods(["GET"])
def photo(request: HttpRequest, number: int) -> HttpResponse:
    """The photo."""
    return _sent(request, number, thumb=False)


@act("lot.see")
@require_http_methods(["GET"])
def thumb(request: HttpRequest, number: int) -> HttpResponse:
    """Its thumbnail."""
    return _sent(request, number, thumb=True)


@act("lot.see")
@require_POST
def hide(request: HttpRequest, number: int) -> HttpResponse:
    """Take it away from its record."""
    use = _use(request, number, to="photo")
    hide_photo(use)
    return redirect(_DESKS.get(use.record.kind, "lot:lot"), use.record.pk)
