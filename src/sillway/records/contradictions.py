"""Entries that cannot all be true, even with every measure at the good end of its tolerance."""

from __future__ import annotations

from sillway.errors import BadInput
from sillway.records.rider import Rider
from sillway.records.van import Van


def contradictions(record: Van | Rider) -> list[BadInput]:
    """What cannot be true in a record, the most telling first; empty if nothing."""
    return []
