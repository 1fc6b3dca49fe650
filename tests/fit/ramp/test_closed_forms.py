"""Poses, breakover, belly and header against formulas worked out by hand."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from sillway.errors import BadInput
from sillway.fit.ramp import (
    Bar,
    Contact,
    Given,
    Overhead,
    Profile,
    Segment,
    SideBody,
    SidePart,
    box,
    climb,
    climb_interval,
    ramp_profile,
)
from sillway.fit.ramp.cells import Stance
from sillway.fit.ramp.contact import HubPath
from sillway.fit.ramp.pose import Foot, rest

G = Given
NOTHING = Overhead()


def two_wheels(
    base: float, rear_r: float, front_r: float, *parts: SidePart, com: float = 100.0
) -> SideBody:
    return SideBody(
        (Contact("drive", G(0.0), G(rear_r), drive=True), Contact("front", G(base), G(front_r))),
        parts,
        (com, com),
        (500.0, 500.0),
    )


def feet(body: SideBody, profile: Profile) -> tuple[Foot, Foot]:
    stance = Stance(body, profile, 1)
    rear, front = (stance.foot(c) for c in body.contacts)
    return rear, front


def test_hub_over_an_edge_is_a_circle_and_in_a_corner_touches_both_sides() -> None:
    step = Profile((Segment("low", -9e3, 0, 9e3, 0), Segment("high", 0, 40, 9e3, 40)))
    path = HubPath(step, 100.0)
    # Over the edge at (0, 40): hub on the circle about it, until that sinks to the low floor.
    assert path.height(-50.0) == pytest.approx(40 + math.sqrt(100**2 - 50**2), abs=1e-9)
    touch = math.sqrt(100**2 - 60**2)  # hub 60 above the edge: both touched
    assert path.height(-touch) == pytest.approx(100.0, abs=1e-9)
    assert path.height(-touch - 5.0) == 100.0
    # Two slopes meeting at the bottom: the hub stands over their bisector, at r / cos a.
    a = math.atan(0.25)
    valley = Profile((Segment("l", -9e3, 9e3 / 4, 0, 0), Segment("r", 0, 0, 9e3, 9e3 / 4)))
    assert HubPath(valley, 100.0).height(0.0) == pytest.approx(100 / math.cos(a), abs=1e-9)


@pytest.mark.parametrize("ratio", [4, 6, 8, 12])
def test_two_wheels_on_a_slope_lean_as_it_does(ratio: int) -> None:
    slope = Profile((Segment("slope", -9e3, -9e3 / ratio, 9e3, 9e3 / ratio),))
    body = two_wheels(450.0, 300.0, 75.0)
    rear, front = feet(body, slope)
    turn, _ = rest(rear, front, np.array([0.0]))
    # Solved to 1e-9 mm over 450 mm.
    assert turn[0] == pytest.approx(math.atan(1 / ratio), abs=1e-11)


def test_wheels_either_side_of_a_crest_lean_by_the_chord() -> None:
    # Equal wheels: the hubs' chord has the length of the wheelbase; the rear hub on the ramp's
    # offset line, the front one r above the floor. Law: rise of the chord = base * sin p.
    rise, length, r, base = 300.0, 1500.0, 150.0, 500.0
    profile = ramp_profile(G(rise), (G(length),))
    a = math.asin(rise / length)
    rear, front = feet(two_wheels(base, r, r), profile)
    for x in (-300.0, -200.0, -120.0):
        turn, height = rest(rear, front, np.array([x]))
        hub = x * math.tan(a) + r / math.cos(a)
        assert height[0] == pytest.approx(hub, abs=1e-9)
        assert math.sin(turn[0]) == pytest.approx((r - hub) / base, abs=1e-12)


def test_breakover_of_a_chair_astride_the_crest() -> None:
    """Belly over the crest: least where the wheels stand evenly astride it.

    Equal wheels r, wheelbase L, ramp angle a, flat underside at height c. In the frame of the
    crest's bisector both planes fall away at a/2, so each hub, r from its plane and L/2 along, is
    r / cos(a/2) - (L/2) tan(a/2) above the crest; the underside is r - c below the hubs' line.
    """
    a, r, length, c = math.asin(0.25), 120.0, 700.0, 60.0
    profile = ramp_profile(G(250.0), (G(1000.0),))
    plate = box("plate", (-100.0, 800.0), (c, c + 100.0))
    got = climb(two_wheels(length, r, r, plate, com=300.0), profile, NOTHING)
    square = r / math.cos(a / 2) - length / 2 * math.tan(a / 2) - r + c
    # The climb measures upright; square to the underside it is cos(a/2) of that at even stance.
    upright = square / math.cos(a / 2)
    assert got.belly.lower <= upright + 1e-9
    assert upright - 0.3 <= got.belly.upper  # the upright gap is least close to even stance
    assert got.belly.pose is not None
    assert got.belly.pose.pitch_rad == pytest.approx(a / 2, abs=0.03)


def test_a_tilted_box_spans_l_sin_a_plus_h_cos_a() -> None:
    # Closed form G5: l = 48 in, h = 52 in, 1:6 -> 59.183635 in upright. Here the box's lower rear
    # corner rolls on the slope, so its span above that corner is what must pass below a bar.
    inch = 25.4
    ramp = Profile((Segment("ramp", -9e3, -1.5e3, 9e3, 1.5e3),))
    # Tiny wheels at the box's ends: the box stands on the slope, to within their radius.
    low, high = 0.001, 52.0 * inch
    body = two_wheels(48.0 * inch, low, low, box("box", (0.0, 48 * inch), (0.0, high)))
    turn, _ = rest(*feet(body, ramp), np.array([0.0]))
    a = float(turn[0])
    assert math.degrees(a) == pytest.approx(9.462322, abs=1e-6)
    span = 48 * inch * math.sin(a) + high * math.cos(a)
    assert span / inch == pytest.approx(59.183635, abs=1e-6)
    # The whole climb under one long bar: least gap where the highest corner (front top) is at the
    # bar's far end, x = 0: its height there is h cos a + (x + h sin a) tan a = h / cos a above
    # the slope's own height at x.
    bar = Bar("bar", G(-2000.0), G(0.0), G(3000.0))
    got = climb(body, ramp, Overhead((bar,)), until_mm=500.0)
    assert got.header.lower == pytest.approx(3000.0 - high / math.cos(a), abs=0.1)


def test_header_over_the_crest_worked_by_hand() -> None:
    # Both wheels on the ramp, a thin upright post over the drive axle: its top at height h is
    # h / cos a above the ramp straight below it. The bar ends where the post still is on it.
    rise, length, h = 300.0, 1500.0, 1300.0
    profile = ramp_profile(G(rise), (G(length),))
    a = math.asin(rise / length)
    post = SidePart("post", ((-1.0, 900.0), (0.0, 900.0), (0.0, h), (-1.0, h)), under=False)
    body = two_wheels(400.0, 100.0, 100.0, post)
    end = -700.0
    got = climb(body, profile, Overhead((Bar("bar", G(end - 30), G(end), G(1500.0)),)))
    want = 1500.0 - (end * math.tan(a) + h / math.cos(a))
    assert got.header.lower <= want <= got.header.upper + 0.1
    assert (got.header.part, got.header.against) == ("post", "bar")
    assert got.pitch.upper == pytest.approx(a, abs=2e-4)


def test_backing_in_is_the_mirrored_chair_forwards() -> None:
    profile = ramp_profile(G(280.0), (G(1400.0),), lip_mm=G(8.0), gap_mm=G(6.0))
    over = Overhead((Bar("header", G(10.0), G(60.0), G(1450.0)),))
    shape = ((-250.0, 110.0), (480.0, 110.0), (200.0, 1300.0), (-150.0, 1300.0))
    mirror = tuple((-x, z) for x, z in reversed(shape))

    def chair(side: int, polygon: tuple[tuple[float, float], ...]) -> SideBody:
        return SideBody(
            (
                Contact("drive", G(0.0), G(150.0), drive=True),
                Contact("front", G(side * 450.0), G(75.0)),
            ),
            (SidePart("body", polygon),),
            (min(side * 100.0, side * 140.0), max(side * 100.0, side * 140.0)),
            (500.0, 550.0),
        )

    one = climb(chair(1, shape), profile, over, -1)
    two = climb(chair(-1, mirror), profile, over, 1)
    for name in ("header", "belly", "foot", "pitch", "tip", "tip_ahead"):
        a, b = getattr(one, name), getattr(two, name)
        assert (a.lower, a.upper) == pytest.approx((b.lower, b.upper), abs=1e-6)


def test_a_placed_wheel_touches_the_way() -> None:
    profile = ramp_profile(G(300.0), (G(1500.0),))
    body = two_wheels(450.0, 300.0, 75.0, box("b", (-100, 500), (100, 1200)))
    for facing in (1, -1):
        pose = climb(body, profile, NOTHING, facing).belly.pose
        assert pose is not None
        for c in body.contacts:
            x, z = pose.place(c.x_mm.value, c.radius_mm.value)
            assert HubPath(profile, c.radius_mm.value).height(x) == pytest.approx(z, abs=1e-6)


def test_ramp_lengths_of_the_table() -> None:
    # Rise 12 in at 1:6: run 72 in, length 72.99315 in (geometry, computed).
    profile = ramp_profile(G(12 * 25.4), (G(72.99315 * 25.4),))
    assert profile.foot_x_mm / 25.4 == pytest.approx(-72.0, abs=1e-4)
    assert math.tan(profile.steepest_rad()) == pytest.approx(1 / 6, abs=1e-6)


def test_ground_falling_away_steepens_the_ramp_and_a_broken_one_keeps_its_spans() -> None:
    level = ramp_profile(G(300.0), (G(1500.0),)).steepest_rad()
    up = ramp_profile(G(300.0), (G(1500.0),), driveway_rad=G(0.05)).steepest_rad()
    assert up > level  # the ground falls away from the van: the foot lies lower
    bent = ramp_profile(G(300.0), (G(900.0), G(600.0)), breaks_rad=(G(0.05),))
    for s, want in zip(bent.segments[1:3], (600.0, 900.0), strict=True):
        assert math.hypot(s.x1 - s.x0, s.z1 - s.z0) == pytest.approx(want, abs=1e-9)
    foot = bent.segments[1]
    assert foot.z0 == pytest.approx(-300.0, abs=1e-9)
    assert math.atan(foot.slope) - math.atan(bent.segments[2].slope) == pytest.approx(0.05)


def test_boxes_of_the_profile_hold_every_corner_value() -> None:
    rng = np.random.default_rng(5)
    g = {
        "rise": G(300.0, 5.0),
        "length": G(1500.0, 5.0),
        "slope": G(0.01, 0.02),
        "lip": G(8.0, 2.0),
        "gap": G(6.0, 3.0),
        "step": G(0.0, 4.0),
    }

    def made(v: dict[str, Given]) -> Profile:
        return ramp_profile(
            v["rise"],
            (v["length"],),
            driveway_rad=v["slope"],
            lip_mm=v["lip"],
            gap_mm=v["gap"],
            step_mm=v["step"],
        )

    whole = made(g).segments[1]
    for _ in range(200):
        one = made({k: G(v.value + v.tol * rng.uniform(-1, 1)) for k, v in g.items()}).segments[1]
        assert abs(one.x0 - whole.x0) <= whole.tol_x0 + 1e-9
        assert abs(one.z0 - whole.z0) <= whole.tol_z0 + 1e-9
        assert abs(one.slope - whole.slope) <= whole.tol_slope + 1e-12


def test_wider_tolerances_never_narrow_a_margin() -> None:
    def at(tol: float) -> tuple[float, float]:
        profile = ramp_profile(G(300.0, tol), (G(1500.0, tol),))
        body = two_wheels(450.0, 150.0, 75.0, box("b", (-100, 500), (120, 1250)))
        over = Overhead((Bar("header", G(10.0), G(60.0), G(1400.0, tol)),))
        m = climb_interval(body, profile, over).header
        return m.lower, m.upper

    found = [at(t) for t in (0.0, 1.0, 3.0, 6.0)]
    for (a, b), (c, d) in pairwise(found):
        assert c < a
        assert b < d


@pytest.mark.parametrize(
    ("rise", "spans"), [(300.0, (250.0,)), (-50.0, (1000.0,)), (300.0, (0.0, 900.0))]
)
def test_a_ramp_that_cannot_be_is_bad_input(rise: float, spans: tuple[float, ...]) -> None:
    with pytest.raises(BadInput, match="ramp"):
        ramp_profile(G(rise), tuple(G(s) for s in spans))


def test_a_wheel_that_cannot_roll_up_a_step_proves_nothing() -> None:
    profile = ramp_profile(G(120.0))  # no ramp: a 120 mm kerb against 75 mm casters
    body = two_wheels(450.0, 150.0, 75.0, box("b", (-100, 500), (130, 1200)))
    got = climb(body, profile, NOTHING)
    assert not got.proved
    assert got.belly.lower == -math.inf
