"""Pages of one van. What they share with riders stands in ``recordpages`` and ``editing``."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.pack import Content
from sillway.store.records import create_record
from sillway.web import recordpages
from sillway.web.access import act, by
from sillway.web.editing import edit_page, undo


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


@act("van.see")
@require_http_methods(["GET"])
def page(request: HttpRequest, number: int) -> HttpResponse:
    """The whole van, as it stands or as it stood at ``?revision=``."""
    return recordpages.page(request, "van", number, "vans")


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
