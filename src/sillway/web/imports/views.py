"""Pages: send a sheet, say which column is what, look it over, bring it in."""

from __future__ import annotations

import csv
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.jobs import ask
from sillway.store.limits import limit
from sillway.store.models import Job
from sillway.web import limiter
from sillway.web.access import act, by
from sillway.web.imports import shelf
from sillway.web.imports.columns import KEYS, checked, choices, suggested
from sillway.web.imports.table import read_table
from sillway.web.imports.tasks import counted

# Rows of the sheet shown beside each column, so that one sees what is in it.
_SAMPLES = 3
_RUNNING = (Job.State.WAITING, Job.State.RUNNING)


class SheetForm(forms.Form):
    """A file and what is in it."""

    kind = forms.ChoiceField(
        label=_("What the sheet lists, one a row"),
        choices=[("van", _("vans")), ("rider", _("riders"))],
    )
    units = forms.ChoiceField(
        label=_("What a number without a unit means"),
        choices=[
            ("inch-pound", _("inches and pounds")),
            ("metric", _("millimetres and kilograms")),
        ],
    )
    file = forms.FileField(
        label=_("The sheet"),
        help_text=_("CSV in UTF-8, or XLSX; the first row names the columns."),
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx"}),
    )


@act("import.run")
@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """Send a sheet, or go on with one that was sent."""
    form = SheetForm(request.POST or None, request.FILES or None)
    status = 200
    if request.method == "POST":
        if not limiter.allow("import", str(request.user.pk)):
            raise limiter.TooMany("import")
        if form.is_valid():
            try:
                return redirect("imports:columns", _taken_in(request, form.cleaned_data))
            except BadInput as error:
                name = "file" if error.field == "file" else None
                form.add_error(name, error.sentence())
        status = 422
    waiting = [(token, sent) for token in shelf.tokens() if (sent := _or_none(token))]
    context = {"form": form, "waiting": waiting, "kinds": list(KEYS)}
    return render(request, "imports/start.html", context, status=status)


def _taken_in(request: HttpRequest, given: dict[str, Any]) -> str:
    file = given["file"]
    table = read_table(file, file.size)
    sent = shelf.Sent(
        kind=given["kind"], name=file.name[:80], account=request.user.pk or 0,
        metric=given["units"] == "metric", header=list(table.header),
        rows=[(number, list(cells)) for number, cells in table.rows],
    )  # fmt: skip
    return shelf.put(sent)


@act("import.run")
@require_http_methods(["GET"])
def heading(request: HttpRequest, kind: str) -> HttpResponse:
    """An empty sheet with every column there is."""
    if kind not in KEYS:
        raise Http404
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{kind}s.csv"'
    csv.writer(answer).writerow(choices(kind))
    return answer


@act("import.run")
@require_http_methods(["GET", "POST"])
def columns(request: HttpRequest, token: str) -> HttpResponse:
    """Which column is which field; then the sheet is looked over."""
    sent = _sent(token)
    chosen = sent.chosen or suggested(sent.kind, sent.header)
    wrong = ""
    if request.method == "POST":
        chosen = [request.POST.get(f"column-{n}", "").strip() for n in range(len(sent.header))]
        try:
            sent.chosen = checked(sent.kind, sent.header, chosen)
        except BadInput as error:
            wrong = error.sentence()
        else:
            sent.found = []
            sent.job = ask("imports.look", by(request), token=token)
            shelf.put(sent, token)
            return redirect("imports:rows", token)
    samples = [[cells[n] for _row, cells in sent.rows[:_SAMPLES] if cells[n]]
               for n in range(len(sent.header))]  # fmt: skip
    context = {
        "sent": sent, "token": token, "wrong": wrong, "choices": choices(sent.kind),
        "columns": list(zip(sent.header, chosen, samples, strict=True)),
    }  # fmt: skip
    return render(request, "imports/columns.html", context, status=422 if wrong else 200)


@act("import.run")
@require_http_methods(["GET"])
def rows(request: HttpRequest, token: str) -> HttpResponse:
    """What each row would do; HTMX asks again until it is known."""
    sent = _sent(token)
    job = Job.objects.filter(pk=sent.job).first()
    if job is None:
        return redirect("imports:columns", token)
    if request.htmx:  # type: ignore[attr-defined]
        if job.state in _RUNNING:
            return render(request, "imports/_progress.html", {"job": job})
        return HttpResponse(status=204, headers={"HX-Refresh": "true"})
    counts = counted(sent.found)
    only = request.GET.get("only", "")
    shown = [one for one in sent.found if only in ("", one["does"])]
    page = Paginator(shown, limit("page.rows")).get_page(request.GET.get("page"))
    names = {"new": _now("new"), "changes": _now("changes"), "same": _now("nothing new"),
             "error": _now("wrong")}  # fmt: skip
    context = {
        "sent": sent, "token": token, "job": job, "running": job.state in _RUNNING,
        "page": page, "lines": [{**one, "word": names[one["does"]]} for one in page],
        "counts": [(does, names[does], n) for does, n in counts.items() if n], "only": only,
        "ready": bool(sent.found) and not counts["error"],
        "brings": counts["new"] + counts["changes"], "errors": counts["error"],
        "page_url": reverse(f"{sent.kind}s:page", args=[0]).replace("/0/", "/"),
    }  # fmt: skip
    return render(request, "imports/rows.html", context)


@act("import.run")
@require_POST
def apply(request: HttpRequest, token: str) -> HttpResponse:
    """Bring it in, as work of its own."""
    sent = _sent(token)
    if not sent.found or any(one["does"] == "error" for one in sent.found):
        return redirect("imports:rows", token)
    return redirect("jobs:one", ask("imports.apply", by(request), token=token))


@act("import.run")
@require_POST
def drop(request: HttpRequest, token: str) -> HttpResponse:
    """Forget a sheet that was sent."""
    _sent(token)
    shelf.drop(token)
    return redirect("imports:start")


def _sent(token: str) -> shelf.Sent:
    try:
        return shelf.get(token)
    except shelf.NotThere:
        raise Http404 from None


def _or_none(token: str) -> shelf.Sent | None:
    try:
        return shelf.get(token)
    except shelf.NotThere:
        return None
