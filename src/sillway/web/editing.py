"""Editing a record part by part, with a page to merge when two people changed the same field."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final, cast, get_origin

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from sillway.errors import BadInput
from sillway.records.fields import FieldOf, Takes
from sillway.store.kinds import kind_of
from sillway.store.merge import Side
from sillway.store.pack import Content
from sillway.store.records import Conflict, Read, save_record, undo_to
from sillway.web.access import by, record_for
from sillway.web.sheet import dig, single_fields, words
from sillway.web.templatetags.sheet import said

CARD: Final = "card"
# Not "note": records have a field of that name.
WHY: Final = "why"
_RANGE = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+)", re.IGNORECASE)


class PartForm(forms.Form):
    """The single fields of one part of a record, as the person wrote them."""

    base = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, kind: str, part: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.part = kind, part
        if part == CARD:
            self._card_fields()
            return
        self.singles = {one.path: one for one in single_fields(kind, part)}
        if not self.singles:
            raise Http404
        for path, one in self.singles.items():
            self.fields[path] = _input(one)
        self.fields[WHY] = _why()

    def _card_fields(self) -> None:
        for name, info in kind_of(self.kind).card.model_fields.items():
            if get_origin(info.annotation) is dict:
                # Kept by the desk that measures, not typed here.
                continue
            choices = kind_of(self.kind).stages if name == "stage" else ()
            if name == "language":
                choices = ("en", "es")
            label = words(name)
            if choices:
                self.fields[name] = forms.ChoiceField(
                    label=label, choices=[(one, one) for one in choices]
                )
            elif name.endswith("_on"):
                self.fields[name] = forms.DateField(
                    label=label, required=False, widget=forms.DateInput(attrs={"type": "date"})
                )
            else:
                self.fields[name] = forms.CharField(
                    label=label, required=info.is_required(), max_length=200
                )
        self.fields[WHY] = _why()

    def hints(self) -> list[str]:
        """What the measures of this part may look like, each said once."""
        singles = () if self.part == CARD else self.singles.values()
        return list(dict.fromkeys(one.wanted for one in singles if one.measures is not None))

    def start(self, read: Read) -> None:
        """Fill the form with what the record says."""
        whole = read.content.card if self.part == CARD else read.content.doc
        for name in self.fields:
            if name not in ("base", WHY):
                self.initial[name] = _shown(dig(whole, name))
        self.initial["base"] = read.revision.number

    def changed(self, content: Content) -> Content:
        """The content with this form's answers in it."""
        given = self.cleaned_data
        note = str(given.get(WHY) or "")
        if self.part == CARD:
            card = dict(content.card)
            for name in self.fields:
                if name not in ("base", WHY):
                    value = given[name]
                    card[name] = value.isoformat() if hasattr(value, "isoformat") else value
            return replace(content, card=card, note=note)
        doc = copy.deepcopy(content.doc)
        for path, one in self.singles.items():
            before = dig(doc, path)
            # Only what the person changed: writing the rest anew would undo how it was measured.
            if str(given[path] or "").strip() != _shown(before).strip():
                _put(doc, path, _value(one, str(given[path] or "").strip(), before))
        return replace(content, doc=doc, note=note)

    def blame(self, error: BadInput) -> None:
        """Put the store's refusal at its field, or on top if it is not in this form."""
        name = error.field if error.field in self.fields else None
        says = _("%(given)s will not do; give %(wanted)s") % {
            "given": f"“{error.given}”", "wanted": error.wanted
        }  # fmt: skip
        self.add_error(name, says if name and error.given else error.sentence())


def edit_page(request: HttpRequest, kind: str, number: int, part: str, back: str) -> HttpResponse:
    """The form of one part; saving joins what others changed, or shows the page to merge."""
    data = request.POST or None
    form = PartForm(data, kind=kind, part=part)
    read = record_for(request, kind, number, to="edit")
    context = {"read": read, "kind": kind, "part": part, "form": form, "back": back,
               "title": words(part)}  # fmt: skip
    if data is None:
        form.start(read)
        return render(request, "edit.html", context)
    if not form.is_valid():
        return render(request, "edit.html", context, status=422)
    base = form.cleaned_data["base"]
    start = record_for(request, kind, number, revision=base, to="edit")
    try:
        saved = save_record(
            number,
            form.changed(start.content),
            by(request),
            base=base,
            choices=_choices(request.POST),
            against=_number(request.POST.get("against")),
        )
    except BadInput as error:
        form.blame(error)
        return render(request, "edit.html", context, status=422)
    except Conflict as conflict:
        newest = record_for(request, kind, number)
        rows = [(one.field, words(one.field.split(".", 1)[-1]), one) for one in conflict.clashes]
        kept = [(key, value) for key, value in request.POST.items()
                if not key.startswith("choice:") and key != "against"]  # fmt: skip
        merge = {"clashes": rows, "kept": kept, "newest": newest.revision}
        return render(request, "merge.html", {**context, **merge}, status=409)
    if saved.merged:
        messages.info(request, _("Saved, together with what somebody else changed meanwhile."))
    elif saved.changed:
        messages.success(request, _("Saved as revision %(n)d.") % {"n": saved.revision})
    return redirect(back)


def undo(request: HttpRequest, kind: str, number: int, revision: int, back: str) -> HttpResponse:
    """Go back to a revision, unless somebody saved since the page was shown."""
    record_for(request, kind, number, revision=revision, to="undo")
    base = _number(request.POST.get("base"))
    if base is None:
        raise Http404
    try:
        saved = undo_to(number, revision, by(request), base=base)
    except Conflict:
        messages.error(request, _("Somebody saved meanwhile; look again before you undo."))
        return redirect(back)
    says = _("As it stood at revision %(then)d, kept as revision %(n)d.")
    messages.success(request, says % {"then": revision, "n": saved.revision})
    return redirect(back)


def _choices(posted: Mapping[str, Any]) -> dict[str, Side]:
    return {
        key.removeprefix("choice:"): cast("Side", value)
        for key, value in posted.items()
        if key.startswith("choice:") and value in ("mine", "theirs")
    }


def _number(given: Any) -> int | None:
    text = str(given or "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def _why() -> forms.Field:
    return forms.CharField(label=_("Why (for the history)"), required=False, max_length=500)


def _input(one: FieldOf) -> forms.Field:
    label = words(one.path.split(".", 1)[-1].replace(".", ", "))
    if one.takes is Takes.CHOICE or one.takes is Takes.YES_NO:
        names = ("yes", "no") if one.takes is Takes.YES_NO else one.choices
        choices = [("", "–"), *((name, name) for name in names)]
        return forms.ChoiceField(label=label, choices=choices, required=False)
    hint = one.wanted if one.takes is Takes.OUTLINE else ""
    long = one.name in ("note", "story", "changed_suspension")
    widget = forms.Textarea(attrs={"rows": 4}) if long else forms.TextInput()
    return forms.CharField(
        label=label, required=False, help_text=hint, max_length=2000, widget=widget
    )


def _shown(value: Any) -> str:
    """What stands in the input: the bare value of a measure, its way stays as it is."""
    if value is None:
        return ""
    if isinstance(value, dict) and "value" in value:
        return str(value["value"])
    if isinstance(value, dict) and {"low", "high"} <= set(value):
        return f"{value['low']} to {value['high']}"
    return said(value) if value != "" else ""


def _value(one: FieldOf, text: str, before: Any) -> Any:
    if not text:
        return None
    if one.takes is Takes.YES_NO:
        return text == "yes"
    if one.takes is Takes.NUMBER:
        try:
            return int(text)
        except ValueError:
            return text
    if one.takes is Takes.MEASURE:
        way = {"way": before["way"]} if isinstance(before, dict) and "way" in before else {}
        ends = _RANGE.fullmatch(text)
        if ends:
            return {**ends.groupdict(), **way}
        return {"value": text, **way} if way else text
    if one.takes is Takes.OUTLINE and text[0] in "{[":
        try:
            return json.loads(text)
        except ValueError:
            return text
    return text


def _put(doc: dict[str, Any], path: str, value: Any) -> None:
    """Set a field; an emptied one is taken out, and so is a part left with nothing in it."""
    *above, name = path.split(".")
    part, trail = doc, []
    for step in above:
        trail.append((part, step))
        below = part.get(step)
        if not isinstance(below, dict):
            below = {}
        part[step] = below
        part = below
    if value is not None:
        part[name] = value
        return
    part.pop(name, None)
    for holder, step in reversed(trail):
        if not holder[step]:
            del holder[step]
