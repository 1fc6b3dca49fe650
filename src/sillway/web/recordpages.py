"""What the page of a van and the page of a rider have in common."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from sillway.errors import BadInput
from sillway.store.kinds import kind_of, lacks
from sillway.store.limits import limit
from sillway.store.merge import changes
from sillway.store.models import PhotoUse
from sillway.store.photos import add_photo
from sillway.store.records import Read, history
from sillway.web import limiter
from sillway.web.access import by, record_for
from sillway.web.sheet import parts_of, words


def page(
    request: HttpRequest,
    kind: str,
    number: int,
    desk: str,
    more: Callable[[Read], dict[str, Any]] | None = None,
    status: int = 200,
) -> HttpResponse:
    """The whole record as a sheet; ``more`` adds what only this kind shows."""
    asked = request.GET.get("revision", "")
    revision = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 10 else None
    read = record_for(request, kind, number, revision=revision)
    how = kind_of(kind)
    card = [
        (words(key), value)
        for key, value in read.content.card.items()
        if not isinstance(value, dict)
    ]
    # Known since it was saved; reading the whole document again would double the page's time.
    whole = read.row.complete and read.revision.number == read.row.version
    context = {
        "read": read,
        "kind": kind,
        "desk": desk,
        "title": how.index(read.content.doc, read.content.card).title,
        "lacks": "" if whole else lacks(how, read.content.doc),
        "card": card,
        "parts": parts_of(kind, read.content.doc),
        "photos": PhotoUse.objects.filter(record=read.row, hidden_at=None).order_by("pk"),
        "old": revision is not None and revision != read.row.version,
        "edit": f"{desk}:edit",
        "history": f"{desk}:history",
        "photo": f"{desk}:photo",
        "can_edit": f"{kind}.edit",
        "can_photo": f"{kind}.photo",
    }
    if more is not None:
        context.update(more(read))
    return render(request, f"{desk}/page.html", context, status=status)


def past(request: HttpRequest, kind: str, number: int, desk: str) -> HttpResponse:
    """Every revision with what it changed, newest first, page by page."""
    read = record_for(request, kind, number)
    numbers = range(read.row.version, 0, -1)
    page = Paginator(numbers, limit("page.revisions")).get_page(request.GET.get("page"))
    # One more than is shown: the oldest on this page is told against the one before it.
    reads = history(number, upto=page[0], most=len(page) + 1)
    befores = [one.content.whole() for one in reads[1:]] + [{}]
    steps = [
        {"read": one, "changes": changes(before, one.content.whole()) if before else None}
        for one, before in zip(reads, befores, strict=True)
    ][: len(page)]
    context = {
        "read": read,
        "kind": kind,
        "desk": desk,
        "title": kind_of(kind).index(read.content.doc, read.content.card).title,
        "steps": steps,
        "page": page,
        "page_name": f"{desk}:page",
        "undo_name": f"{desk}:undo",
        "can_undo": f"{kind}.undo",
    }
    return render(request, "history.html", context)


def add(request: HttpRequest, kind: str, number: int, back: str) -> HttpResponse:
    """Take in one or several photos; each that will not do is named, the others are kept."""
    record_for(request, kind, number, to="photo")
    files = request.FILES.getlist("photo")
    if not files:
        messages.error(request, _("No photo was chosen."))
    entry = _entry(request) if len(files) == 1 else None
    kept = 0
    for file in files:
        if not limiter.allow("upload", str(request.user.pk)):
            raise limiter.TooMany("upload")
        try:
            add_photo(number, file, by(request), shows=request.POST.get("shows", "")[:40],
                      entry=entry)  # fmt: skip
            kept += 1
        except BadInput as error:
            messages.error(request, f"{file.name}: {error.sentence()}")
    if kept:
        messages.success(request, _("Photos kept: %(n)d.") % {"n": kept})
    return redirect(back)


def _entry(request: HttpRequest) -> UUID | None:
    given = request.POST.get("entry", "")
    if not given:
        return None
    try:
        return UUID(given)
    except ValueError:
        raise Http404 from None
