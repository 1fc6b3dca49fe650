"""What the one box finds, by kind; only in the kinds the account may see."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from sillway.errors import BadInput
from sillway.store.find import FIGURES, Question, find, parse
from sillway.store.kinds import KINDS
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.records import read_many
from sillway.web.access import act, allowed

#: What the kinds are called in a heading; others by their own name.
_CALLED: dict[str, Any] = {
    "van": gettext_lazy("Vans"),
    "rider": gettext_lazy("Riders"),
    "inspection": gettext_lazy("Inspections"),
    "offer": gettext_lazy("Offers"),
    "sale": gettext_lazy("Sales"),
}


@dataclass(frozen=True, slots=True)
class Hit:
    """One record found: its name, where it stands, a second line, and its page if it has one."""

    title: str
    stage: str
    more: str
    url: str


@act("lot.see")
@require_http_methods(["GET"])
def find_page(request: HttpRequest) -> HttpResponse:
    """The answers to ``q``, or how to ask."""
    line = " ".join(request.GET.get("q", "").split())
    asked, wrong = Question(), ""
    try:
        asked = parse(line)
    except BadInput as error:
        wrong = error.sentence()
    kinds = [kind for kind in KINDS if kind in _CALLED and allowed(request, f"{kind}.see")]
    rows = [] if wrong else find(asked, kinds)
    # A plain record's title says enough; a sealed one must be opened to have one.
    said = read_many([row for row in rows if KINDS[row.kind].sealed])
    groups = []
    for kind in kinds:
        hits = [_hit(row, said.get(row.pk)) for row in rows if row.kind == kind]
        if hits:
            groups.append((_CALLED[kind], hits))
    context = {
        "line": line, "wrong": wrong, "asked": asked, "groups": groups, "count": len(rows),
        "full": len(rows) == limit("find.rows"), "figures": list(FIGURES),
        "sealed": "rider" in kinds and bool(asked.bounds),
    }  # fmt: skip
    return render(request, "find/find.html", context, status=422 if wrong else 200)


def _hit(row: Record, content: Content | None) -> Hit:
    try:
        url = reverse(f"{row.kind}s:page", args=[row.pk])
    except NoReverseMatch:
        url = ""
    title, more = row.title, ""
    if content is not None and row.kind == "rider":
        title = str(content.doc.get("name") or "?")
        more = str(content.card.get("phone") or "")
    elif content is not None:
        title = title or str(content.card.get("title") or "")
    return Hit(title or _("without a name"), row.stage, more, url)
