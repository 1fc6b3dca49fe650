"""Entries that cannot all be true, even with every measure at the good end of its tolerance."""

from __future__ import annotations

from sillway.errors import BadInput
from sillway.records.contradictions_rider import rider_contradictions
from sillway.records.contradictions_van import van_contradictions
from sillway.records.rider import Rider
from sillway.records.sanity import slips
from sillway.records.van import Van


def contradictions(record: Van | Rider) -> list[BadInput]:
    """What cannot be true in a record, slips of the pen first; empty if nothing.

    Each is one sentence naming the field, what was given, and what would do. What is within
    tolerance of being possible is not told.
    """
    found = list(slips(record))
    if found:
        # What is built on a slip would only be told twice.
        return found
    if isinstance(record, Van):
        return list(van_contradictions(record))
    return list(rider_contradictions(record))
