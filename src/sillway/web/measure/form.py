"""The form of one step: its questions, how the answer was come by, or why there is none."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _

from sillway.errors import BadInput
from sillway.records.fields import Takes
from sillway.records.measure import Way
from sillway.show.draw.tape import views
from sillway.units import Kind
from sillway.web.measure import answers, paths
from sillway.web.measure.shape import shape
from sillway.web.measure.steps import Ask, Step, Walk, pattern, told

#: As many choices are laid open; more are folded into a list.
_LAID_OPEN: Final = 3
_LONG: Final = 200
#: In drawings of something on the floor: its rear, front, right and left edge.
SIDES_DRAWN: Final = ("A", "B", "C", "D")
#: Name of the button that says a step cannot be measured.
CANNOT: Final = "cannot"
#: Name of the button that takes an entry of a repeating step out.
REMOVE: Final = "remove"


@dataclass(frozen=True, slots=True)
class Question:
    """One question as shown: its inputs, one or, for an outline, five, some with letters."""

    ask: Ask
    label: str
    inputs: tuple[Any, ...]
    lettered: tuple[tuple[str, Any], ...]
    outline: bool
    radio: bool
    hint: str


class StepForm(forms.Form):
    """What one screen takes. ``entry`` names the entry of a repeating step that is changed.

    Args:
        ways: ways of measuring to choose from.
        units: whether a bare number is kept with its unit.
    """

    def __init__(
        self,
        step: Step,
        of: Walk,
        doc: Mapping[str, Any],
        data: Mapping[str, Any] | None = None,
        *,
        entry: str = "",
        ways: tuple[Way, ...] = tuple(Way),
        units: bool = False,
    ) -> None:
        super().__init__(data)
        self.step, self.walk, self.doc, self.entry = step, of, doc, entry
        self.units = units
        self.metric = doc.get("units") == "metric"
        self.label_suffix = ""
        for ask in step.asks:
            self._add(ask)
        if any(answers.measurable(ask) for ask in step.asks):
            offered = ways if step.way in ways else (*ways, step.way)
            self.fields["way"] = forms.ChoiceField(
                label=_("How it was come by"), choices=[(str(way), _way(way)) for way in offered],
                required=False, widget=forms.Select,
            )  # fmt: skip
            known = (answers.way_of(_first(self._now(ask))) for ask in step.asks)
            self.initial["way"] = str(next((way for way in known if way in offered), step.way))
        for name, one in self.fields.items():
            one.widget.attrs["data-field"] = name
        self.fields["reason"] = forms.ChoiceField(
            label=_("Why not"), choices=_reasons(), required=False, widget=forms.RadioSelect
        )
        self.fields["reason_more"] = forms.CharField(
            label=_("In your words"), required=False, max_length=_LONG
        )

    def questions(self) -> Iterator[Question]:
        """The questions in their order, ready to be shown; a hint is said once."""
        said: set[str] = set()
        for ask in self.step.asks:
            outline = ask.field.takes is Takes.OUTLINE
            names = self._names(ask)
            radio = isinstance(self.fields[names[0]].widget, forms.RadioSelect)
            inputs = tuple(self[name] for name in names)
            letters = self._sides_drawn() if outline else ()
            hint = self._hint(ask)
            hint = "" if hint in said else hint
            said.add(hint)
            lettered = tuple(zip_longest(letters, inputs, fillvalue=""))
            yield Question(
                ask, told(ask.label), inputs, lettered, outline, radio,
                hint,
            )  # fmt: skip

    def _sides_drawn(self) -> tuple[str, ...]:
        """The letters of an outline's four sides, where the drawing has them."""
        letters = tuple(tape.letter for tape in views()[self.step.drawing].tapes)
        return SIDES_DRAWN if set(SIDES_DRAWN) <= set(letters) else ()

    @property
    def gives_up(self) -> bool:
        """Whether the person said that this cannot be measured."""
        return CANNOT in self.data

    def clean(self) -> dict[str, Any]:
        """Each measure must be understood; or a reason given why there is none."""
        given = super().clean() or self.cleaned_data
        if self.gives_up:
            if not given.get("reason") and not given.get("reason_more"):
                self.add_error("reason", _("Say why, so that nobody tries again in vain."))
            return given
        for ask in self.step.asks:
            for name in self._names(ask):
                text = str(given.get(name) or "").strip()
                clear = answers.understood(ask, text, metric=self.metric)
                if text and ask.field.takes is Takes.MEASURE and not clear:
                    self.add_error(name, _unclear(ask.field.measures, text))
        if self.step.each and not given.get(self.step.key) and self._anything(given):
            self.add_error(self.step.key, _("Give it a name first."))
        return given

    def changed(self) -> dict[str, Any]:
        """The document with these answers in it."""
        doc = copy.deepcopy(dict(self.doc))
        if REMOVE in self.data and self.entry:
            paths.put(doc, f"{self.step.each}[{self.entry}]", None)
        elif not self.gives_up:
            self._write(doc)
        return doc

    def reason(self) -> str:
        """Why it cannot be measured, as kept; empty if it can."""
        if not self.gives_up:
            return ""
        given = self.cleaned_data
        parts = (given.get("reason"), str(given.get("reason_more") or "").strip())
        return ": ".join(part for part in parts if part)[:_LONG]

    def blame(self, error: BadInput) -> None:
        """Put the store's refusal at the question it is about, or on top."""
        at = pattern(error.field)
        for ask in self.step.asks:
            whole = pattern(f"{self.step.each}[].{ask.path}" if self.step.each else ask.path)
            if at == whole or at.removesuffix(".*") == whole:
                says = _("“%(given)s” will not do; give %(wanted)s")
                self.add_error(
                    self._names(ask)[0], says % {"given": error.given, "wanted": error.wanted}
                )
                return
        self.add_error(None, error.sentence())

    def _anything(self, given: Mapping[str, Any]) -> bool:
        return any(str(given.get(name) or "").strip()
                   for ask in self.step.asks for name in self._names(ask))  # fmt: skip

    def _names(self, ask: Ask) -> list[str]:
        if ask.field.takes is Takes.OUTLINE:
            return [f"{ask.name}.{side}" for side in (*answers.SIDES, answers.CORNERS)]
        return [ask.name]

    def _path(self, ask: Ask, key: str) -> str:
        return f"{self.step.each}[{key}].{ask.path}" if self.step.each else ask.path

    def _now(self, ask: Ask) -> Any:
        """What the document says, in the entry that is being changed."""
        if self.step.each and not self.entry:
            return None
        value = paths.get(self.doc, self._path(ask, self.entry))
        if ask.item is None:
            return value
        return value[ask.item] if isinstance(value, list) and ask.item < len(value) else None

    def _add(self, ask: Ask) -> None:
        now, label = self._now(ask), told(ask.label)
        if ask.field.takes is Takes.OUTLINE:
            start = answers.outline_shown(now)
            for name, side in zip(self._names(ask), (*answers.SIDES, answers.CORNERS), strict=True):
                kind = None if side == answers.CORNERS else Kind.LENGTH
                self.fields[name] = forms.CharField(
                    label=_side(side), required=False, max_length=2000, widget=_text(kind, True)
                )
                self.initial[name] = start.get(side, "")
            return
        self.initial[ask.name] = answers.shown(ask, now)
        choices = self._choices(ask)
        if choices:
            laid = len(choices) <= _LAID_OPEN
            blank = [] if laid else [("", "–")]
            self.fields[ask.name] = forms.ChoiceField(
                label=label, choices=blank + choices, required=False,
                widget=forms.RadioSelect if laid else forms.Select,
            )  # fmt: skip
        elif ask.field.takes is Takes.DAY:
            widget = forms.DateInput(attrs={"type": "date"})
            self.fields[ask.name] = forms.CharField(label=label, required=False, widget=widget)
        else:
            self.fields[ask.name] = forms.CharField(
                label=label, required=False, max_length=2000,
                widget=_text(ask.field.measures, ask.field.signed,
                             number=ask.field.takes is Takes.NUMBER),
            )  # fmt: skip

    def _choices(self, ask: Ask) -> list[tuple[str, str]]:
        if ask.field.takes is Takes.YES_NO:
            return [("yes", _("yes")), ("no", _("no"))]
        return [(one, self.walk.word(one)) for one in ask.field.choices]

    def _hint(self, ask: Ask) -> str:
        if ask.field.takes is Takes.OUTLINE:
            return _("Along the van: ahead of the rear edge of the floor. "
                     "Across: left of the centre line, with a minus for right.")  # fmt: skip
        return _wanted(ask.field.measures, self.metric) if ask.field.measures else ""

    def _write(self, doc: dict[str, Any]) -> None:
        given = {name: str(value or "").strip() for name, value in self.cleaned_data.items()}
        if self.step.each and not self._anything(given):
            return
        key = self.entry or given.get(self.step.key, "")
        way = Way(given["way"]) if given.get("way") else self.step.way
        lists: dict[str, list[Any]] = {}
        for ask in self.step.asks:
            path = self._path(ask, key)
            texts = {name: given.get(name, "") for name in self._names(ask)}
            if not self._differs(ask, texts, way):
                value: Any = self._now(ask)
                if ask.item is None:
                    continue
            elif ask.field.takes is Takes.OUTLINE:
                sides = {name.rsplit(".", 1)[1]: text for name, text in texts.items()}
                value = answers.outline(sides, way)
            else:
                value = answers.kept(
                    ask, texts[ask.name], way, metric=self.metric, units=self.units
                )
            if ask.item is not None:
                lists.setdefault(path, []).append(value)
            elif ask.path != self.step.key:
                paths.put(doc, path, value)
        for path, values in lists.items():
            while values and values[-1] is None:
                values.pop()
            paths.put(doc, path, ["" if one is None else one for one in values] or None)
        if self.step.each:
            self._name(doc, key, given[self.step.key])
        elif self._anything(given):
            for path, value in self.step.fixed.items():
                paths.put(doc, path, value)

    def _differs(self, ask: Ask, texts: Mapping[str, str], way: Way) -> bool:
        if all(text == str(self.initial.get(name, "")).strip() for name, text in texts.items()):
            same = answers.way_of(self._now(ask)) or self.initial.get("way") == way
            # What was not touched stays as it is, its tolerance included.
            return bool(any(texts.values()) and answers.measurable(ask)
                        and same is not True and same != way)  # fmt: skip
        # In a new entry of a list, an empty input says nothing about one of that name.
        return bool(self.entry or not self.step.each or any(texts.values()))

    def _name(self, doc: dict[str, Any], key: str, name: str) -> None:
        """The entry of that key under its (new) name, made if it has nothing else yet."""
        entry = paths.get(doc, f"{self.step.each}[{key}]")
        if entry is None:
            paths.put(doc, f"{self.step.each}[{key}]", {self.step.key: name})
        elif name:
            entry[self.step.key] = name


def _first(value: Any) -> Any:
    return value[0] if isinstance(value, list) and value else value


def _text(kind: Kind | None, signed: bool = False, *, number: bool = False) -> forms.TextInput:
    attrs = {"autocomplete": "off"}
    if kind is not None:
        attrs |= {"data-takes": str(kind), "data-shape": shape(kind, signed=signed)}
    if number or kind not in (None, Kind.SLOPE):
        # A pad of large digits; the buttons beside it have the fractions and units it lacks.
        attrs["inputmode"] = "decimal"
    return forms.TextInput(attrs=attrs)


def _side(side: str) -> str:
    return {
        "x0": _("its rear edge, along the van"),
        "x1": _("its front edge, along the van"),
        "y0": _("its right edge, across"),
        "y1": _("its left edge, across"),
        answers.CORNERS: _("or its corners, as x, y; x, y; …"),
    }[side]


def _way(way: Way) -> str:
    return {
        Way.TAPE: _("tape measure"),
        Way.REPORTED: _("told or estimated"),
        Way.SCALE: _("scale ticket"),
        Way.DRAWING: _("maker's drawing"),
        Way.LABEL: _("read off a label"),
        Way.ASSUMED: _("assumed"),
    }[way]


def _reasons() -> list[tuple[str, str]]:
    return [
        ("not there", _("There is none here")),
        ("cannot be reached", _("It cannot be reached")),
        ("cannot be read", _("It cannot be read")),
        ("no tool for it", _("No tool for it at hand")),
    ]


def reason_said(reason: str) -> str:
    """A reason as kept, in the language of the page."""
    code, _colon, more = reason.partition(": ")
    known = dict(_reasons()).get(code)
    if known is None:
        return reason
    return f"{known}: {more}" if more else known


def _wanted(kind: Kind, metric: bool) -> str:
    bare = _("A bare number is metric.") if metric else _("A bare number is inches or pounds.")
    return {
        Kind.LENGTH: _("Such as 34 1/2 in, 4' 7-1/4\" or 71.5 cm.") + " " + bare,
        Kind.MASS: _("Such as 312 lb or 141.5 kg.") + " " + bare,
        Kind.TREAD: _("Such as 9/32 or 7 mm."),
        Kind.DISTANCE: _("Such as 42,609 mi or 68573 km."),
        Kind.FORCE: _("Such as 19 N or 4.3 lbf."),
        Kind.SLOPE: _("Such as 1:12, 8 % or 4.8 deg."),
    }[kind]


def _unclear(kind: Kind | None, text: str) -> str:
    assert kind is not None
    says = _("“%(given)s” is not understood. Write it as in the example.")
    return says % {"given": text[:60]} + " " + _wanted(kind, metric=False).split(". ")[0]
