"""Forces and tipping against the mechanics of an incline."""

from __future__ import annotations

import math

import pytest

from sillway.fit.ramp import (
    Contact,
    Given,
    Overhead,
    Profile,
    Segment,
    SideBody,
    climb,
    hold_force_n,
    loads_n,
    push_force_n,
    tip_angle_rad,
)

G = Given


@pytest.mark.parametrize(
    ("mass", "ratio", "mu", "newton"),
    [
        (100, 12, 0.015, 96.0990),
        (100, 8, 0.015, 136.2329),
        (120, 6, 0.015, 210.8762),
        (200, 6, 0.015, 351.4603),
        (90, 4, 0.015, 226.9053),
        (273, 4, 0.02, 701.2657),
    ],
)
def test_push_vectors(mass: float, ratio: float, mu: float, newton: float) -> None:
    # F = m g (sin a + mu cos a), g = 9.80665; vectors computed to 25 digits and rounded.
    assert push_force_n(mass, math.atan(1 / ratio), mu) == pytest.approx(newton, abs=5e-5)


def test_pushing_less_holding_is_twice_the_rolling_resistance() -> None:
    a = math.atan(1 / 6)
    gap = push_force_n(120, a, 0.015) - hold_force_n(120, a, 0.015)
    assert gap == pytest.approx(2 * 120 * 9.80665 * 0.015 * math.cos(a))


@pytest.mark.parametrize("ratio", [4, 6, 8, 12])
def test_a_block_tips_when_tan_a_is_b_over_h(ratio: float) -> None:
    # Handbook statics: com b ahead of the downhill edge and h above the incline tips at
    # tan a = b/h. Over wheels the touched point stays below the hub square to the slope.
    b, h = 180.0, 560.0
    a = math.atan(1 / ratio)
    slope = Profile((Segment("slope", -9e3, -9e3 / ratio, 9e3, 9e3 / ratio),))
    wheels = (Contact("drive", G(0.0), G(300.0), drive=True), Contact("front", G(450.0), G(75.0)))
    chair = SideBody(wheels, (), (b, b), (h, h))
    got = climb(chair, slope, Overhead())
    assert got.tip.lower == pytest.approx(math.atan(b / h) - a, abs=1e-4)
    assert got.tip.upper == pytest.approx(math.atan(b / h) - a, abs=1e-4)
    assert tip_angle_rad(b, h) - a == pytest.approx(got.tip.lower, abs=1e-4)
    # Backing up, the casters are downhill.
    back = climb(chair, slope, Overhead(), -1)
    assert back.tip.lower == pytest.approx(math.atan((450 - b) / h) - a, abs=1e-4)


def test_an_anti_tipper_moves_the_tipping_point_back() -> None:
    slope = Profile((Segment("slope", -9e3, -1.5e3, 9e3, 1.5e3),))
    a = math.atan(1 / 6)
    wheels = (
        Contact("drive", G(0.0), G(300.0), drive=True),
        Contact("front", G(450.0), G(75.0)),
        Contact("anti", G(-200.0), G(25.0), G(40.0), rolls=False, anti_tip=True),
    )
    chair = SideBody(wheels, (), (100.0, 140.0), (500.0, 600.0))
    got = climb(chair, slope, Overhead())
    # Worst corner of the box: furthest back and highest. About the roller's lowest point square to
    # the slope, 40 above it.
    assert got.tip.lower == pytest.approx(math.atan(100 / 600) - a, abs=5e-3)
    assert got.tip_guarded.lower == pytest.approx(math.atan(300 / 560) - a, abs=8e-3)
    assert got.tip_guarded.lower > got.tip.lower


def test_loads_by_moments() -> None:
    # 100 kg, com 200 of 500 mm ahead of the rear contact: 3/5 behind, 2/5 ahead.
    rear, front = loads_n(100.0, 200.0, 0.0, 500.0)
    assert rear == pytest.approx(0.6 * 980.665)
    assert front == pytest.approx(0.4 * 980.665)
    assert loads_n(100.0, -50.0, 0.0, 500.0)[1] < 0.0
