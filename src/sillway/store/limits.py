"""The workbench's limits, out of the rule book."""

from __future__ import annotations

from datetime import UTC, datetime

from sillway.rules.load import number


def limit(name: str) -> int:
    """The limit ``workbench.<name>`` in force today.

    Raises:
        RuleError: for an unknown name.

    >>> limit("photo.quality") <= 100
    True
    """
    return int(number(f"workbench.{name}", datetime.now(UTC).date()))
