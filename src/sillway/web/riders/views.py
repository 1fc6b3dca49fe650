"""The list of riders, one rider, and deletion on request."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.find import find
from sillway.store.kinds import KINDS
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.persons import destroy_person
from sillway.store.records import create_record, read_many
from sillway.web import recordpages
from sillway.web.access import act, by, record_for
from sillway.web.editing import edit_page, undo


class NewRiderForm(forms.Form):
    """What is known when the phone rings."""

    name = forms.CharField(label=_("Name"), max_length=80)
    phone = forms.CharField(label=_("Phone"), max_length=200, required=False)
    email = forms.CharField(label=_("E-mail"), max_length=200, required=False)
    language = forms.ChoiceField(
        label=_("Language"), choices=[("en", "English"), ("es", "Español")]
    )


class DestroyForm(forms.Form):
    """The name typed once more, so that nobody is deleted by a slip."""

    name = forms.CharField(label=_("The name, typed once more"), max_length=80)


@act("rider.see")
@require_http_methods(["GET"])
def riders(request: HttpRequest) -> HttpResponse:
    """Riders, last touched first; ``find`` and ``stage`` narrow it."""
    stages = KINDS["rider"].stages
    stage = request.GET.get("stage", "")
    text = request.GET.get("find", "").strip()
    rows = Record.objects.filter(kind="rider", gone_at=None)
    if text:
        rows = rows.filter(pk__in=[row.pk for row in find(text, ("rider",))])
    if stage in stages:
        rows = rows.filter(stage=stage)
    page = Paginator(rows.order_by("-changed_at"), limit("page.rows")).get_page(
        request.GET.get("page")
    )
    shown = list(page)
    said = read_many(shown)
    people = [
        {"row": row, "card": said[row.pk].card, "doc": said[row.pk].doc}
        for row in shown
        if row.pk in said
    ]
    context = {"people": people, "page": page, "stages": stages, "stage": stage, "find": text}
    template = "riders/_riders.html" if request.htmx else "riders/riders.html"  # type: ignore[attr-defined]
    return render(request, template, context)


@act("rider.edit")
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """Begin a rider's record with the name; the rest is measured later."""
    form = NewRiderForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        card = {key: given[key] for key in ("phone", "email", "language")}
        content = Content({"kind": "rider", "name": given["name"]}, card)
        try:
            saved = create_record("rider", content, by(request))
        except BadInput as error:
            form.add_error(error.field if error.field in form.fields else None, error.sentence())
        else:
            return redirect("riders:page", saved.record)
    context = {"form": form, "title": _("A new rider"), "back": reverse("riders:riders")}
    return render(request, "new.html", context)


@act("rider.see")
@require_http_methods(["GET"])
def page(request: HttpRequest, number: int) -> HttpResponse:
    """The whole rider."""
    return recordpages.page(request, "rider", number, "riders")


@act("rider.edit")
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, number: int, part: str) -> HttpResponse:
    """One part of it."""
    return edit_page(request, "rider", number, part, reverse("riders:page", args=[number]))


@act("rider.see")
@require_http_methods(["GET"])
def past(request: HttpRequest, number: int) -> HttpResponse:
    """Every change."""
    return recordpages.past(request, "rider", number, "riders")


@act("rider.undo")
@require_POST
def undo_to(request: HttpRequest, number: int, revision: int) -> HttpResponse:
    """Back to a revision."""
    return undo(request, "rider", number, revision, reverse("riders:page", args=[number]))


@act("rider.photo")
@require_POST
def photo(request: HttpRequest, number: int) -> HttpResponse:
    """A photo more."""
    return recordpages.add(request, "rider", number, reverse("riders:page", args=[number]))


@act("rider.destroy")
@require_http_methods(["GET", "POST"])
def destroy(request: HttpRequest, number: int) -> HttpResponse:
    """Delete a person on request: rider, offers and sales, for ever."""
    read = record_for(request, "rider", number, to="destroy")
    name = str(read.content.doc.get("name", ""))
    form = DestroyForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if form.cleaned_data["name"].split() == name.split():
            count = destroy_person(read.row.person, by(request))
            messages.success(request, _now("Deleted; records no longer readable: %(n)d.")
                             % {"n": count})  # fmt: skip
            return redirect("riders:riders")
        form.add_error("name", _("This is not the name on this page."))
    held = Record.objects.filter(person=read.row.person)
    context = {"read": read, "name": name, "form": form, "held": held}
    return render(request, "riders/destroy.html", context)
