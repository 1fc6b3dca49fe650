"""Hands out the certificate of the lot's authority. It is public by nature."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from sillway.web.access import act
from sillway.web.policy import ANYONE


@act(ANYONE)
@require_http_methods(["GET"])
def authority(request: HttpRequest) -> HttpResponse:
    """The authority's certificate, PEM."""
    try:
        content = (settings.FOLDER.tls / "authority.pem").read_bytes()
    except FileNotFoundError:
        raise Http404 from None
    return HttpResponse(content, content_type="application/x-x509-ca-cert")
