"""Work of this desk: looking a sheet over, and bringing it in."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.jobs import Handle, task
from sillway.store.models import Job
from sillway.web.imports import shelf


@task("imports.look")
def look(job: Handle, token: str) -> dict[str, Any]:
    """Hold every row against the store and note what it comes to. Changes nothing."""
    from sillway.web.imports.look import look_over

    sent = _sent(token)
    total = len(sent.rows)
    pairs = look_over(sent, token, lambda done: job.tell(done, total, ""))
    sent.found = [asdict(found) for found, _item in pairs]
    job.tell(total, total, "")
    shelf.put(sent, token)
    return counted(sent.found)


@task("imports.apply")
def apply(job: Handle, token: str) -> dict[str, Any]:
    """Bring a sheet in, all of it or nothing. Begun twice, it is brought in once."""
    from sillway.store.bulk import keep_all
    from sillway.web.imports.look import look_over

    sent = _sent(token)
    total = 2 * len(sent.rows)
    items, found = [], []
    for one, item in look_over(sent, token, lambda done: job.tell(done, total, "")):
        if one.does == "error":
            # What stands in the row stays out of the job, which is kept readable.
            raise BadInput(f"row {one.row}", "wrong by now", "the sheet looked over once more")
        found.append(asdict(one))
        if item is not None:
            items.append(item)
    who = Job.objects.get(pk=job.number)
    by = By(who.by_name, "job", who.account)
    keep_all(items, by, "import.kept", lambda done: job.tell(len(sent.rows) + done, total, ""))
    shelf.drop(token)
    job.tell(total, total, "")
    return counted(found)


def counted(found: list[dict[str, Any]]) -> dict[str, int]:
    """How many rows come to what."""
    return {
        does: sum(one["does"] == does for one in found)
        for does in ("new", "changes", "same", "error")
    }


def _sent(token: str) -> shelf.Sent:
    try:
        return shelf.get(token)
    except shelf.NotThere:
        raise BadInput("sheet", "one that is not kept any more", "it sent once more") from None
