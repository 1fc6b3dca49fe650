"""The climb as checks: what is not measured is never silently bounded."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from sillway.fit.check import Finding
from sillway.fit.fit import fit
from sillway.records.read import read_rider, read_van

DEMO = Path(__file__).resolve().parents[2] / "demo"
DAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize("van", ["heron", "curlew"])
def test_a_rider_of_whom_little_is_known_gets_no_bound_and_no_fault(van: str) -> None:
    """Warnings are errors here: no figure that is not a number may pass for a margin."""
    answer = fit(
        read_van(DEMO / "vans" / f"{van}.json"), read_rider(DEMO / "riders" / "greta.json"), DAY,
        explain=False, playback=False,
    )  # fmt: skip
    belly = answer.check("ramp.belly")
    assert belly.finding is Finding.CLOSE
    assert belly.measured.startswith("no bound")
    for check in answer.checks:
        if check.margin is not None:
            assert check.margin.worst <= check.margin.best, check.id
