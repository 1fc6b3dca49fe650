"""Pages of one van. What they share with riders stands in ``recordpages`` and ``editing``."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.clock import now
from sillway.store.costs import add_line, ledgers, take_line
from sillway.store.kinds import kind_of, lacks
from sillway.store.ledger import Ledger, cents_from, show_cents
from sillway.store.pack import Content
from sillway.store.records import Read, create_record
from sillway.web import recordpages
from sillway.web.access import act, allowed, by, record_for
from sillway.web.editing import edit_page, undo
from sillway.web.vans.drawing import plan_svg


class NewVanForm(forms.Form):
    """What is known of a van before anybody has measured it."""

    stock_number = forms.CharField(label=_("Stock number"), max_length=80)
    year = forms.IntegerField(label=_("Year"))
    make = forms.CharField(label=_("Make"), max_length=80)
    model = forms.CharField(label=_("Model"), max_length=80)
    vin = forms.CharField(label=_("VIN"), max_length=80, required=False)


@act("van.edit")
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """Begin a van's record with its name; the rest is measured later."""
    form = NewVanForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        doc = {"kind": "van", **{k: v for k, v in form.cleaned_data.items() if v != ""}}
        try:
            saved = create_record("van", Content(doc), by(request))
        except BadInput as error:
            name = error.field if error.field in form.fields else None
            form.add_error(name, error.sentence())
        else:
            return redirect("vans:page", saved.record)
    context = {"form": form, "title": _("A new van"), "back": reverse("lot:lot")}
    return render(request, "new.html", context)


class CostForm(forms.Form):
    """One thing paid for this van."""

    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}))
    what = forms.CharField(label=_("What for"), max_length=200)
    amount = forms.CharField(
        label=_("Amount"), max_length=20, help_text=_("In dollars; with a minus if it came back.")
    )

    def clean_amount(self) -> int:
        """The amount in cents."""
        try:
            return cents_from(self.cleaned_data["amount"], "amount")
        except BadInput as error:
            raise forms.ValidationError(error.sentence()) from None


@act("van.see")
@require_http_methods(["GET"])
def page(request: HttpRequest, number: int) -> HttpResponse:
    """The whole van, as it stands or as it stood at ``?revision=``."""
    form = CostForm(initial={"day": now().date()})
    return recordpages.page(request, "van", number, "vans", _more(request, form))


def _more(request: HttpRequest, form: CostForm) -> Callable[[Read], dict[str, Any]]:
    """What only a van's page has: its drawing, its costs, its sheets."""

    def more(read: Read) -> dict[str, Any]:
        found: dict[str, Any] = {"drawn": not lacks(kind_of("van"), read.content.doc)}
        if allowed(request, "van.costs"):
            found["ledger"] = ledgers([read.row.pk]).get(read.row.pk, Ledger())
            found["form"] = form
        return found

    return more


@act("van.see")
@require_http_methods(["GET"])
def plan(request: HttpRequest, number: int, revision: int) -> HttpResponse:
    """The plan of the van alone as SVG, as it stood at a revision."""
    read = record_for(request, "van", number, revision=revision)
    text = json.dumps(read.content.doc)
    try:
        drawn = plan_svg(text, read.revision.at.date())
    except BadInput:
        raise Http404 from None
    return HttpResponse(drawn, content_type="image/svg+xml")


@act("van.costs")
@require_POST
def cost(request: HttpRequest, number: int) -> HttpResponse:
    """One cost line more."""
    record_for(request, "van", number)
    form = CostForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            add_line(number, given["day"], given["what"], given["amount"], by(request))
        except BadInput as error:
            form.add_error(None, error.sentence())
        else:
            return redirect(reverse("vans:page", args=[number]) + "#costs")
    return recordpages.page(request, "van", number, "vans", _more(request, form), status=422)


@act("van.costs")
@require_POST
def take_cost(request: HttpRequest, number: int, line: str) -> HttpResponse:
    """One cost line less; the revisions keep it."""
    record_for(request, "van", number)
    gone = take_line(number, line, by(request))
    if gone is not None:
        says = _now("Taken out: %(what)s, %(amount)s. The history keeps it.")
        told = {"what": gone.what, "amount": show_cents(gone.cents)}
        messages.success(request, says % told)
    return redirect(reverse("vans:page", args=[number]) + "#costs")


@act("van.edit")
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, number: int, part: str) -> HttpResponse:
    """One part of it."""
    return edit_page(request, "van", number, part, reverse("vans:page", args=[number]))


@act("van.see")
@require_http_methods(["GET"])
def past(request: HttpRequest, number: int) -> HttpResponse:
    """Every change."""
    return recordpages.past(request, "van", number, "vans")


@act("van.undo")
@require_POST
def undo_to(request: HttpRequest, number: int, revision: int) -> HttpResponse:
    """Back to a revision."""
    return undo(request, "van", number, revision, reverse("vans:page", args=[number]))


@act("van.photo")
@require_POST
def photo(request: HttpRequest, number: int) -> HttpResponse:
    """A photo more."""
    return recordpages.add(request, "van", number, reverse("vans:page", args=[number]))
