"""Who is matched with whom: the vans of the lot, and the riders who wait."""

from __future__ import annotations

from typing import Final

from sillway.store.kinds import KINDS
from sillway.store.models import Record

#: Stages of vans that can still be had, and of riders who still look.
ON_THE_LOT: Final = tuple(s for s in KINDS["van"].stages if s not in ("sold", "gone"))
STILL_LOOKING: Final = tuple(s for s in KINDS["rider"].stages if s not in ("bought", "closed"))


def lot() -> list[Record]:
    """The vans that can still be had, by title."""
    return list(Record.objects.filter(kind="van", stage__in=ON_THE_LOT).order_by("title", "pk"))


def waiting() -> list[Record]:
    """The riders who still look, the one who waits longest first."""
    found = Record.objects.filter(kind="rider", gone_at=None, stage__in=STILL_LOOKING)
    return list(found.order_by("made_at", "pk"))
