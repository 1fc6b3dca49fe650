"""The call sheet. Each answer is kept at once; the lot is screened anew after it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.errors import BadInput
from sillway.fit.sketch import grow, is_sketch
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.records import Conflict, Read, create_record, read_many, save_record
from sillway.web.access import act, by, record_for
from sillway.web.calls.answers import FIELDS, WAYS, put, shown, unclear, values
from sillway.web.calls.lot import open_questions, talk
from sillway.web.calls.questions import BY_ID, DRIVE, DRIVES, NAME, NOTE, PHONE, QUESTIONS
from sillway.web.fits.keep import today

# Two who save in the same moment: after so many tries somebody is told instead.
_TRIES: Final = 3


@act("rider.see")
@require_http_methods(["GET"])
def calls(request: HttpRequest) -> HttpResponse:
    """Begin a call, or go on with one."""
    rows = Record.objects.filter(kind="rider", stage="calling", gone_at=None)
    shown_rows = list(rows.order_by("-changed_at")[: limit("page.rows")])
    said = read_many(shown_rows)
    open_calls = [
        {"row": row, "name": said[row.pk].doc.get("name", "?"), "card": said[row.pk].card,
         "open": len(open_questions(said[row.pk].doc))}
        for row in shown_rows if row.pk in said
    ]  # fmt: skip
    return render(request, "calls/calls.html", {"calls": open_calls})


@act("rider.edit")
@require_POST
def new(request: HttpRequest) -> HttpResponse:
    """Begin a rider's record with whatever is known; also with nothing."""
    start = Content(grow({"kind": "rider"}, today()), {})
    given = {name: request.POST.get(name, "").strip() for name in (NAME, PHONE)}
    told = put(start, {k: v for k, v in given.items() if v}, WAYS[0], today())
    saved = create_record("rider", told.content, by(request))
    return redirect("calls:sheet", saved.record)


@act("rider.edit")
@require_http_methods(["GET"])
def sheet(request: HttpRequest, number: int) -> HttpResponse:
    """The call sheet of a rider."""
    read = record_for(request, "rider", number, to="edit")
    return _render(request, read, _State(_passed(request.GET.get("passed", "")), WAYS[0], {}, {}))


@act("rider.edit")
@require_POST
def answer(request: HttpRequest, number: int) -> HttpResponse:
    """Keep what was typed and go on to the next question."""
    posted = {name: request.POST[name][:2000] for name in FIELDS if name in request.POST}
    way = request.POST.get("way", WAYS[0])
    passed = _passed(request.POST.get("passed", ""))
    asked = request.POST.get("asked", "")
    if asked in BY_ID and not posted.get(asked, "").strip():
        # Enter on an empty answer: they do not know; ask something else.
        passed |= {asked}
    base = _number(request.POST.get("base"))
    for _try in range(_TRIES):
        read = record_for(request, "rider", number, to="edit")
        before = read
        if base is not None and 0 < base < read.row.version:
            before = record_for(request, "rider", number, revision=base, to="edit")
        mine, clash = _changes(posted, values(before.content), values(read.content))
        told = put(read.content, mine, way, today())
        try:
            save_record(number, replace(told.content, note="call"), by(request),
                        base=read.revision.number)  # fmt: skip
        except Conflict:
            continue
        except BadInput as error:
            return _again(request, read, _State(passed, way, {NOTE: error.sentence()}, posted))
        break
    else:
        wrong = {NOTE: _("Others were saving at the same moment; send it again.")}
        return _again(request, read, _State(passed, way, wrong, posted))
    them = read.revision.by_name
    read = record_for(request, "rider", number, to="edit")
    theirs = values(read.content)
    wrong = dict(told.wrong)
    meanwhile = _("%(who)s wrote “%(text)s” here meanwhile. Send once more to keep yours.")
    for name in clash:
        wrong[name] = meanwhile % {"who": them, "text": theirs[name]}
    return _again(request, read, _State(passed, way, wrong, {n: posted[n] for n in clash}))


@dataclass(frozen=True, slots=True)
class _State:
    """What the page shows besides the record: what was passed over, and answers still wrong."""

    passed: frozenset[str]
    way: str
    wrong: Mapping[str, str]
    texts: Mapping[str, str]


def _changes(
    posted: Mapping[str, str], before: Mapping[str, str], now: Mapping[str, str]
) -> tuple[dict[str, str], list[str]]:
    """What I changed, and which of it somebody else changed to something else meanwhile."""
    mine = {
        name: text
        for name, text in posted.items()
        if _plain(text) != _plain(before.get(name, "")) and not (name == DRIVE and not text)
    }
    clash = [
        name
        for name, text in mine.items()
        if _plain(now[name]) not in (_plain(before[name]), _plain(text))
    ]
    return {name: text for name, text in mine.items() if name not in clash}, clash


def _plain(text: str) -> str:
    return text.replace("\r\n", "\n").strip()


def _again(request: HttpRequest, read: Read, state: _State) -> HttpResponse:
    if request.htmx:  # type: ignore[attr-defined]
        return _render(request, read, state)
    if state.wrong:
        return _render(request, read, state, status=422)
    url = redirect("calls:sheet", read.row.pk).url
    return redirect(f"{url}?passed={','.join(sorted(state.passed))}")


def _render(request: HttpRequest, read: Read, state: _State, status: int = 200) -> HttpResponse:
    content, on = read.content, today()
    texts = {**values(content), **state.texts}
    wrong = {name: _("not understood") for name in unclear(content)} | dict(state.wrong)
    so_far = talk(content.doc, state.passed, on)
    rows = {
        one.id: {
            "id": one.id, "says": one.says, "hint": one.hint, "text": texts[one.id],
            "wrong": wrong.get(one.id, ""), "passed": one.id in state.passed,
            "choices": DRIVES.items() if one.id == DRIVE else None,
        }
        for one in QUESTIONS if shown(content.doc, one.id)
    }  # fmt: skip
    # What is wrong comes first; it is still being talked about.
    first = next((name for name in rows if name in wrong), so_far.ask)
    context: dict[str, Any] = {
        "read": read, "name": texts[NAME], "phone": texts[PHONE], "note": texts[NOTE],
        "wrong": wrong, "way": state.way, "passed": ",".join(sorted(state.passed)),
        "ask": rows.get(first), "settles": so_far.settles if first == so_far.ask else 0,
        "rest": [row for name, row in rows.items() if name != first],
        "again": [(BY_ID[name].says, count) for name, count in so_far.again],
        "talk": so_far, "sketch": is_sketch(content.doc),
        "focus": NAME if not texts[NAME] and first == DRIVE else first,
    }  # fmt: skip
    template = "calls/_fragment.html" if request.htmx else "calls/sheet.html"  # type: ignore[attr-defined]
    return render(request, template, context, status=status)


def _passed(text: str) -> frozenset[str]:
    return frozenset(one for one in text.split(",") if one in BY_ID)


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None
