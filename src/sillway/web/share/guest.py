"""The pages of a guest: somebody with a link and nothing else. They show what the guest entered.

Every view looks the secret up first; a link that holds no more, and one that never was, give the
same page.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import wraps
from typing import Any, Final

from django import forms
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.records.measure import Way
from sillway.store.keys import Destroyed
from sillway.web import limiter, pages
from sillway.web.access import act, address
from sillway.web.measure.form import StepForm, reason_said
from sillway.web.measure.keep import states
from sillway.web.measure.show import chapters, drawing_of, progress
from sillway.web.measure.steps import Walk, told, walk
from sillway.web.policy import ANYONE
from sillway.web.share.links import LinkGone, look
from sillway.web.share.models import Proposal, ShareLink
from sillway.web.share.proposals import Decided, Entered, change, current, entered, send, take_back

#: At home there is a tape, a label, or somebody who knows.
_WAYS: Final = (Way.TAPE, Way.LABEL, Way.REPORTED)
_View = Callable[..., HttpResponse]


class SendForm(forms.Form):
    """Who sends it."""

    who = forms.CharField(label=gettext_lazy("Who measured"), max_length=80, required=False)


def _guest(view: _View) -> _View:
    """Open the view to whoever holds the secret of a link that holds, and to nobody else."""

    @wraps(view)
    def guarded(request: HttpRequest, secret: str, **more: Any) -> HttpResponse:
        try:
            link = look(secret)
        except LinkGone:
            if not limiter.allow("share_miss", address(request)):
                return pages.too_many(request)
            return _gone(request)
        if request.method == "POST" and not limiter.allow("share_write", str(link.pk)):
            return pages.too_many(request)
        try:
            response = view(request, link, secret, **more)
        except Destroyed:
            return _gone(request)
        # The address is the key: no search engine may list it. Other sites never hear it, since
        # the workbench names its addresses to itself only (Referrer-Policy: same-origin).
        response["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return guarded


@act(ANYONE)
@require_http_methods(["GET"])
@_guest
def begin(request: HttpRequest, link: ShareLink, secret: str) -> HttpResponse:
    """Where a guest begins: what to have at hand, and how far it is."""
    language = _language(request, link)
    if language:
        translation.activate(language)
    proposal, have = _have(link)
    found = states(walk("rider"), have.doc, have.reasons)
    first = next((one.step.id for one in found if one.open), found[0].step.id)
    context = {
        "progress": progress(found), "chapters": chapters(found, _urls(secret)),
        "go_on": _urls(secret)(first), "review": _review_url(secret),
        "sent": proposal is not None and proposal.state == Proposal.State.SENT,
        "until": link.until,
    }  # fmt: skip
    response = render(request, "share/begin.html", context)
    if language:
        response.set_cookie(
            settings.LANGUAGE_COOKIE_NAME, language, samesite="Lax", secure=settings.SECURE
        )
    return response


@act(ANYONE)
@require_http_methods(["GET", "POST"])
@_guest
def step(request: HttpRequest, link: ShareLink, secret: str, name: str) -> HttpResponse:
    """One step."""
    of = walk("rider")
    place = of.place(name)
    if place is None:
        raise Http404
    one, url = of.steps[place], _urls(secret)
    proposal, have = _have(link)
    if proposal is not None and proposal.state == Proposal.State.SENT:
        return redirect(_review_url(secret))
    after = url(of.steps[place + 1].id) if place + 1 < len(of.steps) else _review_url(secret)
    form, status = _form(of, name, have), 200
    if request.method == "POST":
        form = _form(of, name, have, request.POST)
        if form.is_valid():
            try:
                change(link, lambda start: _with(of, name, start, request.POST))
            except Decided:
                return redirect(_review_url(secret))
            except BadInput as error:
                form.blame(error)
            else:
                return redirect(after)
        status = 422
    context = {
        "step": one, "form": form, "place": place + 1, "of": len(of.steps),
        "chapter": told(one.chapter), "name": told(one.title), "how": told(one.how),
        "drawing": drawing_of(one), "reason": reason_said(have.reasons.get(one.id, "")),
        "begin": reverse("share:begin", args=[secret]), "review": _review_url(secret),
        "back": url(of.steps[place - 1].id) if place else reverse("share:begin", args=[secret]),
        "after": after,
    }  # fmt: skip
    return render(request, "share/step.html", context, status=status)


@act(ANYONE)
@require_http_methods(["GET", "POST"])
@_guest
def review(request: HttpRequest, link: ShareLink, secret: str) -> HttpResponse:
    """Everything the guest entered, and sending it in."""
    proposal, have = _have(link)
    data = request.POST if request.method == "POST" else None
    form = SendForm(data, initial={"who": have.who})
    if request.method == "POST" and form.is_valid():
        # Sent twice by a double press, it is sent once.
        with suppress(Decided):
            send(link, form.cleaned_data["who"].strip())
        return redirect(_review_url(secret))
    found = states(walk("rider"), have.doc, have.reasons)
    context = {
        "progress": progress(found), "chapters": chapters(found, _urls(secret)), "form": form,
        "sent": proposal is not None and proposal.state == Proposal.State.SENT,
        "anything": bool(have.doc or have.reasons), "secret": secret,
        "begin": reverse("share:begin", args=[secret]), "who": have.who,
    }  # fmt: skip
    return render(request, "share/review.html", context)


@act(ANYONE)
@require_POST
@_guest
def again(request: HttpRequest, link: ShareLink, secret: str) -> HttpResponse:
    """Take back what was sent, to put something right."""
    try:
        take_back(link)
    except Decided:
        return redirect(_review_url(secret))
    return redirect("share:begin", secret)


def _have(link: ShareLink) -> tuple[Proposal | None, Entered]:
    proposal = current(link)
    return proposal, entered(proposal) if proposal else Entered({}, {})


def _form(of: Walk, name: str, have: Entered, data: Any = None) -> StepForm:
    place = of.place(name)
    assert place is not None
    return StepForm(of.steps[place], of, have.doc, data, ways=_WAYS, units=True)


def _with(of: Walk, name: str, start: Entered, data: Any) -> Entered:
    """What was entered, with one step more. The form is read anew on what is kept by now."""
    form = _form(of, name, start, data)
    if not form.is_valid():
        raise BadInput("answers", "another answer meanwhile", "it once more")
    reasons = {key: why for key, why in start.reasons.items() if key != name}
    if form.gives_up:
        reasons[name] = form.reason()
    return replace(start, doc=form.changed(), reasons=reasons)


def _urls(secret: str) -> Callable[[str], str]:
    return lambda name: reverse("share:step", args=[secret, name])


def _review_url(secret: str) -> str:
    return reverse("share:review", args=[secret])


def _language(request: HttpRequest, link: ShareLink) -> str:
    """The language the link was made in, until the guest has chosen; then the empty word."""
    return "" if settings.LANGUAGE_COOKIE_NAME in request.COOKIES else link.language


def _gone(request: HttpRequest) -> HttpResponse:
    says = _("This link does not hold, or holds no more. Ask the lot for a new one.")
    return pages.refusal(request, 404, _("The link holds no more"), says)
