"""Which pages a phone may keep to show without signal."""

from __future__ import annotations

from typing import Final, TypeVar

from django.http import HttpResponseBase

#: The worker keeps a page that carries this.
HEADER: Final = "Sillway-Keep"
_R = TypeVar("_R", bound=HttpResponseBase)


def on_phones(response: _R) -> _R:
    """Let phones keep this page. For pages without a rider, a buyer or money on them.

    The worker forgets such pages when somebody signs out.
    """
    response.headers[HEADER] = "yes"
    return response
