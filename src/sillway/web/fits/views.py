"""The page of one pair, and its sheet as PDF."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from sillway.store.jobs import ask
from sillway.store.kinds import kind_of, lacks
from sillway.store.models import Job
from sillway.store.records import Read
from sillway.web.access import act, by, record_for
from sillway.web.fits import keep
from sillway.web.fits.models import Fitted
from sillway.web.fits.tasks import PAIR

OPEN = (Job.State.WAITING, Job.State.RUNNING)


@act("rider.see")
@require_http_methods(["GET"])
def page(request: HttpRequest, van: int, rider: int) -> HttpResponse:
    """The answer if there is one that still holds; else how far it is, or the way to begin."""
    one, other = record_for(request, "van", van), record_for(request, "rider", rider)
    kept = keep.answer_for(one.row, other.row, keep.today())
    job = job_of(van, rider)
    working = job is not None and job.state in OPEN
    if request.htmx:  # type: ignore[attr-defined]
        if working:
            return render(request, "fits/_working.html", {"job": job, "van": van, "rider": rider})
        return HttpResponse(status=204, headers={"HX-Refresh": "true"})
    sheet = None if kept is None else keep.sheet_of(kept, other.row)
    context = {
        "van": one, "rider": other, "kept": kept, "job": job, "working": working,
        "van_title": one.row.title, "rider_name": str(other.content.doc.get("name", "?")),
        "missing": missing(one, other),
        "row": None if kept is None else keep.row_of(kept, other.row),
        "older": kept is None and Fitted.objects.filter(van=van, rider=rider).exists(),
    }  # fmt: skip
    if sheet is not None:
        from sillway.web.fits.sheetpage import inner_page

        context |= {"inner": inner_page(sheet), "number": sheet["content"]["number"],
                    "roll": sheet["roll"] is not None}  # fmt: skip
    return render(request, "fits/page.html", context)


@act("rider.see")
@require_POST
def begin(request: HttpRequest, van: int, rider: int) -> HttpResponse:
    """Begin to work the pair out, unless somebody did already."""
    one, other = record_for(request, "van", van), record_for(request, "rider", rider)
    job = job_of(van, rider)
    if not missing(one, other) and (job is None or job.state not in OPEN):
        ask(PAIR, by(request), van=van, rider=rider)
    return redirect("fits:page", van, rider)


@act("rider.see")
@require_http_methods(["GET"])
def sheet_pdf(request: HttpRequest, van: int, rider: int) -> HttpResponse:
    """The sheet as PDF; not found while there is none that holds."""
    one, other = record_for(request, "van", van), record_for(request, "rider", rider)
    kept = keep.answer_for(one.row, other.row, keep.today())
    sheet = None if kept is None else keep.sheet_of(kept, other.row)
    if sheet is None:
        raise Http404
    from sillway.show.sheet.fit_sheet import slug
    from sillway.web.fits.sheetpage import pdf_of

    name = f"{sheet['content']['number']}-{slug(one.row.title)}.pdf"
    return HttpResponse(
        pdf_of(sheet),
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def job_of(van: int, rider: int) -> Job | None:
    """The newest job of a pair."""
    asked = Job.objects.filter(task=PAIR, args__van=van, args__rider=rider)
    return asked.order_by("-pk").first()


def missing(van: Read, rider: Read) -> list[dict[str, Any]]:
    """Which of the two is not whole yet, and what it lacks first."""
    found = []
    for kind, read in (("van", van), ("rider", rider)):
        says = lacks(kind_of(kind), read.content.doc)
        if says:
            found.append({"kind": kind, "number": read.row.pk, "says": says})
    return found
