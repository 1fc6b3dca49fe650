"""Long work of this desk: pair after pair, each kept as soon as it is answered."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from sillway.errors import BadInput
from sillway.store.jobs import Handle, task
from sillway.store.keys import Destroyed
from sillway.store.limits import limit
from sillway.store.models import Record
from sillway.store.records import read_record
from sillway.web.fits import keep
from sillway.web.fits.work import Late, work_out
from sillway.web.match.who import lot, waiting

RIDER: Final = "match.rider"
VAN: Final = "match.van"


@task(RIDER)
def match_rider(job: Handle, rider: int) -> dict[str, Any]:
    """One rider against every van of the lot."""
    return _pairs(job, ((van.pk, rider) for van in lot()))


@task(VAN)
def match_van(job: Handle, van: int) -> dict[str, Any]:
    """One van against every rider who waits."""
    return _pairs(job, ((van, rider.pk) for rider in waiting()))


def _pairs(job: Handle, pairs: Iterable[tuple[int, int]]) -> dict[str, Any]:
    """Answers that still hold are not worked out again, so a job begun twice goes on."""
    todo, new, not_whole = list(pairs), 0, 0
    for done, (van, rider) in enumerate(todo):
        job.tell(done, len(todo), f"van {van}")
        rows = Record.objects.in_bulk([van, rider])
        kept = keep.answer_for(rows[van], rows[rider], keep.today())
        # One whose time ran out is not tried again here; its own page allows it more.
        if kept is not None:
            continue
        late = Late(limit("match.seconds"), _word(job, done, len(todo), van))
        try:
            work_out(read_record(van), read_record(rider), late, sheet=False)
            new += 1
        except (BadInput, Destroyed):
            not_whole += 1
    job.tell(len(todo), len(todo), "")
    return {"pairs": len(todo), "worked_out": new, "not_whole": not_whole}


def _word(job: Handle, done: int, total: int, van: int) -> Any:
    return lambda: job.tell(done, total, f"van {van}")
