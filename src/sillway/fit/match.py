"""One rider against a lot: a row a van, best first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from sillway.fit.check import Settle
from sillway.fit.drive.scene import Verdict
from sillway.fit.fit import fit
from sillway.fit.known import Basis
from sillway.fit.result import FitAnswer
from sillway.fit.seats import in_comfort
from sillway.fit.verdict import ORDER
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.units import Shown


@dataclass(frozen=True, slots=True)
class MatchRow:
    """What a van comes to for the rider.

    Attributes:
        margin: of the check that decides, at its bad end (of a no: at its good end).
        unit: of the margin.
        decides: id of that check.
        comfort: the margin in comfortable margins, to compare kinds.
    """

    van: str
    stock_number: str
    verdict: Verdict
    margin: float | None
    unit: str
    decides: str
    comfort: float
    settle: tuple[Settle, ...]

    @property
    def margin_says(self) -> str:
        """The margin in words."""
        if self.margin is None:
            return f"decided by {self.decides}" if self.decides else "nothing decides"
        return f"{Shown(self.unit)(self.margin)} left at {self.decides}"

    def as_json(self) -> dict[str, Any]:
        """The row as the command prints it."""
        return {
            "van": self.van,
            "stock_number": self.stock_number,
            "verdict": str(self.verdict),
            "margin": self.margin,
            "unit": self.unit,
            "decides": self.decides,
            "settle": [s.how for s in self.settle],
        }


def match_row(van: Van, rider: Rider, on: dt.date, late: Callable[[], bool]) -> MatchRow:
    """Fit the rider to one van and keep what a list needs."""
    return row_of(van, fit(van, rider, on, late, explain=False, playback=False))


def row_of(van: Van, answer: FitAnswer) -> MatchRow:
    """The row of an answer."""
    basis = Basis(answer.on)
    no = answer.verdict is Verdict.NO
    check = answer.check(answer.deciding) if answer.deciding else None
    margin = check.margin if check else None
    value = None if margin is None else margin.best if no else margin.worst
    return MatchRow(
        answer.van,
        van.stock_number,
        answer.verdict,
        value,
        margin.unit if margin else "",
        answer.deciding,
        in_comfort(basis, check, best=no) if check else 0.0,
        answer.settle,
    )


def sorted_rows(rows: Iterable[MatchRow]) -> list[MatchRow]:
    """Best first: verdict, then the wider margin; equal ones by name."""
    return sorted(rows, key=lambda r: (ORDER.index(r.verdict), -r.comfort, r.van))
