"""The lot's side: making and ending links, and deciding on what was sent in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.store.keys import Destroyed
from sillway.store.limits import limit
from sillway.store.records import Conflict, Read
from sillway.web.access import act, by, demand, record_for
from sillway.web.measure.steps import told
from sillway.web.share.links import holds, make_link, revoke
from sillway.web.share.models import Proposal, ShareLink
from sillway.web.share.proposals import Change, Decided, accept, changes, decline, entered


class LinkForm(forms.Form):
    """The language the guest's pages begin in."""

    language = forms.ChoiceField(
        label=_("Language of the pages"), choices=[("en", "English"), ("es", "Español")]
    )


@act("rider.edit")
@require_http_methods(["GET"])
def sent_in(request: HttpRequest) -> HttpResponse:
    """What waits for a decision, and links that hold."""
    rows = Proposal.objects.filter(state=Proposal.State.SENT, link__rider__gone_at=None)
    page = Paginator(
        rows.select_related("link__rider").order_by("sent_at"), limit("page.rows")
    ).get_page(request.GET.get("page"))
    waiting = []
    for proposal in page:
        try:
            read = record_for(request, "rider", proposal.link.rider_id)
            who = entered(proposal).who
        except Destroyed:
            continue
        waiting.append({"proposal": proposal, "rider": _name(read), "who": who})
    return render(request, "share/sent_in.html", {"waiting": waiting, "page": page})


@act("link.make")
@require_http_methods(["GET", "POST"])
def links(request: HttpRequest, number: int) -> HttpResponse:
    """The links of one rider; a new one shows its address once."""
    read = record_for(request, "rider", number, to="edit")
    data = request.POST if request.method == "POST" else None
    form = LinkForm(data, initial={"language": read.content.card.get("language")})
    address, status = "", 200
    if request.method == "POST":
        if form.is_valid():
            _link, secret = make_link(read.row, form.cleaned_data["language"], by(request))
            address = request.build_absolute_uri(reverse("share:begin", args=[secret]))
        else:
            status = 422
    rows = ShareLink.objects.filter(rider=read.row).order_by("-pk")
    context = {
        "read": read, "name": _name(read), "form": form, "address": address,
        "links": [{"link": one, "holds": holds(one), "sent": _sent(one)} for one in rows],
    }  # fmt: skip
    return render(request, "share/links.html", context, status=status)


@act("link.make")
@require_POST
def end(request: HttpRequest, number: int) -> HttpResponse:
    """End a link."""
    link = ShareLink.objects.filter(pk=number).first()
    if link is None:
        raise Http404
    record_for(request, "rider", link.rider_id, to="edit")
    revoke(link, by(request))
    messages.success(request, _now("The link holds no more."))
    return redirect("share:links", link.rider_id)


@act("rider.edit")
@require_http_methods(["GET", "POST"])
def proposal(request: HttpRequest, number: int) -> HttpResponse:
    """One proposal beside the record: what to take, step by step."""
    one = Proposal.objects.select_related("link__rider").filter(pk=number).first()
    if one is None or one.state == Proposal.State.DRAFT:
        # What was not sent is the guest's alone.
        raise Http404
    read = record_for(request, "rider", one.link.rider_id, to="edit")
    if one.state != Proposal.State.SENT:
        messages.info(request, _now("Somebody has decided on this already."))
        return redirect("riders:page", read.row.pk)
    sent = entered(one)
    found = changes(sent, read)
    error, status = "", 200
    if request.method == "POST":
        done = _decide(request, one, read, found)
        if isinstance(done, HttpResponse):
            return done
        error, status = done, 409
    context = {
        "proposal": one, "read": read, "name": _name(read), "who": sent.who, "error": error,
        "changes": [{"step": c.step, "name": told(c.step.title), "clash": c.clash,
                     "rows": [(told(label), now, new) for label, now, new in c.rows]}
                    for c in found],
    }  # fmt: skip
    return render(request, "share/proposal.html", context, status=status)


def _decide(
    request: HttpRequest, one: Proposal, read: Read, found: list[Change]
) -> HttpResponse | str:
    """Accept or decline; the answer is where to go, or what stands in the way."""
    demand(request, "rider.edit")
    back = redirect("riders:page", read.row.pk)
    try:
        if "decline" in request.POST:
            decline(one, by(request))
            messages.info(request, _now("Left as it was; what was sent in is not taken."))
            return back
        take = {c.step.id: request.POST.get(f"take:{c.step.id}") for c in found}
        if any(answer not in ("take", "leave") for answer in take.values()):
            return _now("Choose for every step which answer holds.")
        base = _base(request)
        chosen = {step: answer == "take" for step, answer in take.items()}
        saved = accept(one, chosen, base, by(request, "link"))
    except Decided:
        messages.info(request, _now("Somebody has decided on this already."))
        return back
    except Conflict:
        return _now("Somebody changed this rider meanwhile; look again before you take it.")
    except BadInput as error:
        return error.sentence()
    messages.success(request, _now("Taken, as revision %(n)d.") % {"n": saved.revision})
    return back


def _base(request: HttpRequest) -> int:
    text = request.POST.get("base", "")
    if not (text.isascii() and text.isdigit() and 0 < len(text) < 10):
        raise Http404
    return int(text)


def _name(read: Read) -> str:
    return str(read.content.doc.get("name", ""))


def _sent(link: ShareLink) -> Any:
    return link.proposals.exclude(state=Proposal.State.DRAFT).order_by("-pk").first()
