"""The kinds of record: how each is read, whether it is sealed, and what it is found by."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Final, Literal, get_args

from pydantic import Field, ValidationError
from pydantic_core import PydanticCustomError

from sillway.errors import MISSING, BadInput
from sillway.records.base import Part
from sillway.records.complaint import complaint
from sillway.records.fields import by_path
from sillway.records.measure import MeasureOf
from sillway.records.read import rider_from, van_from
from sillway.records.van import Van
from sillway.store.ledger import costs_from

Line = Annotated[str, Field(max_length=200)]
VanStage = Literal["arriving", "checking", "mending", "for sale", "held", "sold", "gone"]
RiderStage = Literal["calling", "waiting", "answered", "offered", "bought", "closed"]
_NUMBERS_OF_VAN: Final = (
    "door.width",
    "door.height",
    "ramp.length",
    "ramp.width_at_hinge",
    "ramp.rise",
    "cabin.height",
    "outside.height",
    "outside.length",
    "ratings.gvwr",
    "odometer",
)
# Shorter tails of a phone number or a VIN than this would find half the lot.
_TAILS: Final = (4, 5, 6, 7, 8, 10)


class VanCard(Part):
    """What the lot keeps about a van beside its measures."""

    stage: VanStage = "arriving"
    came_on: dt.date | None = None
    waits_for: Line = ""
    spot: Line = ""
    # Steps of measuring that could not be done, each with why; see web/measure.
    not_measured: dict[Line, Line] = {}


class RiderCard(Part):
    """How to reach a rider, and where the talk stands."""

    stage: RiderStage = "calling"
    phone: Line = ""
    email: Line = ""
    language: Literal["en", "es"] = "en"
    call_back_on: dt.date | None = None
    not_measured: dict[Line, Line] = {}


class PlainCard(Part):
    """The card of kinds that need no more than a stage."""

    stage: Annotated[str, Field(max_length=32)] = ""
    title: Line = ""


@dataclass(frozen=True, slots=True)
class Index:
    """What a record is found by."""

    title: str = ""
    words: frozenset[str] = frozenset()
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record.

    Attributes:
        name: what it is called, for ever.
        sealed: kept under a key per person.
        read: document → record model; raises BadInput.
        card: model of what the lot keeps beside the document.
        index: what it is found by, from document and card; never raises.
    """

    name: str
    sealed: bool
    read: Callable[[object], Any]
    card: type[Part]
    index: Callable[[dict[str, Any], dict[str, Any]], Index]

    @property
    def stages(self) -> tuple[str, ...]:
        """The stages it can stand in, in their order."""
        return get_args(self.card.model_fields["stage"].annotation)


def lacks(kind: Kind, doc: dict[str, Any]) -> str:
    """The first thing a document still lacks, as a sentence; empty when it is whole.

    Raises:
        BadInput: something that was given will not do, which is refused also in a draft.
    """
    try:
        kind.read(doc)
    except BadInput as error:
        if error.given != MISSING:
            raise
        return error.sentence()
    return ""


def checked_card(kind: Kind, card: dict[str, Any]) -> dict[str, Any]:
    """The card with its defaults, as JSON. Raises BadInput."""
    try:
        return kind.card.model_validate(card).model_dump(mode="json")
    except ValidationError as error:
        raise complaint(error, kind.card) from None


def words_in(*texts: object) -> frozenset[str]:
    """The words somebody may type to find these texts: words, and tails of long numbers.

    >>> sorted(words_in("Ana Ruiz", "010-7788"))
    ['010', '0107788', '07788', '107788', '7788', 'ana', 'ruiz']
    """
    found: set[str] = set()
    for text in texts:
        # Marks off: who types Munoz finds Muñoz.
        parts = unicodedata.normalize("NFKD", str(text or ""))
        line = "".join(sign for sign in parts if not unicodedata.combining(sign)).casefold()
        found.update(re.findall(r"\w+", line))
        joined = re.sub(r"[^\w]", "", line)
        if re.search(r"\d{4}", joined):
            found.add(joined)
            found.update(joined[-tail:] for tail in _TAILS if tail < len(joined))
    return frozenset(word[:64] for word in found)


def _dig(doc: Any, path: str) -> Any:
    for step in path.split("."):
        doc = doc.get(step) if isinstance(doc, dict) else None
    return doc


def _van_index(doc: dict[str, Any], card: dict[str, Any]) -> Index:
    said = [doc.get(key) for key in ("year", "make", "model")]
    stock = doc.get("stock_number", "")
    title = " ".join(str(one) for one in said if one) or "van"
    words = words_in(*said, stock, doc.get("vin"), card.get("spot"))
    # Field by field, so that a van is found by what is measured so far.
    figures: dict[str, float] = {}
    metric = doc.get("units") == "metric"
    for path in _NUMBERS_OF_VAN:
        value = _middle(_dig(doc, path), path, metric)
        if value is not None:
            figures[path] = value
    year = doc.get("year")
    if isinstance(year, int):
        figures["year"] = float(year)
    return Index(f"{title}, {stock}" if stock else title, words, figures)


def _middle(given: Any, path: str, metric: bool) -> float | None:
    """The value of a measure, the middle of a range; None where it is not given or no measure."""
    field = by_path(Van)[path]
    if given is None or field.measures is None:
        return None
    ends = [given]
    if isinstance(given, dict):
        ends = [given[key] for key in ("value", "low", "high") if key in given]
    try:
        numbers = [MeasureOf(field.measures, field.signed).number(end, metric) for end in ends]
    except PydanticCustomError:
        return None
    return sum(numbers) / len(numbers) if numbers else None


def _rider_index(doc: dict[str, Any], card: dict[str, Any]) -> Index:
    name = str(doc.get("name", ""))
    return Index(name, words_in(name, card.get("phone"), card.get("email")))


def _plain_index(doc: dict[str, Any], card: dict[str, Any]) -> Index:
    title = str(card.get("title", ""))
    return Index(title, words_in(title, doc.get("number")))


def _nothing(doc: dict[str, Any], card: dict[str, Any]) -> Index:
    return Index()


def _any_object(given: object) -> object:
    if not isinstance(given, dict):
        raise BadInput("record", given, "one object in braces")
    return given


KINDS: Final[dict[str, Kind]] = {
    kind.name: kind
    for kind in (
        Kind("van", False, van_from, VanCard, _van_index),
        Kind("rider", True, rider_from, RiderCard, _rider_index),
        Kind("inspection", False, _any_object, PlainCard, _plain_index),
        Kind("costs", True, costs_from, PlainCard, _nothing),
        Kind("offer", True, _any_object, PlainCard, _plain_index),
        Kind("sale", True, _any_object, PlainCard, _plain_index),
    )
}


def kind_of(name: str) -> Kind:
    """The kind of that name. Raises BadInput."""
    try:
        return KINDS[name]
    except KeyError:
        raise BadInput("kind", name, "one of: " + ", ".join(KINDS)) from None
