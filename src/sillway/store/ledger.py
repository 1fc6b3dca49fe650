"""The document of what a van has cost the lot: lines of day, what and cents. Pure."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import Field, ValidationError

from sillway.errors import BadInput
from sillway.records.base import Part
from sillway.records.complaint import complaint
from sillway.store.limits import limit

KIND: Final = "costs"
#: What is said of an amount that will not do.
AMOUNT: Final = "an amount in dollars such as 1,240.50, or -80 for money that came back"
_AMOUNT = re.compile(
    r"(?P<sign>[-−])?\s*\$?\s*(?P<whole>\d{1,3}(?:,\d{3})+|\d{1,9})(?:\.(?P<part>\d{1,2}))?",
    re.ASCII,
)


class CostLine(Part):
    """One thing paid for. ``cents`` is below zero for money that came back."""

    id: Annotated[str, Field(min_length=1, max_length=32)]
    day: dt.date
    what: Annotated[str, Field(min_length=1, max_length=200)]
    cents: int


class Costs(Part):
    """All that was paid for one van."""

    kind: Literal["costs"] = "costs"
    lines: tuple[CostLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Ledger:
    """The costs of one van as they stand; lines in the order of their days."""

    lines: tuple[CostLine, ...] = ()

    @property
    def total_cents(self) -> int:
        """The sum of all lines."""
        return sum(line.cents for line in self.lines)


def costs_from(given: object) -> Costs:
    """A costs document. Raises BadInput."""
    if not isinstance(given, dict):
        raise BadInput("record", given, "one object in braces")
    try:
        found = Costs.model_validate(given)
    except ValidationError as error:
        raise complaint(error, Costs) from None
    most = limit("costs.lines")
    if len(found.lines) > most:
        raise BadInput("lines", len(found.lines), f"at most {most} lines")
    return found


def cents_from(text: str, field: str) -> int:
    """An amount as written, in cents. Raises BadInput.

    >>> cents_from("$1,240.50", "amount"), cents_from("-80", "amount")
    (124050, -8000)
    """
    match = _AMOUNT.fullmatch(text.strip())
    if match is None:
        raise BadInput(field, text, AMOUNT)
    cents = int(match["whole"].replace(",", "")) * 100 + int((match["part"] or "").ljust(2, "0"))
    return -cents if match["sign"] else cents


def show_cents(cents: int) -> str:
    """An amount as people read it.

    >>> show_cents(124050), show_cents(-8000)
    ('$1,240.50', '-$80.00')
    """
    return f"{'-' if cents < 0 else ''}${Decimal(abs(cents)) / 100:,.2f}"


def ledger(given: object) -> Ledger:
    """The ledger a costs document holds. Raises BadInput."""
    return Ledger(tuple(sorted(costs_from(given).lines, key=lambda line: line.day)))
