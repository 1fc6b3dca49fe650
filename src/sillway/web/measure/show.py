"""How a walk is shown: its drawing, its progress in words, its chapters with their states."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from sillway.show.draw.tape import tape_svg
from sillway.web.measure.form import reason_said
from sillway.web.measure.keep import State
from sillway.web.measure.steps import Step, told


@dataclass(frozen=True, slots=True)
class Progress:
    """How many steps are answered, given up with a reason, open."""

    answered: int
    cannot: int
    open: int

    @property
    def done(self) -> int:
        """Answered or given up."""
        return self.answered + self.cannot

    @property
    def all(self) -> int:
        """All steps."""
        return self.done + self.open


@dataclass(frozen=True, slots=True)
class Line:
    """One step in a list: its page, its name, its answers with their labels."""

    url: str
    name: str
    answers: tuple[tuple[str, str], ...]
    answered: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """One station with its steps."""

    name: str
    lines: tuple[Line, ...]
    open: int


def progress(found: Iterable[State]) -> Progress:
    """How far a walk is."""
    listed = list(found)
    answered = sum(one.answered for one in listed)
    cannot = sum(bool(one.reason) and not one.answered for one in listed)
    return Progress(answered, cannot, len(listed) - answered - cannot)


def chapters(found: Iterable[State], url: Callable[[str], str]) -> list[Chapter]:
    """The steps under their stations."""
    by_name: dict[str, list[State]] = {}
    for one in found:
        by_name.setdefault(told(one.step.chapter), []).append(one)
    return [
        Chapter(name, tuple(_line(one, url) for one in states), sum(one.open for one in states))
        for name, states in by_name.items()
    ]


def drawing_of(step: Step) -> SafeString:
    """The drawing of a step; what it draws is ours and escapes what it is told."""
    return mark_safe(tape_svg(step.drawing, told(step.title), told(step.how)))


def _line(one: State, url: Callable[[str], str]) -> Line:
    single = len(one.step.asks) == 1
    said = tuple(("" if single else told(label), text) for label, text in one.says)
    return Line(url(one.step.id), told(one.step.title), said, one.answered, reason_said(one.reason))
