"""Work of this desk: looking the whole store over."""

from __future__ import annotations

from typing import Any

from sillway.store.jobs import Handle, task
from sillway.store.models import Record
from sillway.store.records import chain_holds


@task("store.look_over")
def look_over(job: Handle) -> dict[str, Any]:
    """Check every record's chain of revisions; names those that were altered."""
    numbers = list(Record.objects.order_by("pk").values_list("pk", flat=True))
    bad: list[int] = list(job.kept.get("bad", []))
    start = int(job.kept.get("next", 0))
    for place, number in enumerate(numbers[start:], start=start):
        job.tell(place, len(numbers), f"record {number}", keep={"next": place, "bad": bad})
        if not chain_holds(Record.objects.get(pk=number)):
            bad.append(number)
    job.tell(len(numbers), len(numbers), "")
    return {"records": len(numbers), "altered": bad}
