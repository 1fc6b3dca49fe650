"""The steps of measuring, out of ``van.toml`` and ``rider.toml``: one step is one screen."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

from django.utils.translation import get_language
from pydantic import BaseModel

from sillway.records.fields import EACH, FieldOf, by_path
from sillway.records.measure import Way
from sillway.records.rider import Rider
from sillway.records.van import Van

MODELS: Final[Mapping[str, type[BaseModel]]] = MappingProxyType({"van": Van, "rider": Rider})
LANGUAGES: Final = ("en", "es")
Words = Mapping[str, str]


def told(words: Words) -> str:
    """Words in the language of the page."""
    return words.get((get_language() or "en")[:2]) or words["en"]


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a step.

    Attributes:
        path: where its answer stands in the record; in a step that repeats, within the entry.
        item: which entry of a plain list it is (the first groove), or None.
        letter: the letter beside the tape in the drawing.
        label: what is asked.
        field: what the record takes there.
    """

    path: str
    item: int | None
    letter: str
    label: Words
    field: FieldOf

    @property
    def name(self) -> str:
        """Its name in a form: the path without what is in brackets."""
        plain = re.sub(r"\[[^\]]*\]", "", self.path)
        return plain if self.item is None else f"{plain}.{self.item}"


@dataclass(frozen=True, slots=True)
class Step:
    """One screen.

    Attributes:
        id: its name in addresses and in the record's card.
        chapter: the station on the way.
        title, how: what is measured, and how to hold the tape.
        drawing: name of the drawing, see ``show.draw.tape``.
        way: how it is usually come by.
        each: path of the list that this step adds entries to; empty if it does not repeat.
        fixed: what goes with an answer without being asked: path → value.
    """

    id: str
    chapter: Words
    title: Words
    how: Words
    drawing: str
    asks: tuple[Ask, ...]
    way: Way
    each: str = ""
    fixed: Mapping[str, str] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """For a step that repeats: the name of the field that tells its entries apart."""
        return self.asks[0].path if self.each else ""


@dataclass(frozen=True, slots=True)
class Walk:
    """All steps of one kind of record, and what their words are called in Spanish."""

    kind: str
    steps: tuple[Step, ...]
    words: Mapping[str, Words]

    def place(self, step: str) -> int | None:
        """Where a step stands in the walk, or None."""
        return next((k for k, one in enumerate(self.steps) if one.id == step), None)

    def word(self, text: str) -> str:
        """A word of the records in the language of the page."""
        return self.words.get((get_language() or "en")[:2], {}).get(text, text)


@cache
def walk(kind: str) -> Walk:
    """The walk of a kind of record: ``van`` or ``rider``.

    Raises:
        KeyError: a step names a field that the record does not have.
    """
    given = tomllib.loads(files("sillway.web.measure").joinpath(f"{kind}.toml").read_text("utf-8"))
    words = given.get("words", {})
    steps: list[Step] = []
    for chapter in given["chapter"]:
        for one in chapter["step"]:
            for entry in one.get("of", [""]):
                steps.append(_step(kind, chapter, one, entry, words))
    return Walk(kind, tuple(steps), words)


def _step(
    kind: str, chapter: Mapping[str, Any], one: Mapping[str, Any], entry: str, words: Any
) -> Step:
    named = {code: words.get(code, {}).get(entry, entry) for code in LANGUAGES}
    title = {code: one[code].replace("{}", named[code]) for code in LANGUAGES}
    each = one.get("each", "")
    asks = tuple(_ask(kind, each, entry, title, given) for given in one["fields"])
    return Step(
        id=f"{one['id']}-{entry.replace(' ', '-')}" if entry else one["id"],
        chapter={code: chapter[code] for code in LANGUAGES},
        title=title,
        how=one["how"],
        drawing=one["drawing"].replace("{}", entry),
        asks=asks,
        way=Way(one.get("way", "tape")),
        each=each,
        fixed=one.get("set", {}),
    )


def _ask(kind: str, each: str, entry: str, title: Words, given: Mapping[str, Any]) -> Ask:
    path = given["path"].replace("{}", entry)
    found = by_path(MODELS[kind])[pattern(f"{each}[].{path}" if each else path)]
    label = {code: given.get(code, title[code]) for code in LANGUAGES}
    return Ask(path, given.get("item"), given.get("letter", ""), label, found)


def pattern(path: str) -> str:
    """The path of a field as the records name it.

    >>> pattern("tires[left front].tread")
    'tires.*.tread'
    """
    return re.sub(r"\[[^\]]*\]", f".{EACH}", path)
