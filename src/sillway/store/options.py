"""How SQLite is opened. Reasons: docs/decisions/0010."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

# Seconds a writer waits for another before it gives up.
WAIT_S: Final = 20
PRAGMAS: Final = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",
    "PRAGMA secure_delete=ON",
    "PRAGMA cache_size=-4000",
)


def database(path: Path) -> dict[str, Any]:
    """The entry of Django's DATABASES."""
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "CONN_MAX_AGE": None,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": WAIT_S,
            "init_command": "; ".join(PRAGMAS) + ";",
        },
    }
