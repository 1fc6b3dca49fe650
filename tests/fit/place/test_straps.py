"""Straps: angles against published windows, reach, count, ratings."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sillway.fit.check import Check, CheckClass, Finding
from sillway.fit.known import Basis
from sillway.fit.place import place_checks
from sillway.fit.place.points import rise_deg
from sillway.fit.place.rated import pull_n

POSE = (1000.0, 0.0, 0.0)  # the wall is at x = 500


def one(check_id: str, van: Any, rider: Any, basis: Basis, pose: Any = POSE) -> Check:
    found = place_checks(van, van.places[0], rider, pose, basis)
    return next(c for c in found if c.id == check_id)


@pytest.mark.parametrize(
    ("height", "away", "angle"),
    [(300, 300, 45.0), (300, 400, 36.8699), (250, 144.3376, 60.0), (200, 346.4102, 30.0),
     (280, 420, 33.6901)],
)  # fmt: skip
def test_rise_against_computed_vectors(height: float, away: float, angle: float) -> None:
    """Vectors by an outside table of arctangents, to four places."""
    assert rise_deg(height, 0.0, away) == pytest.approx(angle, abs=5e-5)


@pytest.mark.parametrize(
    ("end", "angle", "finding"),
    [("rear", 29, "FAILS"), ("rear", 30, "HOLDS"), ("rear", 31, "HOLDS"), ("rear", 44, "HOLDS"),
     ("rear", 45, "HOLDS"), ("rear", 46, "FAILS"), ("front", 29, "FAILS"), ("front", 30, "HOLDS"),
     ("front", 31, "HOLDS"), ("front", 59, "HOLDS"), ("front", 60, "HOLDS"),
     ("front", 61, "FAILS")],
)  # fmt: skip
def test_windows_of_rise(
    end: str, angle: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """RESNA WC19, answers to common questions: rear 30 to 45 deg, front 30 to 60 deg."""
    away = 300 / math.tan(math.radians(angle))
    # rear points at x = 600, front points at x = 1400, all 300 above the floor
    x = 600 - away if end == "rear" else 1400 + away
    number = 0 if end == "rear" else 2
    changes = {f"securement/strap_anchors/{number + i}/x": m.mm(round(x, 9)) for i in (0, 1)}
    for side in ("left", "right"):
        check = one(f"place.strap.{end}.{side}.angle", van(changes), rider(), basis)
        assert check.finding is Finding[finding]
        assert check.check_class is CheckClass.PRACTICE
        assert check.who


def test_a_tolerance_across_the_end_of_the_window_is_close(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    tape = {"value": "300 mm", "way": "tape"}
    changes = {"securement/strap_anchors/0/x": tape}
    check = one("place.strap.rear.left.angle", van(changes), rider(), basis)
    assert check.finding is Finding.CLOSE
    assert check.settle[0].measure == "securement.strap_anchors[RL].x"


def test_an_interval_over_the_whole_window_is_close_not_a_no(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """Both ends outside the window on either side, the middle inside."""
    wide = {"low": "-50 mm", "high": "500 mm"}
    check = one(
        "place.strap.rear.left.angle",
        van({"securement/strap_anchors/0/x": wide}), rider(), basis,
    )  # fmt: skip
    assert check.finding is Finding.CLOSE


def test_front_better_window_is_a_yardstick(van: Any, rider: Any, m: Any, basis: Basis) -> None:
    """RESNA WC18 recommends 40 to 60 deg for the front."""
    away = 300 / math.tan(math.radians(35))
    changes = {"securement/strap_anchors/2/x": m.mm(1400 + away)}
    good = one("place.strap.front.left.angle", van(changes), rider(), basis)
    better = one("place.strap.front.left.better", van(changes), rider(), basis)
    assert (good.finding, better.finding) == (Finding.HOLDS, Finding.FAILS)
    assert better.check_class is CheckClass.YARDSTICK


@pytest.mark.parametrize(
    ("end", "across", "finding"),
    [("front", 249, "FAILS"), ("front", 250, "HOLDS"), ("front", 251, "HOLDS"),
     ("rear", 150, "HOLDS"), ("rear", 200, "HOLDS"), ("rear", 300, "HOLDS"),
     ("rear", 310, "FAILS"), ("rear", 90, "FAILS")],
)  # fmt: skip
def test_spread_seen_from_above(
    end: str, across: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """Front anchors at or outside the points (apart 500); rear within 15 deg of straight, which
    over a run of 400 is 107 mm to either side of the points (apart 400)."""
    number = 0 if end == "rear" else 2
    changes = {f"securement/strap_anchors/{number}/y": m.mm(across)}
    check = one(f"place.strap.{end}.left.spread", van(changes), rider(), basis)
    assert check.finding is Finding[finding]


def test_an_anchor_on_the_wrong_side_of_the_point_does_not_reach(
    van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    changes = {"securement/strap_anchors/0/x": m.mm(650)}
    check = one("place.strap.rear.left.reach", van(changes), rider(), basis)
    assert check.finding is Finding.FAILS
    assert check.margin is not None
    assert check.margin.worst <= -50


@pytest.mark.parametrize(("at_hand", "finding"), [(3, "FAILS"), (4, "HOLDS")])
def test_count_of_anchors(at_hand: int, finding: str, van: Any, rider: Any, basis: Basis) -> None:
    """49 CFR 571.222 S5.4.1: four."""
    changes = {"places/0/front_anchors": ["FL", "FR"][: at_hand - 2]}
    assert one("place.strap.count", van(changes), rider(), basis).finding is Finding[finding]


def test_a_chair_tested_with_six_straps_asks_for_six(van: Any, rider: Any, basis: Basis) -> None:
    six = rider({"chair/securement/straps_in_its_test": 6})
    assert one("place.strap.count", van(), six, basis).finding is Finding.FAILS


@pytest.mark.parametrize(("mass", "finding"), [(124, "HOLDS"), (125, "HOLDS"), (126, "FAILS")])
def test_a_heavy_chair_needs_its_own_test(
    mass: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """RESNA WC19: above 275 lb (125 kg) four straps may be too few."""
    heavy = rider({"chair/mass": m.kg(mass), "chair/securement/straps_in_its_test": None})
    assert one("place.strap.own_test", van(), heavy, basis).finding is Finding[finding]


def test_pull_of_the_test_chair_is_near_the_published_figures() -> None:
    """The 85 kg test chair at 20 g with straps at 40 deg: between what 49 CFR 38.23(d)(1) asks of
    each leg (11,121 N) less a tenth, and 49 CFR 571.222 S5.4.1.3 of each anchor (13,344 N)."""
    pull = pull_n(85.0, 0.0, 0.0, 20 * 9.80665, 2, 40.0, 0.0)
    assert 0.9 * 11_121 < pull < 13_344


def test_lower_end_of_the_pull_is_the_public_figure_for_one_chair(basis: Basis) -> None:
    """49 CFR 38.23(d)(1): 5,000 lbf for a chair and rider of 600 lb; level straps, two of them."""
    from sillway import rules

    low, _ = rules.interval("place.strap.pulse", basis.on)
    pull = 2 * pull_n(600 * 0.45359237, 0.0, 0.0, low, 2, 0.0, 0.0)
    assert pull == pytest.approx(22_241.1, abs=0.1)


@pytest.mark.parametrize(("more", "finding"), [(-1, "CLOSE"), (0, "HOLDS"), (1, "HOLDS")])
def test_rear_anchor_rating_to_hold(
    more: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """At the run of 400 and height of 300 the rise is atan(3/4): its cosine is 0.8."""
    needed = 100 * 20 * 9.80665 / (2 * 0.8)
    rating = m.exact(round(needed + more, 6), "N")
    changes = {f"securement/strap_anchors/{i}/rating": rating for i in (0, 1)}
    check = one("place.strap.rating", van(changes), rider(), basis)
    assert check.finding is Finding[finding]
    assert check.check_class is CheckClass.RATING


@pytest.mark.parametrize(("more", "finding"), [(-1, "FAILS"), (1, "CLOSE")])
def test_rear_anchor_rating_to_fail(
    more: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    needed = 100 * (5000 / 600) * 9.80665 / (2 * 0.8)
    rating = m.exact(round(needed + more, 6), "N")
    changes = {"securement/strap_anchors/0/rating": rating}
    assert one("place.strap.rating", van(changes), rider(), basis).finding is Finding[finding]


def test_an_unread_anchor_never_earns_a_yes_nor_a_no(van: Any, rider: Any, basis: Basis) -> None:
    unread = van({f"securement/strap_anchors/{i}/rating": None for i in range(4)})
    check = one("place.strap.rating", unread, rider(), basis)
    assert check.finding is Finding.CLOSE
    assert any("rating" in s.measure for s in check.settle)
    assert [k.name for k in check.assumed]


@pytest.mark.parametrize(("rated", "finding"), [(99, "FAILS"), (100, "HOLDS"), (101, "HOLDS")])
def test_set_rating(rated: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis) -> None:
    changes = {"securement/sets/0/rated_chair_mass": m.kg(rated)}
    assert one("place.strap.set", van(changes), rider(), basis).finding is Finding[finding]


def test_an_unread_set_is_close(van: Any, rider: Any, basis: Basis) -> None:
    changes = {"securement/sets/0/rated_chair_mass": None}
    assert one("place.strap.set", van(changes), rider(), basis).finding is Finding.CLOSE


def test_no_set_on_hand_is_a_condition(van: Any, rider: Any, basis: Basis) -> None:
    check = one("place.strap.set", van({"securement/sets": []}), rider(), basis)
    assert (check.finding, check.check_class) == (Finding.NOT_ASSESSED, CheckClass.PRACTICE)


@pytest.mark.parametrize(("height", "finding"), [(99, "FAILS"), (100, "HOLDS"), (101, "HOLDS")])
def test_lowest_point(
    height: float, finding: str, van: Any, rider: Any, m: Any, basis: Basis
) -> None:
    """RESNA WC19: about 4 in, 100 mm."""
    low = rider({"chair/securement/rear_points/height": m.mm(height)})
    assert one("place.strap.rear.point", van(), low, basis).finding is Finding[finding]


@pytest.mark.parametrize(
    ("tested", "finding"), [(True, "HOLDS"), (False, "FAILS"), (None, "NOT_ASSESSED")]
)
def test_built_and_tested_as_a_seat(
    tested: bool | None, finding: str, van: Any, rider: Any, basis: Basis
) -> None:
    told = rider({"chair/securement/built_and_tested_as_vehicle_seat": tested,
                  "chair/securement/straps_in_its_test": None})  # fmt: skip
    check = one("place.chair_tested", van(), told, basis)
    assert check.finding is Finding[finding]
    assert "chair maker" in check.who
