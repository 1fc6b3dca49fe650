"""The demo lot is invented, says so, and holds what it promises."""

from __future__ import annotations

import zoo
from sillway.records.read import read_record, read_rider, read_van


def test_every_demo_record_is_read_from_disk_and_marked_as_invented() -> None:
    paths = [path for folder in ("vans", "riders") for path in (zoo.DEMO / folder).iterdir()]
    assert {path.suffix for path in paths} == {".json", ".csv"}
    for path in paths:
        assert read_record(path).invented, path.name


def test_there_are_twelve_of_each_and_the_readme_names_them_all() -> None:
    readme = (zoo.DEMO / "README.md").read_text(encoding="utf-8")
    for folder in ("vans", "riders"):
        names = [path.name for path in (zoo.DEMO / folder).iterdir()]
        assert len(names) >= 12
        assert all(f"`{name}`" in readme for name in names)


def test_the_lot_has_the_vans_it_promises() -> None:
    vans = {path.stem: read_van(path) for path in (zoo.DEMO / "vans").iterdir()}
    assert {van.conversion.entry for van in vans.values()} == {"rear", "side"}
    assert {van.ramp.operation for van in vans.values()} == {"manual", "powered"}
    assert {place.kind for van in vans.values() for place in van.places} == {
        "cabin", "front passenger", "driver",
    }  # fmt: skip
    foot = vans["heron"].ramp.width_at_foot
    assert foot is not None
    assert foot.value < vans["heron"].ramp.width_at_hinge.value
    over = vans["pelican"].ratings
    assert over.curb_rear is not None
    assert over.gawr_rear is not None
    assert over.curb_rear.value > over.gawr_rear.value
    assert vans["dunlin"].door.height.value == 50 * 25.4
    assert len(vans["osprey"].securement.strap_anchors) == 8
    assert vans["finch"].ratings.curb_rear is None


def test_the_riders_are_of_every_kind_and_somebody_drives() -> None:
    riders = {path.stem: read_rider(path) for path in (zoo.DEMO / "riders").iterdir()}
    assert {rider.chair.drive for rider in riders.values()} == {
        "manual", "rear-wheel drive", "mid-wheel drive", "front-wheel drive", "scooter",
        "stretcher",
    }  # fmt: skip
    for name, rider in riders.items():
        assert "driver" in rider.wishes or any(walker.drives for walker in rider.walkers), name
    assert riders["wanda"].attendant is not None
    assert len(riders["pim"].walkers) == 4
