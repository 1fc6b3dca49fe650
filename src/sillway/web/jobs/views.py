"""The list of long work, one job with its progress, and stopping it."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from sillway.store.jobs import ask, ask_cancel
from sillway.store.limits import limit
from sillway.store.models import Job
from sillway.web.access import act, allowed, by

# What the browser is told to stop asking with, by HTMX's own convention.
_STOP_POLLING = 286


def job_for(request: HttpRequest, number: int) -> Job:
    """A job of this account, or any for who manages accounts. Raises Http404."""
    job = Job.objects.filter(pk=number).first()
    if job is None or not (job.account == request.user.pk or allowed(request, "account.manage")):
        raise Http404
    return job


@act("job.see")
@require_http_methods(["GET"])
def jobs(request: HttpRequest) -> HttpResponse:
    """One's own long work, newest first; the owner sees everybody's."""
    rows = Job.objects.order_by("-pk")
    if not allowed(request, "account.manage"):
        rows = rows.filter(account=request.user.pk)
    return render(request, "jobs/jobs.html", {"rows": rows[: limit("page.rows")]})


@act("job.see")
@require_http_methods(["GET"])
def one(request: HttpRequest, number: int) -> HttpResponse:
    """One job; HTMX asks again while it runs."""
    job = job_for(request, number)
    over = job.state not in (Job.State.WAITING, Job.State.RUNNING)
    if request.htmx:  # type: ignore[attr-defined]
        status = _STOP_POLLING if over else 200
        return render(request, "jobs/_job.html", {"job": job, "over": over}, status=status)
    return render(request, "jobs/job.html", {"job": job, "over": over})


@act("job.cancel")
@require_POST
def cancel(request: HttpRequest, number: int) -> HttpResponse:
    """Ask a job to stop."""
    ask_cancel(job_for(request, number).pk, by(request))
    return redirect("jobs:one", number)


@act("account.manage")
@require_POST
def look_over(request: HttpRequest) -> HttpResponse:
    """Begin to look the store over."""
    return redirect("jobs:one", ask("store.look_over", by(request)))
