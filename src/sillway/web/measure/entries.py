"""Answers that come from a phone which may have been without signal."""

from __future__ import annotations

from typing import Any

from django.http import Http404

from sillway.errors import BadInput
from sillway.web.access import by, record_for
from sillway.web.measure.form import StepForm
from sillway.web.measure.keep import form_at, keep
from sillway.web.measure.steps import walk
from sillway.web.offline.kinds import Answer, Refused, Sent, takes


@takes("van.measure", "van.edit")
def van_measure(sent: Sent) -> Answer:
    """One step: ``{"record", "step", "base": revision, "entry": name, "form": {name: text}}``."""
    payload = sent.payload
    number, base = _number(payload.get("record")), _number(payload.get("base"))
    earlier = sent.earlier
    if earlier.get("record") == number and isinstance(earlier.get("revision"), int):
        # It follows an entry of the same phone, which the page it was made on did not show yet.
        base = max(base, earlier["revision"])
    of = walk("van")
    place = of.place(str(payload.get("step")))
    if place is None:
        raise Http404
    given = payload.get("form")
    if not isinstance(given, dict):
        raise BadInput("form", given, "the answers of one step")
    data = {str(name): str(value) for name, value in given.items()}
    start = record_for(sent.request, "van", number, revision=base, to="edit")
    form = form_at(of, of.steps[place], start, data, str(payload.get("entry", "")))
    if not form.is_valid():
        raise _refused(form)
    try:
        saved = keep(number, form, start, by(sent.request, "phone"), entry=sent.key)
    except BadInput as error:
        form.blame(error)
        raise _refused(form) from None
    return {"record": number, "revision": saved.revision}


def _refused(form: StepForm) -> Refused:
    name, says = next(iter(form.errors.items()))
    return Refused(name, form.data.get(name, ""), " ".join(str(one) for one in says))


def _number(given: Any) -> int:
    if not isinstance(given, int) or isinstance(given, bool) or given < 1:
        raise Http404
    return given
