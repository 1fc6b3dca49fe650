"""Working out one pair: from two records to a row for lists and a sheet."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from sillway.records.read import rider_from, van_from
from sillway.store.records import Read
from sillway.web.fits.keep import keep, today
from sillway.web.fits.models import Fitted


class Late:
    """Tells a search when its time is up, and remembers that it did.

    Args:
        seconds: the time allowed.
        between: called at each question; may raise to stop everything.
    """

    def __init__(self, seconds: float, between: Callable[[], None] = lambda: None) -> None:
        self.end = time.monotonic() + seconds
        self.between = between
        self.was = False

    def __call__(self) -> bool:
        self.between()
        if time.monotonic() > self.end:
            self.was = True
        return self.was


def work_out(
    van: Read, rider: Read, late: Late, *, sheet: bool, on: dt.date | None = None
) -> Fitted:
    """Fit the pair and keep the answer.

    Args:
        sheet: also make drawings and playback (costs time).
    Raises:
        BadInput: one of the records is not whole.
        Destroyed: the rider's data was deleted.
    """
    # Imported here: it brings in the compiled drive, which pages that only read can spare.
    from sillway.fit.fit import fit
    from sillway.fit.match import row_of
    from sillway.show.words import deciding_says

    on = on or today()
    a, b = van_from(van.content.doc), rider_from(rider.content.doc)
    late()
    answer = fit(a, b, on, late, explain=sheet, playback=sheet)
    row = row_of(a, answer)
    said = {
        **row.as_json(),
        "comfort": row.comfort,
        "margin_says": row.margin_says,
        "decided": deciding_says(answer),
        "settle": [{"measure": s.measure, "how": s.how, "now": s.now} for s in row.settle],
        "conditions": [{"says": c.says, "who": c.who} for c in answer.conditions],
    }
    return keep(van, rider, on, said, _sheet(answer, a, b) if sheet else None,
                in_time=not late.was)  # fmt: skip


def _sheet(answer: Any, van: Any, rider: Any) -> dict[str, Any]:
    from sillway.show.sheet.content import fit_content
    from sillway.show.sheet.playback import playback

    roll = playback(answer, van)
    return {
        "content": fit_content(answer, van, rider).plain(),
        "roll": None if roll is None else asdict(roll),
    }
