"""Keeping the answer of one step, whether a page sends it or a phone that was without signal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from sillway.store.by import By
from sillway.store.records import Read, Saved, read_record, save_record
from sillway.web.measure import answers, paths
from sillway.web.measure.form import StepForm
from sillway.web.measure.steps import Step, Walk

#: Where a record's card keeps which steps could not be measured, and why.
NOT_MEASURED: Final = "not_measured"


@dataclass(frozen=True, slots=True)
class State:
    """How far one step is.

    Attributes:
        step: the step.
        answered: all it must have is there.
        reason: why it cannot be measured, if somebody said so.
        says: the answers in words, each with its label.
    """

    step: Step
    answered: bool
    reason: str
    says: tuple[tuple[Mapping[str, str], str], ...]

    @property
    def open(self) -> bool:
        """Still to do."""
        return not self.answered and not self.reason


def form_at(
    walk: Walk, step: Step, start: Read, data: Mapping[str, Any] | None = None, entry: str = ""
) -> StepForm:
    """The form of a step for a record as it was read."""
    return StepForm(step, walk, start.content.doc, data, entry=entry)


def keep(
    number: int, form: StepForm, start: Read, by: By, *, entry: UUID | None = None
) -> Saved:  # fmt: skip
    """Save a valid form of a record that was read as ``start``.

    Raises:
        BadInput, Conflict, Destroyed, NoSuchRecord: as ``save_record``.
    """
    card = dict(start.content.card)
    reasons = dict(card.get(NOT_MEASURED, {}))
    reasons.pop(form.step.id, None)
    if form.gives_up:
        reasons[form.step.id] = form.reason()
    doc = form.changed()
    if NOT_MEASURED in card or reasons:
        card[NOT_MEASURED] = reasons
    content = replace(start.content, doc=doc, card=card, note="")
    return save_record(number, content, by, base=start.revision.number, entry=entry)


def states(walk: Walk, doc: Mapping[str, Any], reasons: Mapping[str, str]) -> tuple[State, ...]:
    """How far each step of a walk is."""
    return tuple(_state(step, doc, reasons.get(step.id, "")) for step in walk.steps)


def states_of(walk: Walk, read: Read) -> tuple[State, ...]:
    """The same for a record."""
    return states(walk, read.content.doc, read.content.card.get(NOT_MEASURED, {}))


def newest(number: int) -> Read:
    """The record as it stands."""
    return read_record(number)


def _state(step: Step, doc: Mapping[str, Any], reason: str) -> State:
    if step.each:
        entries = paths.get(doc, step.each) or []
        return State(step, bool(entries), reason, tuple(_entry(step, one) for one in entries))
    values = [(ask, _at(doc, ask)) for ask in step.asks]
    given = [(ask, value) for ask, value in values if value is not None]
    lacking = any(ask.field.required and value is None and _needed(step, ask)
                  for ask, value in values)  # fmt: skip
    says = tuple((ask.label, answers.said(ask, value)) for ask, value in given)
    return State(step, bool(given) and not lacking, "" if given else reason, says)


def _needed(step: Step, ask: Any) -> bool:
    # Entries of a plain list beyond the first need not be there (spans of a ramp).
    return ask.item is None


def _at(doc: Mapping[str, Any], ask: Any) -> Any:
    value = paths.get(doc, ask.path)
    if ask.item is None:
        return value
    return value[ask.item] if isinstance(value, list) and ask.item < len(value) else None


def _entry(step: Step, entry: Mapping[str, Any]) -> tuple[Mapping[str, str], str]:
    name = str(entry.get(step.key, ""))
    rest = [answers.said(ask, paths.get(entry, ask.path)) for ask in step.asks[1:]]
    return {"en": name, "es": name}, "; ".join(one for one in rest if one)


__all__ = ["NOT_MEASURED", "State", "form_at", "keep", "newest", "states", "states_of"]
