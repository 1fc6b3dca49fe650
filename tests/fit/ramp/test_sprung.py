"""Mid-wheel chairs: three contacts, springs of any strength, what grounds and what lifts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sillway.errors import BadInput
from sillway.fit.ramp import (
    Bar,
    Contact,
    Given,
    Overhead,
    SideBody,
    box,
    climb,
    climb_interval,
    pose_at,
    ramp_profile,
)
from sillway.fit.ramp.contact import HubPath
from sillway.fit.ramp.profile import Profile

G = Given
COM = (30.0, 480.0)


def mid_wheel(up: float, down: float, plate: float = 90.0) -> SideBody:
    return SideBody(
        (
            Contact("drive", G(0.0), G(170.0), drive=True),
            Contact("front", G(380.0), G(75.0), travel_up_mm=up, travel_down_mm=down),
            Contact("rear", G(-360.0), G(70.0), travel_up_mm=up, travel_down_mm=down),
            Contact("plate", G(560.0), G(10.0), G(plate), rolls=False),
        ),
        (
            box("frame", (-300.0, 350.0), (110.0, 500.0)),
            box("rider", (-120.0, 150.0), (450.0, 1330.0)),
        ),
        (COM[0], COM[0]),
        (COM[1], COM[1]),
    )


def paths(body: SideBody, profile: Profile, x: float, turns: np.ndarray) -> dict[str, np.ndarray]:
    """Height each wheel asks of the chair's reference point at each turn, from the definition."""
    r0 = body.drive.radius_mm.value
    asked = {}
    for c in body.contacts:
        if not c.rolls:
            continue
        a, b = c.x_mm.value, c.radius_mm.value - r0
        ox, oz = a * np.cos(turns) - b * np.sin(turns), a * np.sin(turns) + b * np.cos(turns)
        asked[c.name] = HubPath(profile, c.radius_mm.value).at(x + ox)[0] - oz
    return asked


def test_rigid_three_wheels_rest_where_the_energy_is_least() -> None:
    body = mid_wheel(0.0, 0.0)
    profile = ramp_profile(G(300.0), (G(1500.0),), lip_mm=G(8.0))
    turns = np.linspace(-0.35, 0.35, 28001)
    r0 = body.drive.radius_mm.value
    for x in np.linspace(-1900.0, 420.0, 30):
        asked = paths(body, profile, x, turns)
        # Lowest body allowed at each turn, and the height of its centre of mass there.
        level = np.max(list(asked.values()), axis=0)
        energy = level + COM[0] * np.sin(turns) + (COM[1] - r0) * np.cos(turns)
        best = float(turns[np.argmin(energy)])
        got = pose_at(body, profile, 1, float(x)).pitch_rad
        assert got == pytest.approx(best, abs=3e-5)


@pytest.mark.parametrize("seed", range(4))
def test_no_springs_leave_the_enclosure(seed: int) -> None:
    """Springs of random rates and preloads, the pose by least energy on a grid."""
    rng = np.random.default_rng(seed)
    up, down = rng.uniform(10, 25), rng.uniform(10, 25)
    body = mid_wheel(up, down)
    rise, lip, tol = float(rng.uniform(220, 330)), 6.0, float(seed) * 2.0
    over = Overhead((Bar("header", G(10.0), G(60.0), G(1450.0, tol)),))
    got = climb_interval(
        body, ramp_profile(G(rise, tol), (G(1500.0, tol),), lip_mm=G(lip, 0.2 * tol)), over
    )
    # The true ramp and header lie somewhere in those tolerances.
    off = rng.uniform(-tol, tol, 4)
    profile = ramp_profile(G(rise + off[0]), (G(1500.0 + off[1]),), lip_mm=G(lip + 0.2 * off[2]))
    bar_z = 1450.0 + off[3]
    assert got.proved
    r0 = body.drive.radius_mm.value
    turns = np.linspace(-0.33, 0.33, 1321)
    lift = np.linspace(0.0, 60.0, 241)[:, None]
    # Share of the weight each sprung wheel carries at its bump stop, at most: weaker together
    # than what would lift the drive wheels before a stop is reached.
    share = {"front": rng.uniform(0.1, 0.4), "rear": rng.uniform(0.1, 0.4)}
    head = math.inf
    lean = 0.0
    for x in np.linspace(profile.foot_x_mm - 500.0, 420.0, 60):
        asked = paths(body, profile, x, turns)
        tilt = np.cos(turns)
        stops = [asked["drive"], asked["front"] - up * tilt, asked["rear"] - up * tilt]
        height = np.max(stops, axis=0) + lift
        energy = height + COM[0] * np.sin(turns) + (COM[1] - r0) * np.cos(turns)
        for name, most in share.items():
            squeezed = np.clip((asked[name] - height) / tilt + down, 0.0, up + down)
            energy = energy + 0.5 * most / (up + down) * squeezed**2
        k, n = np.unravel_index(np.argmin(energy), energy.shape)
        turn, z = float(turns[n]), float(height[k, n])
        lean = max(lean, abs(turn))
        for qx, qz in ((-120.0, 1330.0 - r0), (150.0, 1330.0 - r0)):
            at = x + qx * math.cos(turn) - qz * math.sin(turn)
            if 10.0 <= at <= 60.0:
                head = min(head, bar_z - (z + qx * math.sin(turn) + qz * math.cos(turn)))
    # The grid is 0.0005 rad and 0.25 mm fine.
    assert lean <= got.pitch.upper + 1e-3
    assert head >= got.header.lower - 1.0


def test_stiffer_travel_narrows_what_springs_leave_open() -> None:
    profile = ramp_profile(G(280.0), (G(1500.0),))
    over = Overhead((Bar("header", G(10.0), G(60.0), G(1450.0)),))
    spans = []
    for travel in (0.0, 10.0, 20.0):
        m = climb(mid_wheel(travel, travel), profile, over).header
        spans.append(m.upper - m.lower)
    # Even rigid, near balance on the drive wheels the chair may rest on either side of them.
    assert spans[0] < spans[1] < spans[2]


def test_drive_wheels_hang_at_the_foot() -> None:
    profile = ramp_profile(G(300.0), (G(1500.0),))
    hang = climb(mid_wheel(0.0, 0.0), profile, Overhead()).drive_light_mm
    foot = [(a, b) for a, b in hang if b < profile.foot_x_mm / 2]
    # Front wheel on the ramp, rear wheel on the ground, foot of the ramp between them.
    assert len(foot) == 1
    assert profile.foot_x_mm - 400 < foot[0][0] < foot[0][1] < profile.foot_x_mm + 400
    # Middle of a chord of about 740 across a 11.5° corner: about 185 tan 11.5° = 37 mm, so
    # casters that give by more leave the drive wheels their load, and by less do not.
    assert climb(mid_wheel(60.0, 60.0), profile, Overhead()).drive_light_mm == ()
    assert climb(mid_wheel(5.0, 5.0), profile, Overhead()).drive_light_mm


def test_a_low_footplate_grounds_at_the_foot_and_its_depth_is_the_foot_margin() -> None:
    profile = ramp_profile(G(300.0), (G(1500.0),))
    body = SideBody(
        (
            Contact("drive", G(0.0), G(300.0), drive=True),
            Contact("caster", G(400.0), G(75.0)),
            Contact("plate", G(620.0), G(10.0), G(25.0), rolls=False),
        ),
        (),
        (120.0, 160.0),
        (500.0, 550.0),
    )
    got = climb(body, profile, Overhead())
    assert got.foot.part == "plate"
    # By hand, both wheels still on the level: the plate reaches 220 past the casters, which touch
    # the ramp at 75 tan(a/2) before its foot; there it is lowest against the ramp.
    a = math.asin(0.2)
    tip = 220.0 - 75.0 * math.tan(a / 2)
    hub = (35.0 - 10.0 / math.cos(a)) - tip * math.tan(a)
    assert hub < 0.0
    assert got.foot.upper == pytest.approx(hub, abs=0.2)


def test_an_anti_tipper_that_grounds_lifts_the_drive_wheels_not_the_margins() -> None:
    profile = ramp_profile(G(300.0), (G(1500.0),))
    body = SideBody(
        (
            Contact("drive", G(0.0), G(300.0), drive=True),
            Contact("caster", G(400.0), G(75.0)),
            Contact("anti", G(-300.0), G(20.0), G(20.0), rolls=False, anti_tip=True),
        ),
        (box("rider", (-100.0, 200.0), (450.0, 1300.0)),),
        (120.0, 160.0),
        (500.0, 550.0),
    )
    over = Overhead((Bar("bar", G(-1400.0), G(-1000.0), G(1200.0)),))
    got = climb(body, profile, over)
    assert got.proved
    assert got.foot.part == "anti"
    assert got.foot.upper < 0.0


def test_contacts_that_cannot_be_are_bad_input() -> None:
    drive = Contact("drive", G(0.0), G(150.0), drive=True)
    with pytest.raises(BadInput, match="rolling"):
        SideBody((drive,), (), (0.0, 0.0), (1.0, 1.0))
    with pytest.raises(BadInput, match="drive"):
        SideBody((Contact("a", G(0.0), G(1.0)),), (), (0.0, 0.0), (1.0, 1.0))
    with pytest.raises(BadInput, match="interval"):
        SideBody((drive, Contact("b", G(400.0), G(70.0))), (), (5.0, 1.0), (1.0, 1.0))
