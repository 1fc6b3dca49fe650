"""Measuring a van or a rider: where to begin, one page per step, and looking it all over."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from sillway.errors import BadInput
from sillway.store.kinds import kind_of, lacks
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.records import Conflict, Read, read_many
from sillway.web.access import act, by, record_for
from sillway.web.measure import paths
from sillway.web.measure.form import StepForm, reason_said
from sillway.web.measure.keep import NOT_MEASURED, form_at, keep, states, states_of
from sillway.web.measure.show import chapters, drawing_of, progress
from sillway.web.measure.steps import Step, told, walk
from sillway.web.offline.keeping import on_phones
from sillway.web.templatetags.sheet import said


@dataclass(frozen=True, slots=True)
class Round:
    """Where a walk is: whose, and the addresses of its pages."""

    kind: str
    number: int

    def url(self, step: str = "") -> str:
        """The page of a step, or of the beginning."""
        if not step:
            return reverse(f"measure:{self.kind}", args=[self.number])
        return reverse(f"measure:{self.kind}_step", args=[self.number, step])

    @property
    def review(self) -> str:
        """The page that looks it all over."""
        return reverse(f"measure:{self.kind}_review", args=[self.number])

    @property
    def record(self) -> str:
        """The page of the record."""
        return reverse(f"{self.kind}s:page", args=[self.number])


@act("van.edit")
@require_http_methods(["GET"])
def vans(request: HttpRequest) -> HttpResponse:
    """The vans on the lot, those with most left to measure first to be told by words."""
    rows = Record.objects.filter(kind="van").exclude(stage__in=("sold", "gone"))
    page = Paginator(rows.order_by("complete", "came_on", "pk"), limit("page.rows")).get_page(
        request.GET.get("page")
    )
    shown = list(page)
    told_of = read_many(shown)
    of = walk("van")
    found = []
    for row in shown:
        content = told_of[row.pk]
        done = progress(states(of, content.doc, content.card.get(NOT_MEASURED, {})))
        found.append({"row": row, "title": _title("van", content), "progress": done})
    return on_phones(render(request, "measure/vans.html", {"vans": found, "page": page}))


@act("van.edit")
@require_http_methods(["GET"])
def van_start(request: HttpRequest, number: int) -> HttpResponse:
    """Where measuring a van begins, or goes on."""
    return on_phones(_start(request, Round("van", number)))


@act("van.edit")
@require_http_methods(["GET"])
def van_review(request: HttpRequest, number: int) -> HttpResponse:
    """All answers of a van."""
    return on_phones(_review(request, Round("van", number)))


@act("van.edit")
@require_http_methods(["GET", "POST"])
def van_step(request: HttpRequest, number: int, step: str) -> HttpResponse:
    """One step of a van."""
    return on_phones(_step(request, Round("van", number), step))


@act("rider.edit")
@require_http_methods(["GET"])
def rider_start(request: HttpRequest, number: int) -> HttpResponse:
    """Where measuring a rider at home begins. Riders' pages are never kept on a phone."""
    return _start(request, Round("rider", number))


@act("rider.edit")
@require_http_methods(["GET"])
def rider_review(request: HttpRequest, number: int) -> HttpResponse:
    """All answers of a rider."""
    return _review(request, Round("rider", number))


@act("rider.edit")
@require_http_methods(["GET", "POST"])
def rider_step(request: HttpRequest, number: int, step: str) -> HttpResponse:
    """One step of a rider."""
    return _step(request, Round("rider", number), step)


def _start(request: HttpRequest, on: Round) -> HttpResponse:
    read = record_for(request, on.kind, on.number, to="edit")
    found = states_of(walk(on.kind), read)
    first = next((one.step.id for one in found if one.open), found[0].step.id)
    offline = on.kind == "van"
    along = [on.url(), on.review, *(on.url(one.step.id) for one in found)] if offline else []
    context = {
        **_frame(on, read), "chapters": chapters(found, on.url), "progress": progress(found),
        "go_on": on.url(first), "along": along,
    }  # fmt: skip
    return render(request, "measure/start.html", context)


def _review(request: HttpRequest, on: Round) -> HttpResponse:
    read = record_for(request, on.kind, on.number, to="edit")
    found = states_of(walk(on.kind), read)
    context = {
        **_frame(on, read), "chapters": chapters(found, on.url), "progress": progress(found),
        "lacks": lacks(kind_of(on.kind), read.content.doc),
    }  # fmt: skip
    return render(request, "measure/review.html", context)


def _step(request: HttpRequest, on: Round, name: str) -> HttpResponse:
    of = walk(on.kind)
    place = of.place(name)
    if place is None:
        raise Http404
    step = of.steps[place]
    read = record_for(request, on.kind, on.number, to="edit")
    after = on.url(of.steps[place + 1].id) if place + 1 < len(of.steps) else on.review
    entry = request.GET.get("entry", "") if step.each else ""
    if entry and paths.get(read.content.doc, f"{step.each}[{entry}]") is None:
        raise Http404
    form, status, clash = form_at(of, step, read, None, entry), 200, None
    if request.method == "POST":
        start = record_for(request, on.kind, on.number, revision=_base(request), to="edit")
        form = form_at(of, step, start, request.POST, entry)
        status = 422
        if form.is_valid():
            try:
                _keep(request, on, form, start)
            except BadInput as error:
                form.blame(error)
            except Conflict as conflict:
                clash, status = conflict, 409
            else:
                again = step.each and not form.gives_up and "more" in request.POST
                return redirect(on.url(step.id) if again else after)
    reason = read.content.card.get(NOT_MEASURED, {}).get(step.id, "")
    context = {
        **_frame(on, read), "step": step, "form": form, "place": place + 1,
        "of": len(of.steps), "chapter": told(step.chapter), "name": told(step.title),
        "how": told(step.how), "drawing": drawing_of(step), "reason": reason_said(reason),
        "back": on.url(of.steps[place - 1].id) if place else on.url(), "after": after,
        "entries": _entries(step, read), "entry": entry,
        "clashes": [(one.field.removeprefix("doc."), said(one.mine), said(one.theirs))
                    for one in clash.clashes] if clash else [],
        "base": clash.theirs if clash else _shown_base(request, read),
        "payload": json.dumps({"record": on.number, "step": step.id, "entry": entry}),
        "photo": json.dumps({"record": on.number}),
    }  # fmt: skip
    return render(request, "measure/step.html", context, status=status)


def _keep(request: HttpRequest, on: Round, form: StepForm, start: Read) -> None:
    saved = keep(on.number, form, start, by(request))
    if saved.changed:
        messages.success(request, _("Kept as revision %(n)d.") % {"n": saved.revision})


def _frame(on: Round, read: Read) -> dict[str, Any]:
    return {
        "on": on, "read": read, "title": _title(on.kind, read.content), "offline": on.kind == "van",
    }  # fmt: skip


def _title(kind: str, content: Any) -> str:
    return kind_of(kind).index(content.doc, content.card).title


def _entries(step: Step, read: Read) -> list[dict[str, str]]:
    if not step.each:
        return []
    found = paths.get(read.content.doc, step.each) or []
    return [{"name": str(one.get(step.key, ""))} for one in found if isinstance(one, dict)]


def _shown_base(request: HttpRequest, read: Read) -> int:
    return _base(request) if request.method == "POST" else read.revision.number


def _base(request: HttpRequest) -> int:
    text = request.POST.get("base", "")
    if not (text.isascii() and text.isdigit() and 0 < len(text) < 10):
        raise Http404
    return int(text)
