"""What every page needs: the desks this account may go to, and its name."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from sillway.web.desks import desks
from sillway.web.policy import may


def frame(request: HttpRequest) -> dict[str, Any]:
    """The desks in the list on top, the one we are at marked."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"desks": []}
    here = request.resolver_match.namespace if request.resolver_match else ""
    return {
        "desks": [
            {"title": desk.title, "url": reverse(desk.start), "here": name == here}
            for name, desk in desks()
            if desk.title and may(user.role, desk.act)
        ]
    }
