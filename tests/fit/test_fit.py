"""The main question, on the demo lot: the four verdicts, what backs them, and what may not."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest

from sillway.fit.check import CheckClass, Finding
from sillway.fit.drive.proof import prove
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Verdict
from sillway.fit.drive.subdivide import Shut
from sillway.fit.fit import fit
from sillway.fit.result import FitAnswer
from sillway.fit.verdict import ORDER, verdict_of
from sillway.records.read import rider_from, van_from
from sillway.show.json_answer import certificate_json
from zoo import given_riders, given_vans

ON = dt.date(2026, 11, 25)
Fitted = Callable[..., FitAnswer]

FOUR = {
    ("heron", "hendrick"): Verdict.FITS,
    ("heron", "marit"): Verdict.CONDITIONS,
    ("curlew", "hendrick"): Verdict.CLOSE,
    ("avocet", "casper"): Verdict.NO,
}
SURE = [("heron", "hendrick"), ("heron", "marit"), ("kestrel", "hendrick"), ("stork", "ilka")]


@pytest.mark.parametrize(("pair", "verdict"), FOUR.items())
def test_verdicts_of_the_demo_lot(fitted: Fitted, pair: tuple[str, str], verdict: Verdict) -> None:
    answer = fitted(*pair)
    assert answer.verdict is verdict
    assert verdict_of(answer.checks) is verdict
    yes = verdict in (Verdict.FITS, Verdict.CONDITIONS)
    assert (answer.certificate is not None) is yes
    assert (answer.proof is not None) is (verdict is Verdict.NO)
    assert bool(answer.conditions) is (verdict is Verdict.CONDITIONS)
    assert bool(answer.settle) is (verdict is Verdict.CLOSE)
    decides = answer.check(answer.deciding)
    assert decides.check_class in (CheckClass.PHYSICAL, CheckClass.RATING)


@pytest.mark.parametrize("pair", SURE)
def test_every_certificate_is_rechecked(fitted: Fitted, pair: tuple[str, str]) -> None:
    """Against the separate checker on shapely (sillway.fit.drive.recheck_path)."""
    answer = fitted(*pair)
    assert answer.certificate is not None
    given = certificate_json(answer.certificate)
    assert recheck_path(given) == []
    more = given | {"claimed_clearance": given["claimed_clearance"] + 50.0}
    assert recheck_path(more) != []
    assert answer.place_pose is not None
    assert answer.certificate.path[-1] == pytest.approx(answer.place_pose, abs=1e-6)


def lockers(van: dict[str, Any]) -> None:
    """Two lockers behind the place leave 20 in between them, from floor to roof."""
    for y in ([10, 30], [-30, -10]):
        van["cabin"]["solids"].append({"name": f"locker {y}", "outline": {"x": [20, 26], "y": y}})


def test_a_no_of_the_way_is_rechecked(fitted: Fitted) -> None:
    """Against the separate checker of proofs (sillway.fit.drive.recheck_proof)."""
    answer = fitted("heron", "hendrick", lockers)
    assert answer.verdict is Verdict.NO
    assert answer.deciding == "cabin.way"
    assert answer.proof is not None
    assert answer.proof.pinch is not None
    assert "locker" in answer.proof.pinch.obstacle
    # The rule of thumb: the chair is 26 in wide, 5 1/2 in more than the gap, less tolerances.
    assert -6 * 25.4 < answer.proof.pinch.clearance_mm * 2 < -5 * 25.4
    assert answer.proof.drive
    for shut in answer.proof.drive.values():
        assert isinstance(shut, Shut)
        assert recheck_proof(prove(shut)) == []


def test_a_wider_chair_turns_no_no_into_a_yes(fitted: Fitted) -> None:
    def wider(by: float) -> Callable[[dict[str, Any]], None]:
        def change(rider: dict[str, Any]) -> None:
            for layer in rider["chair"]["layers"]:
                layer["width"] += by

        return change

    # The place is 32 in wide, the chair 26 in: 8 in more is too wide for certain.
    verdicts = [
        fitted("heron", "hendrick", None, wider(by) if by else None).verdict for by in (0, 4, 6, 8)
    ]
    assert [ORDER.index(v) for v in verdicts] == sorted(ORDER.index(v) for v in verdicts)
    assert verdicts[0] is Verdict.FITS
    assert verdicts[-1] is Verdict.NO


COUNTS = {"straps", "straps_in_its_test", "row", "sits", "year", "load_index", "pressure_psi"}


def metric(record: Any, key: str = "") -> Any:
    """The record in millimetres: bare numbers are inches there."""
    if isinstance(record, dict):
        return {k: "metric" if k == "units" else metric(v, k) for k, v in record.items()}
    if isinstance(record, list):
        return [metric(v, key) for v in record]
    if isinstance(record, int | float) and not isinstance(record, bool) and key not in COUNTS:
        return record * 25.4
    return record


def test_units_agree(fitted: Fitted) -> None:
    inch = fitted("heron", "hendrick")

    def change(record: dict[str, Any]) -> None:
        record.update(metric(record))

    same = fitted("heron", "hendrick", None, change)
    assert same.verdict is inch.verdict
    assert [c.id for c in same.checks] == [c.id for c in inch.checks]
    for a, b in zip(same.checks, inch.checks, strict=True):
        assert a.finding is b.finding
        if a.margin is not None and b.margin is not None and a.id != "cabin.way":
            assert a.margin.worst == pytest.approx(b.margin.worst, abs=0.01)


def mirrored(record: Any, key: str = "") -> Any:
    """The van seen in a mirror along it: every y changes its sign, left and right their names."""
    if isinstance(record, dict):
        return {k: mirrored(v, k) for k, v in record.items()}
    if isinstance(record, list):
        out = [mirrored(v) for v in record]
        return [-v for v in reversed(out)] if key == "y" else out
    if key == "y":
        return -record
    if isinstance(record, str) and key in ("side", "wheel", "name", "id"):
        swap = {"left": "right", "right": "left"}
        return re.sub("left|right", lambda m: swap[m.group()], record)
    return record


def test_a_mirrored_van_gives_the_same_answer(fitted: Fitted) -> None:
    """Side entry, so that handedness counts; the chair is the same on both sides."""

    def change(van: dict[str, Any]) -> None:
        van.update(mirrored(van))
        for place in van["places"]:
            # Belts and docking keep their names.
            assert set(place) >= {"id", "zone"}

    as_is, other = fitted("kestrel", "hendrick"), fitted("kestrel", "hendrick", change)
    assert other.verdict is as_is.verdict
    assert as_is.arrangement is not None
    assert other.arrangement is not None
    assert other.arrangement.direction == as_is.arrangement.direction
    for name in ("load.rear", "place.footprint", "place.headroom", "ramp.belly"):
        a, b = as_is.check(name).margin, other.check(name).margin
        assert a is not None
        assert b is not None
        assert a.worst == pytest.approx(b.worst, abs=1e-3)
    assert as_is.certificate is not None
    assert other.certificate is not None
    assert other.certificate.claimed_clearance_mm == pytest.approx(
        as_is.certificate.claimed_clearance_mm, abs=5.0
    )


def without(*path: str) -> Callable[[dict[str, Any]], None]:
    def change(record: dict[str, Any]) -> None:
        for step in path[:-1]:
            record = record[step]
        del record[path[-1]]

    return change


def _each(key: str, *path: str) -> Callable[[dict[str, Any]], None]:
    def change(van: dict[str, Any]) -> None:
        part: Any = van
        for step in path:
            part = part[step]
        for one in part:
            del one[key]

    return change


def _no_curb(van: dict[str, Any]) -> None:
    for axle in ("front", "rear"):
        del van["ratings"][f"curb_{axle}"]


@pytest.mark.parametrize(
    ("van", "rider", "check", "measure"),
    [
        (
            _each("rating", "securement", "strap_anchors"),
            None,
            "place.strap.rating",
            "securement.strap_anchors",
        ),
        (_no_curb, None, "load.rear", "ratings.curb"),
        (_each("load_index", "tires"), None, "load.tires.rear", "tires"),
        (without("ramp", "rated_load"), None, "ramp.load", "ramp.rated_load"),
        (None, without("chair", "mass_centre"), "load.rear", "chair.mass_centre"),
    ],
)
def test_no_yes_rests_on_an_assumed_rating(
    fitted: Fitted, van: Any, rider: Any, check: str, measure: str
) -> None:
    """Design 1.1: an assumed value is an interval; a yes has to hold over all of it."""
    answer = fitted("heron", "hendrick", van, rider)
    asked = answer.check(check)
    assert asked.assumed, "the value that is missing is named as assumed"
    assert {k.name for k in asked.assumed} <= {k.name for k in answer.assumed}
    assert asked.margin is not None
    if answer.verdict in (Verdict.FITS, Verdict.CONDITIONS):
        assert asked.margin.worst >= 0
    else:
        assert answer.verdict is Verdict.CLOSE
        open_ = [c for c in answer.checks if c.finding is Finding.CLOSE]
        assert any(k.name.startswith(measure) for c in open_ for k in c.assumed)
        assert any(s.measure in {k.name for k in answer.assumed} for s in answer.settle)


def test_little_known_leads_to_what_to_measure(fitted: Fitted) -> None:
    answer = fitted("heron", "greta")
    assert answer.verdict is Verdict.CLOSE
    assert answer.assumed
    assert answer.settle
    assert all(s.how for s in answer.settle)


@pytest.mark.parametrize("rider", ["hendrick", "casper", "edda"])
def test_when_late_nothing_unproved_is_said(rider: str) -> None:
    van = van_from(given_vans()["osprey"], "osprey")
    answer = fit(van, rider_from(given_riders()[rider], rider), ON, lambda: True)
    if answer.verdict is Verdict.NO:
        assert answer.proof is not None
        assert answer.proof.reasons
    else:
        assert answer.verdict is Verdict.CLOSE or answer.certificate is not None


def test_no_place_of_the_wished_kind(fitted: Fitted) -> None:
    answer = fitted("heron", "rosalind")
    assert answer.verdict is Verdict.NO
    assert answer.deciding == "place.wished"
    assert answer.arrangement is None


def test_a_cheap_no_needs_no_climb_and_no_drive() -> None:
    van = van_from(given_vans()["heron"], "heron")
    rider = rider_from(given_riders()["casper"], "casper")
    answer = fit(van, rider, ON, explain=False, playback=False)
    assert answer.verdict is Verdict.NO
    assert not any(c.id in ("cabin.way", "ramp.belly") for c in answer.checks)
    assert answer.proof is not None
    assert any("too large" in reason for reason in answer.proof.reasons)


def test_an_overload_is_a_no_for_every_seat_plan(fitted: Fitted) -> None:
    answer = fitted("pelican", "hendrick")
    assert answer.verdict is Verdict.NO
    assert answer.deciding.startswith("load.")
    assert answer.proof is not None
    assert answer.proof.reasons
