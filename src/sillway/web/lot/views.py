"""The list of vans: where each stands, how long, what is in it, what it waits for."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

from django.core.paginator import Paginator
from django.db.models import Case, Count, F, QuerySet, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from sillway.errors import BadInput
from sillway.store.costs import totals_cents
from sillway.store.find import find
from sillway.store.kinds import KINDS
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.pack import unpack
from sillway.store.records import newest
from sillway.web.access import act, allowed
from sillway.web.sheet import still_missing

STAGES: Final = KINDS["van"].stages
MONEY: Final = "money"
#: Order → its name in the list of orders and how the database sorts.
ORDERS: Final[dict[str, tuple[Any, tuple[Any, ...]]]] = {
    "days": (_("longest here first"), (F("came_on").asc(nulls_last=True), "pk")),
    "new": (_("newest first"), (F("came_on").desc(nulls_last=True), "-pk")),
    "stage": (_("by stage"), ("step", F("came_on").asc(nulls_last=True), "pk")),
    "name": (_("by name"), ("title", "pk")),
    "changed": (_("last changed first"), ("-changed_at", "-pk")),
    MONEY: (_("most money in it first"), ("pk",)),
}


@act("lot.see")
@require_http_methods(["GET"])
def lot(request: HttpRequest) -> HttpResponse:
    """Every van with its stage and days; ``stage``, ``find`` and ``sort`` arrange it."""
    money = allowed(request, "van.costs")
    stage = request.GET.get("stage", "")
    text = request.GET.get("find", "").strip()
    sort = request.GET.get("sort", "")
    if sort not in ORDERS or (sort == MONEY and not money):
        sort = "days"
    rows, wrong = _rows(text, stage)
    page, totals = _page(rows, sort, request.GET.get("page"), money=money)
    context = {
        "vans": _lines(list(page), totals), "page": page, "stages": STAGES, "stage": stage,
        "find": text, "sort": sort, "wrong": wrong, "money": money,
        "orders": [(key, says) for key, (says, _how) in ORDERS.items() if key != MONEY or money],
        "counts": _counts(),
    }  # fmt: skip
    template = "lot/_vans.html" if request.htmx else "lot/lot.html"  # type: ignore[attr-defined]
    return render(request, template, context)


def _rows(text: str, stage: str) -> tuple[QuerySet[Record], str]:
    rows, wrong = Record.objects.filter(kind="van"), ""
    if text:
        try:
            rows = rows.filter(pk__in=[row.pk for row in find(text, ("van",))])
        except BadInput as error:
            rows, wrong = rows.none(), error.sentence()
    elif stage not in STAGES:
        rows = rows.exclude(stage="gone")
    return rows.filter(stage=stage) if stage in STAGES else rows, wrong


def _page(
    rows: QuerySet[Record], sort: str, number: str | None, *, money: bool
) -> tuple[Any, dict[int, int]]:
    """One page of vans in that order, and what is in each of them in cents."""
    step = Case(*(When(stage=name, then=Value(n)) for n, name in enumerate(STAGES)))
    ordered: Any = rows.annotate(step=step).order_by(*ORDERS[sort][1])
    if sort == MONEY:
        # Sealed, so the database cannot sort by it: all of them are opened.
        ordered = list(ordered)
        totals = _totals(ordered)
        ordered.sort(key=lambda row: -totals.get(row.pk, 0))
        return Paginator(ordered, limit("page.rows")).get_page(number), totals
    page = Paginator(ordered, limit("page.rows")).get_page(number)
    return page, _totals(list(page)) if money else {}


def _totals(rows: list[Record]) -> dict[int, int]:
    return totals_cents(row.pk for row in rows)


def _lines(rows: list[Record], totals: dict[int, int]) -> list[dict[str, Any]]:
    revisions = newest(rows)
    lines = []
    for row in rows:
        waits_for, lacks = _waits(bytes(revisions[row.pk].body), row.complete)
        cents = totals.get(row.pk)
        lines.append({"row": row, "waits_for": waits_for, "lacks": lacks, "cents": cents})
    return lines


@lru_cache(maxsize=2048)
def _waits(body: bytes, complete: bool) -> tuple[str, tuple[str, ...]]:
    """What a van waits for by its card, and what it lacks. Vans are not sealed."""
    said = unpack(body, "", "")
    lacks = () if complete else still_missing("van", said.doc)
    return str(said.card.get("waits_for") or ""), lacks


def _counts() -> list[tuple[str, int]]:
    """How many vans stand in each stage, in the order of the stages; empty ones left out."""
    found = dict(
        Record.objects.filter(kind="van").values_list("stage").annotate(n=Count("pk")).order_by()
    )
    return [(name, found[name]) for name in STAGES if found.get(name)]
