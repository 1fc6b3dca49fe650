"""Quick bounds: a no is a no of the exact climb too, and a told measure only narrows."""

import datetime as dt
from itertools import product

import pytest

from sillway.fit.body import sittings
from sillway.fit.cabin import BACKING, FORWARDS, entry_of
from sillway.fit.check import Finding
from sillway.fit.climb_checks import climb_checks
from sillway.fit.known import Basis
from sillway.fit.screen import Stands, next_measures, screen
from sillway.fit.sketch import ASKED, tell, tell_drive, whole
from sillway.records.read import read_rider, read_van, rider_from, van_from
from workbench_help import ROOT, demo

ON = dt.date(2026, 11, 25)
BASIS = Basis(ON)
BY_ID = {one.id: one for one in ASKED}


@pytest.fixture(scope="module")
def lot():
    return [read_van(path) for path in sorted((ROOT / "demo" / "vans").glob("*.*"))]


@pytest.fixture(scope="module")
def riders():
    return [read_rider(path) for path in sorted((ROOT / "demo" / "riders").glob("*.*"))]


def check(screened, check_id):
    return next(c for c in screened.checks if c.id == check_id)


def with_head(doc, top):
    """A rider whose head, and whatever reaches above it, ends at this height."""
    layers = [dict(layer) for layer in doc["chair"]["layers"]]
    layers[-1]["top"] = top
    chair = {**doc["chair"], "layers": layers}
    return rider_from({**doc, "chair": chair, "postures": [], "body": {"mass": "228 lb"}})


def test_a_head_ruled_out_at_the_header_is_ruled_out_by_the_exact_climb(lot):
    """At the least height at which the bound rules out, both ways up the ramp fail exactly."""
    doc = demo("rider")
    van = lot[0]
    for tenths in range(500, 700, 2):
        rider = with_head(doc, f"{tenths / 10} in")
        if check(screen(van, rider, BASIS), "door.height").finding is Finding.FAILS:
            break
    else:
        pytest.fail("no height was ruled out")
    sitting = sittings(rider.chair, rider.postures)[0]
    for direction in (FORWARDS, BACKING):
        climbed = climb_checks(BASIS, van, entry_of(BASIS, van), rider, sitting, direction, 1500.0)
        header = next(c for c in climbed.checks if c.id == "ramp.header")
        assert header.finding is Finding.FAILS, direction


def test_a_wider_chair_is_ruled_out_and_by_how_much():
    """A ramp of 30 in and wheels of 31 in: short by 1 in less both tape tolerances of 3 mm."""
    van = demo("van")
    van["ramp"] |= {"width_at_hinge": {"value": "30 in", "way": "tape"}}
    van["ramp"].pop("width_at_foot", None)
    doc = demo("rider") | {"way": "tape"}
    layers = [dict(layer) for layer in doc["chair"]["layers"]]
    layers[0]["width"] = {"value": "31 in", "way": "tape"}
    rider = rider_from({**doc, "chair": {**doc["chair"], "layers": layers}})
    found = check(screen(van_from(van), rider, BASIS), "ramp.width")
    assert found.finding is Finding.FAILS
    assert found.margin.best == pytest.approx(-25.4 + 3 + 3)


def test_a_heavy_party_is_ruled_out_by_the_ramp():
    doc = tell(tell_drive({}, "mid-wheel drive", ON), BY_ID["chair_mass"], "500 lb", ON)
    doc = tell(doc, BY_ID["rider_mass"], "520 lb", ON)
    van = demo("van")
    van["ramp"]["rated_load"] = "600 lb"
    one = screen(van_from(van), rider_from(whole(doc, ON)), BASIS)
    assert one.stands is Stands.OUT
    # 600 lb less (1020 lb less two tolerances of 10 kg), in kg.
    assert check(one, "ramp.load").margin.best == pytest.approx((600 - 1020) * 0.45359237 + 20)


def test_a_place_not_wished_for_rules_out(lot):
    rider = rider_from(demo("rider") | {"wishes": ["driver"]})
    found = [one for one in lot if all(p.kind != "driver" for p in one.places)]
    assert found
    assert all(screen(van, rider, BASIS).decides.id == "place.wished" for van in found[:1])


def test_every_answer_only_narrows(lot):
    """What is ruled out stays so, whatever is told within the ranges; nothing open is worse."""
    doc = tell_drive({}, "mid-wheel drive", ON)
    before = [screen(van, rider_from(whole({}, ON)), BASIS) for van in lot]
    for name, text in (("head", "55 in"), ("wheels", "26"), ("elbows", "27"), ("length", "46"),
                       ("rider_mass", "240 lb"), ("chair_mass", "350 lb")):  # fmt: skip
        doc = tell(doc, BY_ID[name], {"value": text, "way": "tape"}, ON)
        after = [screen(van, rider_from(whole(doc, ON)), BASIS) for van in lot]
        for old, new in zip(before, after, strict=True):
            assert old.stands is not Stands.OUT or new.stands is Stands.OUT
            for check_id in {c.id for c in old.checks if c.margin}:
                one, other = (
                    next((c for c in s.checks if c.id == check_id), None) for s in (old, new)
                )
                if other is not None and check_id not in ("place.length", "place.width",
                                                          "place.headroom"):  # fmt: skip
                    assert other.margin.best <= one.margin.best + 1e-6
                    assert other.margin.worst >= one.margin.worst - 1e-6
        before = after
    assert {one.stands for one in before} == {Stands.CLEAR, Stands.OPEN, Stands.OUT}


def test_what_settles_most_vans_is_asked_first(lot):
    rider = rider_from(whole(tell_drive({}, "mid-wheel drive", ON), ON))
    screened = [screen(van, rider, BASIS) for van in lot]
    names = [one.measure for one in ASKED]
    ranked = next_measures(screened, names)
    assert ranked[0][1] == max(count for _name, count in ranked)
    left = next_measures(screened, [name for name in names if name != ranked[0][0]])
    assert ranked[0][0] not in dict(left)
    assert next_measures(screened, []) == []


def test_a_van_is_out_exactly_when_a_bound_fails(lot, riders):
    for van, rider in product(lot[:4], riders):
        one = screen(van, rider, BASIS)
        assert one.decides in one.checks
        failing = [c for c in one.checks if c.finding is Finding.FAILS]
        assert (one.stands is Stands.OUT) == bool(failing)
        assert (one.stands is Stands.OPEN) == (not failing and bool(one.still_open))
