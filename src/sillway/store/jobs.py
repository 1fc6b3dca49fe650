"""Long work, kept in the database: asked for, taken up by a runner, told, stopped.

A runner holds a job by a lease it renews; when it dies the lease runs out and the job is taken up
again with what it had kept. A task must therefore bear being begun twice.
"""

from __future__ import annotations

import os
import socket
import threading
import time
import traceback
from collections.abc import Callable
from datetime import timedelta
from typing import Any, Final

from django.db import close_old_connections, connection, transaction
from django.db.models import Q

from sillway.errors import BadInput
from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.limits import limit
from sillway.store.models import Job

# A waiting job begins within this; progress is written at most this often.
LOOK_S: Final = 1.0
TELL_S: Final = 0.5
_TASKS: Final[dict[str, Callable[..., Any]]] = {}
_OPEN: Final = (Job.State.WAITING, Job.State.RUNNING)


class Cancelled(Exception):  # noqa: N818 - no fault, a wish
    """Somebody asked the job to stop."""


class Lost(Exception):  # noqa: N818 - another runner has it
    """The lease ran out and another runner took the job up."""


def task(name: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a function a name under which it can be asked for; the name is for ever.

    It is called with a ``Handle`` and the arguments of ``ask``, and its JSON answer is kept.
    """

    def keep(function: Callable[..., Any]) -> Callable[..., Any]:
        _TASKS[name] = function
        return function

    return keep


def ask(name: str, by: By, **args: Any) -> int:
    """Ask for work; the answer is the job's number. Arguments are kept readable: only numbers
    of records, never what they say.

    Raises:
        BadInput: nobody knows such work.
    """
    if name not in _TASKS:
        raise BadInput("task", name, "one of: " + ", ".join(sorted(_TASKS)))
    with transaction.atomic():
        job = Job.objects.create(
            task=name, args=args, account=by.account, by_name=by.name, asked_at=now()
        )
        trace("job.asked", by, subject=f"job {job.pk}", says=name)
    return job.pk


def ask_cancel(number: int, by: By) -> None:
    """Ask a job to stop: at once if it waits, at its next word if it runs."""
    with transaction.atomic():
        job = Job.objects.filter(pk=number, state__in=_OPEN)
        if job.update(cancel_asked=True):
            trace("job.cancelled", by, subject=f"job {number}")
        waiting = Job.objects.filter(pk=number, state=Job.State.WAITING)
        waiting.update(state=Job.State.CANCELLED, ended_at=now())


class Handle:
    """What a task holds of its own job.

    Attributes:
        kept: what an earlier try had kept; empty on the first.
    """

    def __init__(self, job: Job) -> None:
        self.number = job.pk
        self.runner = job.runner
        self.kept: dict[str, Any] = job.kept or {}
        self._told = 0.0

    def tell(self, done: int, total: int, says: str, *, keep: dict[str, Any] | None = None) -> None:
        """Say how far it is, and keep what a next try can go on from.

        Raises:
            Cancelled: somebody asked to stop; let it pass through.
            Lost: another runner has the job now; let it pass through.
        """
        if time.monotonic() - self._told < TELL_S and done < total:
            return
        self._told = time.monotonic()
        values: dict[str, Any] = {"done": done, "total": total, "says": says[:300]}
        if keep is not None:
            values["kept"] = keep
        mine = Job.objects.filter(pk=self.number, runner=self.runner, state=Job.State.RUNNING)
        if not mine.update(**values, leased_until=_lease()):
            raise Lost
        if Job.objects.filter(pk=self.number, cancel_asked=True).exists():
            raise Cancelled


def run_next(runner: str) -> bool:
    """Take up one job and do it to its end; whether there was one."""
    job = _take(runner)
    if job is None:
        return False
    stop = threading.Event()
    heart = threading.Thread(target=_beat, args=(job.pk, runner, stop), daemon=True)
    heart.start()
    try:
        values = _outcome(job)
    finally:
        stop.set()
        heart.join()
    if values:
        with transaction.atomic():
            mine = Job.objects.filter(pk=job.pk, runner=runner, state=Job.State.RUNNING)
            mine.update(**values, ended_at=now(), leased_until=None)
    return True


def run_for_ever(stop: threading.Event, runner: str = "") -> None:
    """Do work as it comes, until told to stop."""
    runner = runner or f"{socket.gethostname()}:{os.getpid()}:{threading.get_ident()}"
    while not stop.is_set():
        close_old_connections()
        if not run_next(runner):
            stop.wait(LOOK_S)


def _take(runner: str) -> Job | None:
    with transaction.atomic():
        late = Q(state=Job.State.RUNNING, leased_until__lt=now())
        job = Job.objects.filter(Q(state=Job.State.WAITING) | late).order_by("pk").first()
        if job is None:
            return None
        if job.cancel_asked or job.tries >= limit("job.tries"):
            cancelled = job.cancel_asked
            job.state = Job.State.CANCELLED if cancelled else Job.State.FAILED
            job.says = "" if cancelled else "begun too often without an end"
            job.ended_at = now()
            job.save()
            return None
        job.state, job.runner, job.leased_until = Job.State.RUNNING, runner, _lease()
        job.begun_at = job.begun_at or now()
        job.tries += 1
        job.save()
    return job


def _outcome(job: Job) -> dict[str, Any]:
    try:
        function = _TASKS.get(job.task)
        if function is None:
            return {"state": Job.State.FAILED, "says": f"nobody knows the work {job.task}"}
        result = function(Handle(job), **job.args)
    except Cancelled:
        return {"state": Job.State.CANCELLED}
    except Lost:
        return {}
    except BadInput as error:
        return {"state": Job.State.FAILED, "says": error.sentence()[:300]}
    except Exception as error:
        # The trace may quote a rider's data: it goes to the console, not into the database.
        traceback.print_exc()
        return {"state": Job.State.FAILED, "says": f"stopped by a fault ({type(error).__name__})"}
    return {"state": Job.State.DONE, "result": result, "says": ""}


def _beat(number: int, runner: str, stop: threading.Event) -> None:
    """Renew the lease also while the task is silent."""
    try:
        while not stop.wait(limit("job.lease") / 3):
            mine = Job.objects.filter(pk=number, runner=runner, state=Job.State.RUNNING)
            mine.update(leased_until=_lease())
    finally:
        connection.close()


def _lease() -> Any:
    return now() + timedelta(seconds=limit("job.lease"))
