"""What an archive would hold for this account, and the archive itself."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Count
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_POST

from sillway.store.by import trace
from sillway.store.clock import now
from sillway.store.kinds import KINDS
from sillway.store.models import Record
from sillway.web import limiter
from sillway.web.access import act, allowed, by
from sillway.web.exports.archive import stream


def kinds_for(request: HttpRequest) -> list[str]:
    """The kinds this account may take out: what it sees, and of people and money only the owner."""
    return [
        name
        for name, kind in KINDS.items()
        if allowed(request, f"{name}.see") and (not kind.sealed or allowed(request, "export.run"))
    ]


@act("export.lot")
@require_http_methods(["GET"])
def start(request: HttpRequest) -> HttpResponse:
    """What the archive would hold."""
    kinds = kinds_for(request)
    rows = Record.objects.filter(kind__in=kinds, gone_at=None).order_by()
    counts = dict(rows.values_list("kind").annotate(n=Count("pk")))
    context = {
        "counts": [(kind, counts.get(kind, 0)) for kind in kinds],
        "people": any(KINDS[kind].sealed for kind in kinds),
    }
    return render(request, "exports/start.html", context)


@act("export.lot")
@require_POST
def archive(request: HttpRequest) -> StreamingHttpResponse:
    """The archive, written while it is sent."""
    if not limiter.allow("export", str(request.user.pk)):
        raise limiter.TooMany("export")
    kinds, who = kinds_for(request), by(request)
    with transaction.atomic():
        trace("export.made", who, says=", ".join(kinds))
    name = f"sillway-{now():%Y-%m-%d-%H%M}.zip"
    answer = StreamingHttpResponse(stream(kinds, who.name), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
