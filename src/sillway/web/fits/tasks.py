"""Long work of this desk: one pair with its sheet."""

from __future__ import annotations

from typing import Any, Final

from sillway.store.jobs import Handle, task
from sillway.store.limits import limit
from sillway.store.records import read_record
from sillway.web.fits.work import Late, work_out

PAIR: Final = "fit.pair"


@task(PAIR)
def pair(job: Handle, van: int, rider: int) -> dict[str, Any]:
    """Work out one pair with drawings and playback."""
    job.tell(0, 1, "")
    late = Late(limit("fit.seconds"), lambda: job.tell(0, 1, ""))
    kept = work_out(read_record(van), read_record(rider), late, sheet=True)
    return {"in_time": kept.in_time}
