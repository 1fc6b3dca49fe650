"""Sessions whose cookie only a sign-out takes away."""

from __future__ import annotations

from django.conf import settings
from django.contrib.sessions.middleware import SessionMiddleware
from django.http import HttpRequest, HttpResponse


class LastingSessionMiddleware(SessionMiddleware):
    """Django's own, but an answer to a request with an outdated cookie leaves the cookie alone.

    A sign-in changes the session's secret. A request still under way with the old one, of another
    tab or of the phone's worker, would otherwise be answered with "remove the cookie" and sign
    out the person who has just signed in.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """Set the cookie, or remove it if this very request ended the session."""
        session = getattr(request, "session", None)
        ended = session is not None and session.modified
        answer = super().process_response(request, response)
        cookie = answer.cookies.get(settings.SESSION_COOKIE_NAME)
        if cookie is not None and not cookie.value and not ended:
            del answer.cookies[settings.SESSION_COOKIE_NAME]
        return answer
