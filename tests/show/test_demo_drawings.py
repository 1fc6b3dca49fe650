"""Drawings of the whole demo lot: each on one page, legible, nothing written over anything else."""

from __future__ import annotations

import dataclasses
import itertools
from pathlib import Path
from typing import Any

import pytest

from sillway.fit.result import Arrangement
from sillway.records.read import read_van
from sillway.show.draw.frame import SHEET_MM
from sillway.show.draw.plan import plan

VANS = sorted(Path(__file__).parents[2].joinpath("demo", "vans").iterdir())


def test_there_is_a_demo_lot() -> None:
    assert len(VANS) >= 12


@pytest.mark.parametrize("path", VANS, ids=lambda path: path.stem)
def test_plan_of_a_demo_van(sample: Any, path: Path) -> None:
    van = read_van(path)
    place = van.places[0]
    corners = place.zone.points_mm
    x, y = (sum(p[i] for p in corners) / len(corners) for i in (0, 1))
    seats = {seat.id: seat.states()[-1] for seat in van.seats if not seat.for_driver}
    answer = dataclasses.replace(
        sample.fits(), van=van.name(), certificate=None, playback=(), place_pose=(x, y, 0.0),
        arrangement=Arrangement(place.id, place.kind, "forwards", seats, {}),
    )  # fmt: skip
    d = plan(answer, van, sample.rider(), "F-0000-0000")
    assert d.height_mm <= SHEET_MM[0]
    assert d.width_mm <= SHEET_MM[1]
    for a, b in itertools.combinations(d.texts, 2):
        assert not a.meets(b)
    notes = " ".join(d.notes)
    for seat in van.seats:
        assert seat.id in notes
    for solid in van.cabin.solids:
        assert solid.name in notes
