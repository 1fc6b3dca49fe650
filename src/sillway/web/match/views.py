"""A rider against the whole lot, a van against all who wait: kept lines, and work in progress."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.find import find
from sillway.store.jobs import ask, ask_cancel
from sillway.store.kinds import kind_of, lacks
from sillway.store.limits import limit
from sillway.store.models import Job
from sillway.store.records import Read, read_many
from sillway.web.access import act, allowed, by, record_for
from sillway.web.fits.keep import today
from sillway.web.fits.views import OPEN
from sillway.web.jobs.views import job_for
from sillway.web.match.lines import VERDICTS, Line, counts, for_rider, for_van
from sillway.web.match.tasks import RIDER, VAN
from sillway.web.match.who import lot, waiting


@act("rider.see")
@require_http_methods(["GET"])
def start(request: HttpRequest) -> HttpResponse:
    """Whom or what to match: riders and vans, found or last touched."""
    text = request.GET.get("find", "").strip()
    wrong, found = "", None
    try:
        found = find(text, ("rider", "van")) if text else None
    except BadInput as error:
        wrong = error.sentence()
    most = limit("page.rows")
    rows = found if found is not None else [*reversed(waiting()[-most:]), *lot()[:most]]
    riders = [row for row in rows if row.kind == "rider"][:most]
    names = read_many(riders)
    context = {
        "find": text, "wrong": wrong,
        "riders": [(row, names[row.pk].doc.get("name", "?")) for row in riders if row.pk in names],
        "vans": [row for row in rows if row.kind == "van"][:most],
    }  # fmt: skip
    return render(request, "match/start.html", context)


@act("rider.see")
@require_http_methods(["GET"])
def rider(request: HttpRequest, number: int) -> HttpResponse:
    """One rider against the lot."""
    read = record_for(request, "rider", number)
    title = str(read.content.doc.get("name") or "?")
    return _page(request, read, title, RIDER, for_rider(read.row, lot(), today()))


@act("rider.see")
@require_http_methods(["GET"])
def van(request: HttpRequest, number: int) -> HttpResponse:
    """One van against the riders who wait."""
    read = record_for(request, "van", number)
    return _page(request, read, read.row.title, VAN, for_van(read.row, waiting(), today()))


@act("rider.see")
@require_POST
def begin_rider(request: HttpRequest, number: int) -> HttpResponse:
    """Begin to match a rider."""
    return _begin(request, record_for(request, "rider", number), RIDER)


@act("rider.see")
@require_POST
def begin_van(request: HttpRequest, number: int) -> HttpResponse:
    """Begin to match a van."""
    return _begin(request, record_for(request, "van", number), VAN)


@act("rider.see")
@require_POST
def stop(request: HttpRequest, job: int) -> HttpResponse:
    """Stop a match; what was answered so far stays."""
    found = job_for(request, job)
    if found.task not in (RIDER, VAN):
        raise Http404
    ask_cancel(found.pk, by(request))
    if found.task == RIDER:
        return redirect("match:rider", found.args["rider"])
    return redirect("match:van", found.args["van"])


def _begin(request: HttpRequest, read: Read, task: str) -> HttpResponse:
    kind, number = read.row.kind, read.row.pk
    job = _job(task, number)
    if not _missing(read) and (job is None or job.state not in OPEN):
        ask(task, by(request), **{kind: number})
    return redirect(f"match:{kind}", number)


def _page(
    request: HttpRequest, read: Read, title: str, task: str, found: list[Line]
) -> HttpResponse:
    job = _job(task, read.row.pk)
    working = job is not None and job.state in OPEN
    mine = job is not None and may_stop(request, job)
    if request.htmx:  # type: ignore[attr-defined]
        if working:
            return render(request, "match/_working.html", {"job": job, "mine": mine})
        return HttpResponse(status=204, headers={"HX-Refresh": "true"})
    verdict = request.GET.get("verdict", "")
    shown = [line for line in found if line.row and line.row["verdict"] == verdict]
    context: dict[str, Any] = {
        "read": read, "kind": read.row.kind, "title": title, "job": job, "working": working,
        "mine": mine, "missing": _missing(read), "counts": counts(found), "all": len(found),
        "todo": sum(line.row is None and line.whole for line in found),
        "lines": shown if verdict in VERDICTS else found,
        "verdict": verdict if verdict in VERDICTS else "",
        "other": _("Rider") if task == VAN else _("Van"),
    }  # fmt: skip
    return render(request, "match/match.html", context)


def may_stop(request: HttpRequest, job: Job) -> bool:
    """Whether this account asked for the job, or manages accounts."""
    return job.account == request.user.pk or allowed(request, "account.manage")


def _missing(read: Read) -> str:
    return lacks(kind_of(read.row.kind), read.content.doc)


def _job(task: str, number: int) -> Job | None:
    """The newest match of a record."""
    name = "rider" if task == RIDER else "van"
    asked = Job.objects.filter(task=task, **{f"args__{name}": number})
    return asked.order_by("-pk").first()
