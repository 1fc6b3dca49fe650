"""Finding anything from one line: words, the end of a number, and sizes.

The grammar, whole:

    line     = { size | word }
    size     = figure comparison measure
    figure   = door | door width | ramp | ramp width | rise | gvwr | miles | year | …  (FIGURES)
    compares = over, above, more than, > | under, below, less than, < |
               at least, >= | at most, up to, <=
    measure  = as ``sillway.units`` reads it: 56 in, 4' 8", 142 cm, 6500 lb, 60,000

Everything in a line must hold. A size is compared as written, without its tolerance. Riders,
offers and sales are sealed: their measures are not indexed at all, and their words only as keyed
hashes, so they are found by whole words and the last signs of a number.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import QuerySet

from sillway import units
from sillway.errors import BadInput
from sillway.store.index import kept
from sillway.store.kinds import words_in
from sillway.store.limits import limit
from sillway.store.models import Figure, Record, Term
from sillway.units import Kind

#: What a figure is called in a line → its name in the index, and what is measured (None: a count).
FIGURES: Final[dict[str, tuple[str, Kind | None]]] = {
    "door": ("door.height", Kind.LENGTH),
    "door height": ("door.height", Kind.LENGTH),
    "door width": ("door.width", Kind.LENGTH),
    "ramp": ("ramp.length", Kind.LENGTH),
    "ramp length": ("ramp.length", Kind.LENGTH),
    "ramp width": ("ramp.width_at_hinge", Kind.LENGTH),
    "rise": ("ramp.rise", Kind.LENGTH),
    "cabin": ("cabin.height", Kind.LENGTH),
    "cabin height": ("cabin.height", Kind.LENGTH),
    "inside height": ("cabin.height", Kind.LENGTH),
    "height": ("outside.height", Kind.LENGTH),
    "outside height": ("outside.height", Kind.LENGTH),
    "length": ("outside.length", Kind.LENGTH),
    "outside length": ("outside.length", Kind.LENGTH),
    "gvwr": ("ratings.gvwr", Kind.MASS),
    "miles": ("odometer", Kind.DISTANCE),
    "odometer": ("odometer", Kind.DISTANCE),
    "year": ("year", None),
}
_COMPARES: Final = {
    "over": "gt", "above": "gt", "more than": "gt", ">": "gt",
    "under": "lt", "below": "lt", "less than": "lt", "<": "lt",
    "at least": "gte", ">=": "gte",
    "at most": "lte", "up to": "lte", "<=": "lte",
}  # fmt: skip
_SAYS: Final = {"gt": "over", "lt": "under", "gte": "at least", "lte": "at most"}


def _one_of(names: Sequence[str]) -> str:
    # The longest first, so that "door width" is not read as "door".
    ordered = sorted(names, key=len, reverse=True)
    return "|".join(re.escape(name).replace(r"\ ", r"\s+") for name in ordered)


_SIZE: Final = re.compile(
    rf"(?<!\w)(?P<figure>{_one_of(tuple(FIGURES))})\s*"
    rf"(?P<compares>(?:{_one_of([name for name in _COMPARES if name[0].isalpha()])})(?!\w)|[<>]=?)",
    re.IGNORECASE,
)
_NUMBERED: Final = (Kind.LENGTH, Kind.MASS, Kind.DISTANCE)
# What may stand between two parts of a line without meaning anything.
_BETWEEN: Final = frozenset({"and", ",", "with", "the"})
# A phone number as people write it: nothing but digits and what stands between them.
_PHONE: Final = re.compile(r"\+?[\d\s().-]{7,}")
# One past every character that can follow in a word; an index can then be walked by range.
_AFTER: Final = "\U0010ffff"


@dataclass(frozen=True, slots=True)
class Bound:
    """A size asked for.

    Attributes:
        figure: name in the index.
        compares: gt, lt, gte or lte.
        value: in the inside unit of its kind; years as they are.
        says: the whole in words, with the metric value.
    """

    figure: str
    compares: str
    value: float
    says: str


@dataclass(frozen=True, slots=True)
class Question:
    """A line as understood."""

    words: tuple[str, ...] = ()
    bounds: tuple[Bound, ...] = ()


def parse(line: str) -> Question:
    """Read a line.

    Raises:
        BadInput: a figure and a comparison without a measure after them, or a line too long.

    >>> asked = parse("door over 56 in and ramp under 60 in kestrel")
    >>> [bound.says for bound in asked.bounds], asked.words
    (['door over 56 in (1,422 mm)', 'ramp under 60 in (1,524 mm)'], ('kestrel',))
    """
    most = limit("find.length")
    if len(line) > most:
        raise BadInput("find", line, f"at most {most} characters")
    words: list[str] = []
    bounds: list[Bound] = []
    hits = list(_SIZE.finditer(line))
    words.extend(_plain(line[: hits[0].start()] if hits else line))
    for place, hit in enumerate(hits):
        end = hits[place + 1].start() if place + 1 < len(hits) else len(line)
        bound, rest = _bound(hit, line[hit.end() : end])
        bounds.append(bound)
        words.extend(rest)
    return Question(tuple(words), tuple(bounds))


def find(asked: Question | str, kinds: Sequence[str]) -> list[Record]:
    """Records of these kinds for which the whole question holds, the last changed first.

    Raises:
        BadInput: as ``parse``, for a line.
    """
    if isinstance(asked, str):
        asked = parse(asked)
    rows: QuerySet[Record] = Record.objects.filter(kind__in=kinds, gone_at=None)
    if not asked.words and not asked.bounds:
        return []
    for word in asked.words:
        rows = rows.filter(pk__in=_with(word))
    for bound in asked.bounds:
        figures = Figure.objects.filter(name=bound.figure)
        rows = rows.filter(
            pk__in=figures.filter(**{f"value__{bound.compares}": bound.value}).values("record")
        )
    return list(rows.order_by("-changed_at", "-pk")[: limit("find.rows")])


def _with(word: str) -> Any:
    plain = Term.objects.filter(word__gte=word, word__lt=word + _AFTER).values("record")
    hidden = Term.objects.filter(word=kept(word, sealed=True)).values("record")
    return plain.union(hidden)


def _bound(hit: re.Match[str], after: str) -> tuple[Bound, list[str]]:
    """The longest beginning of what follows that is a measure, and the words behind it."""
    name = " ".join(hit["figure"].lower().split())
    compares = _COMPARES[" ".join(hit["compares"].lower().split())]
    figure, kind = FIGURES[name]
    steps = [match.end() for match in re.finditer(r"\S+", after)]
    for end in reversed(steps):
        text = after[:end].strip().rstrip(",;")
        try:
            value = _value(text, kind, name)
        except BadInput:
            continue
        rest = after[end:].split()
        if rest and _is_unit(rest[0]):
            # "gvwr over 56 in" is no mass of 56 pounds beside the word "in".
            break
        says = f"{name} {_SAYS[compares]} {text}{_metric(value, kind)}"
        return Bound(figure, compares, value, says), _plain(after[end:])
    wanted = units.WANTED[kind] if kind else "a year such as 2016"
    raise BadInput(f"{name} {_SAYS[compares]}", after.strip(), wanted)


def _value(text: str, kind: Kind | None, name: str) -> float:
    if kind is not None:
        return float(units.parse(text, kind, name))
    if not re.fullmatch(r"\d{4}", text, re.ASCII):
        raise BadInput(name, text, "a year such as 2016")
    return float(text)


def _is_unit(word: str) -> bool:
    for kind in _NUMBERED:
        try:
            units.parse(f"1 {word}", kind, "")
        except BadInput:
            continue
        return True
    return False


def _metric(value: float, kind: Kind | None) -> str:
    unit = {Kind.LENGTH: "mm", Kind.MASS: "kg", Kind.DISTANCE: "km"}.get(kind) if kind else None
    return f" ({value:,.0f} {unit})" if unit else ""


def _plain(text: str) -> list[str]:
    """The words to look for; a phone number written with gaps is one word."""
    if _PHONE.fullmatch(text.strip()):
        digits = re.sub(r"\D", "", text)
        # A country's prefix is mostly not on the card: the last ten stand for the number.
        return [digits[-10:]]
    found = []
    for part in text.split():
        if part.casefold() in _BETWEEN:
            continue
        known = words_in(part)
        whole = max(known, key=len, default="")
        pieces = re.findall(r"\w+", part)
        # A long number is looked for whole, however it is broken up: 010-7788.
        found.extend([whole] if re.search(r"\d{4}", whole) else sorted(known & words_in(*pieces)))
    return found
