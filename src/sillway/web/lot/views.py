"""The list of vans."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from sillway.store.find import find
from sillway.store.kinds import KINDS
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.records import read_many
from sillway.web.access import act


@act("lot.see")
@require_http_methods(["GET"])
def lot(request: HttpRequest) -> HttpResponse:
    """Every van with its stage and days; ``stage`` and ``find`` narrow it."""
    stages = KINDS["van"].stages
    stage = request.GET.get("stage", "")
    text = request.GET.get("find", "").strip()
    if text:
        found = [row.pk for row in find(text, ("van",))]
        rows = Record.objects.filter(pk__in=found)
    else:
        rows = Record.objects.filter(kind="van")
        if stage not in stages:
            rows = rows.exclude(stage="gone")
    if stage in stages:
        rows = rows.filter(stage=stage)
    page = Paginator(rows.order_by("came_on", "pk"), limit("page.rows")).get_page(
        request.GET.get("page")
    )
    shown = list(page)
    said = read_many(shown)
    vans = [{"row": row, "card": said[row.pk].card, "doc": said[row.pk].doc} for row in shown]
    context = {"vans": vans, "page": page, "stages": stages, "stage": stage, "find": text}
    template = "lot/_vans.html" if request.htmx else "lot/lot.html"  # type: ignore[attr-defined]
    return render(request, template, context)
