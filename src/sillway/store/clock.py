"""The time, in UTC. One place, so that tests can set it."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """The time now. [UTC]"""
    return datetime.now(UTC)
