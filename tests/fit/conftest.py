"""Whole fits of the demo lot, changed one thing at a time; each is computed once a session."""

from __future__ import annotations

import copy
import datetime as dt
import json
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from sillway.fit.fit import fit
from sillway.fit.result import FitAnswer
from sillway.records.read import rider_from, van_from
from zoo import given_riders, given_vans

ON = dt.date(2026, 11, 25)
Changed = Callable[[dict[str, Any]], None]


@cache
def _fit(van: str, rider: str) -> FitAnswer:
    return fit(van_from(json.loads(van), "van"), rider_from(json.loads(rider), "rider"), ON)


@pytest.fixture(scope="session")
def fitted() -> Callable[..., FitAnswer]:
    """The answer for a demo van and rider, by name, after changes to the JSON of either."""

    def of(
        van: str, rider: str, change_van: Changed | None = None, change_rider: Changed | None = None
    ) -> FitAnswer:
        v, r = copy.deepcopy(given_vans()[van]), copy.deepcopy(given_riders()[rider])
        for record, change in ((v, change_van), (r, change_rider)):
            if change is not None:
                change(record)
        return _fit(json.dumps(v, sort_keys=True), json.dumps(r, sort_keys=True))

    return of
