"""Rate limits, counted in the database so that all server processes share them."""

from __future__ import annotations

import time
from typing import Final

from django.db import connection, transaction

from sillway.store.limits import limit
from sillway.store.models import Rate

WINDOW_S: Final = 3600


class TooMany(RuntimeError):  # noqa: N818 - named for what it tells the reader
    """More of something than one hour allows."""


def allow(what: str, key: str) -> bool:
    """Count one more of ``what`` by ``key``; whether that is still within ``rate.<what>``."""
    window = int(time.time()) // WINDOW_S
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO store_rate (key, window, count) VALUES (%s, %s, 1) "
            "ON CONFLICT (key, window) DO UPDATE SET count = count + 1 RETURNING count",
            [f"{what}:{key}"[:80], window],
        )
        (count,) = cursor.fetchone()
        if count == 1:
            Rate.objects.filter(window__lt=window - 1).delete()
    return int(count) <= limit(f"rate.{what}")
