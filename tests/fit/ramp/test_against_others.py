"""Exact poses and margins against independent ways of finding them, on random chairs and ramps.

Outside sources: SciPy's SLSQP optimiser (potential energy of a rigid body that must not enter the
way) for poses; plain dense sampling for margins, written here from the definitions.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import minimize

from sillway.fit.ramp import (
    Bar,
    Climb,
    Contact,
    Given,
    Margin,
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
from sillway.fit.ramp.pose import Foot, rest

SEEDS = range(12)


def feet(body: SideBody, profile: Profile, facing: int) -> tuple[Foot, Foot]:
    """The two rolling feet, rear one first."""
    stance = Stance(body, profile, facing)
    found = sorted((stance.foot(c) for c in body.contacts if c.rolls), key=lambda f: f.u)
    return found[0], found[1]


def draw(rng: np.random.Generator, tol: float = 0.0) -> tuple[dict[str, Given], dict[str, Given]]:
    """Values of a way and of a chair, each with up to ``tol`` times a tape's tolerance."""

    def given(lo: float, hi: float, most: float = 3.0) -> Given:
        return Given(float(rng.uniform(lo, hi)), float(rng.uniform(0.2, 1.0)) * most * tol)

    way = {
        "rise": given(200, 350),
        "span1": given(900, 1100),
        "span2": given(300, 700),
        "break": given(-0.06, 0.06, 0.002),
        "driveway": given(-0.04, 0.04, 0.003),
        "lip": given(4, 16, 0.8),
        "gap": given(6, 15, 1),
        "step": given(-8, 8, 1),
        "header": given(1380, 1600),
        "header x": given(10, 60),
        "ceiling": given(1400, 1600),
    }
    chair = {
        "drive r": given(150, 310, 1),
        "base": given(380, 560, 6),
        "caster r": given(60, 100, 1),
        "caster z": given(0, 0, 1),
        "rear base": given(330, 400, 6),
        "anti x": given(-300, -220, 6),
        "anti z": given(30, 70),
        "plate x": given(600, 700, 6),
        "plate z": given(60, 110),
        "seat": given(90, 150),
        "head": given(1200, 1360),
        "head x": given(-110, -70, 6),
    }
    return way, chair


def build(
    way: dict[str, Given], chair: dict[str, Given], travel: float | None = None
) -> tuple[SideBody, Profile, Overhead]:
    """The chair and way of these values; with ``travel`` a mid-wheel chair with sprung casters."""
    profile = ramp_profile(
        way["rise"],
        (way["span1"], way["span2"]),
        breaks_rad=(way["break"],),
        driveway_rad=way["driveway"],
        lip_mm=way["lip"],
        gap_mm=way["gap"],
        step_mm=way["step"],
    )
    over = Overhead(
        (
            Bar("header", way["header x"], Given(100.0), way["header"]),
            Bar("ceiling", Given(100.0), Given(3000.0), way["ceiling"]),
        )
    )
    sprung = {"travel_up_mm": travel or 0.0, "travel_down_mm": travel or 0.0}
    contacts = [
        Contact("drive", Given(0.0), chair["drive r"], drive=True),
        Contact("caster", chair["base"], chair["caster r"], chair["caster z"], **sprung),
        Contact("plate", chair["plate x"], Given(8.0), chair["plate z"], rolls=False),
    ]
    if travel is None:
        anti = chair["anti x"], Given(20.0), chair["anti z"]
        contacts.append(Contact("anti", *anti, rolls=False, anti_tip=True))
    else:
        behind = Given(-chair["rear base"].value, chair["rear base"].tol)
        contacts.append(Contact("rear", behind, chair["caster r"], chair["caster z"], **sprung))
    seat, head, x = chair["seat"], chair["head"], chair["head x"]
    parts = (
        box("frame", (-280.0, 520.0), (seat.value, 500.0), tol_z_mm=seat.tol),
        box("torso", (-200.0, 240.0), (450.0, 1100.0)),
        SidePart(
            "head",
            tuple(
                (x.value + a, head.value - b) for a, b in ((0, 300), (220, 300), (220, 0), (0, 0))
            ),
            x.tol,
            head.tol,
            under=False,
        ),
    )
    return SideBody(tuple(contacts), parts, (130.0, 170.0), (500.0, 560.0)), profile, over


def outline(profile: Profile, radius: float, x: float) -> float:
    """Hub height by dense sampling of the way near x; its corners are sampled too."""
    u = np.concatenate(
        (np.linspace(x - radius, x + radius, 4001), [s.x0 for s in profile.segments])
    )
    best = -math.inf
    for s in profile.segments:
        at = np.clip(u, s.x0, s.x1)
        off = radius**2 - (at - x) ** 2
        z = s.z0 + (s.z1 - s.z0) / (s.x1 - s.x0) * (at - s.x0)
        ok = off >= 0.0
        if np.any(ok):
            best = max(best, float(np.max(z[ok] + np.sqrt(off[ok]))))
    return best


@pytest.mark.parametrize("seed", SEEDS)
def test_pose_is_what_an_optimiser_of_energy_finds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    body, profile, _ = build(*draw(rng))
    rear, front = feet(body, profile, 1)
    origin_z = body.drive.radius_mm.value
    # SciPy moves (height, turn) of the body to lower its centre of mass, both hubs kept on or
    # above the sampled outline.
    for x in rng.uniform(profile.foot_x_mm - 300, 100, 4):
        turn, height = rest(rear, front, np.array([x]))

        def energy(v: np.ndarray) -> float:
            return float(v[0] * 100 + 150 * math.sin(v[1]) + (530 - origin_z) * math.cos(v[1]))

        def free(v: np.ndarray, x: float = float(x)) -> np.ndarray:
            found = []
            for foot in (rear, front):
                ox = foot.u * math.cos(v[1]) - foot.v * math.sin(v[1])
                oz = foot.u * math.sin(v[1]) + foot.v * math.cos(v[1])
                found.append(v[0] * 100 + oz - outline(profile, foot.path.r, x + ox))
            return np.array(found)

        start = np.array([height[0] / 100 + 0.3, turn[0] + 0.03])
        got = minimize(
            energy,
            start,
            method="SLSQP",
            constraints={"type": "ineq", "fun": free},
            bounds=[(None, None), (turn[0] - 0.2, turn[0] + 0.2)],
            options={"ftol": 1e-9, "maxiter": 200},
        )
        # Sampling every radius/2000 misses the outline by micrometres; SLSQP ends within 0.05 mm.
        assert np.min(free(got.x)) > -0.02
        assert energy(got.x) == pytest.approx(
            energy(np.array([height[0] / 100, turn[0]])), abs=0.05
        )
        if got.success:
            assert got.x[1] == pytest.approx(turn[0], abs=1e-3)


def brute(body: SideBody, profile: Profile, over: Overhead, facing: int) -> dict[str, float]:
    """Smallest gaps and largest lean of a rigid two-wheel chair, sampled every 4 mm."""
    stance = Stance(body, profile, facing)
    rear, front = feet(body, profile, facing)
    grounds = [stance.foot(c) for c in body.contacts if not c.rolls]
    x = np.arange(profile.foot_x_mm - 900.0, 900.0, 4.0)
    turn, height = rest(rear, front, x)
    found = {"header": math.inf, "belly": math.inf, "foot": math.inf}
    wheels = sorted(c.x_mm.value for c in body.contacts if c.rolls)
    tops = {b.name: b for b in over.bars}
    for p, h, at in zip(turn, height, x, strict=True):
        c, s = math.cos(p), math.sin(p)
        for part in body.parts:
            ring = np.array([*part.polygon, part.polygon[0]])
            t = np.linspace(0.0, 1.0, 60)[:, None]
            pts = np.concatenate([a + t * (b - a) for a, b in pairwise(ring)])
            qx, qz = facing * pts[:, 0], pts[:, 1] - stance.origin_z
            wx, wz = at + qx * c - qz * s, h + qx * s + qz * c
            for bar in tops.values():
                under = (wx >= bar.x0_mm.value) & (wx <= bar.x1_mm.value)
                if np.any(under):
                    found["header"] = min(
                        found["header"], float(np.min(bar.z_mm.value - wz[under]))
                    )
            way = np.max(
                [
                    np.where((wx >= g.x0) & (wx <= g.x1), g.z0 + g.slope * (wx - g.x0), -np.inf)
                    for g in profile.segments
                ],
                axis=0,
            )
            inside = (pts[:, 0] >= wheels[0]) & (pts[:, 0] <= wheels[1])
            found["belly"] = min(found["belly"], float(np.min((wz - way)[inside], initial=9e9)))
            found["foot"] = min(found["foot"], float(np.min((wz - way)[~inside], initial=9e9)))
        for foot in grounds:
            ox, oz = foot.u * c - foot.v * s, foot.u * s + foot.v * c
            found["foot"] = min(found["foot"], h + oz - foot.path.height(at + ox))
    found["pitch"] = float(np.max(np.abs(turn)))
    return found


@pytest.mark.parametrize("facing", [1, -1])
@pytest.mark.parametrize("seed", SEEDS[:4])
def test_margins_are_those_of_dense_sampling(seed: int, facing: int) -> None:
    body, profile, over = build(*draw(np.random.default_rng(100 + seed)))
    got = climb(body, profile, over, facing)
    want = brute(body, profile, over, facing)
    assert got.proved
    for name in ("header", "belly", "foot"):
        margin = getattr(got, name)
        assert margin.upper - margin.lower < 0.3
        # Samples 4 mm apart on the way and 1/60 of an edge apart can only miss the minimum.
        assert margin.lower <= want[name] + 1e-6
        assert want[name] <= margin.upper + 3.0
    assert got.pitch.lower - 2e-3 <= want["pitch"] <= got.pitch.upper + 1e-9


def picked(rng: np.random.Generator, values: dict[str, Given], corner: bool) -> dict[str, Given]:
    """Each value somewhere in its tolerance, or at one of its ends."""
    return {
        name: Given(g.value + g.tol * float(rng.choice([-1, 1]) if corner else rng.uniform(-1, 1)))
        for name, g in values.items()
    }


def told(climbed: Climb) -> dict[str, Margin]:
    """All margins; belly and foot as one, since where they part moves with the wheels."""
    out = {n: getattr(climbed, n) for n in ("header", "pitch", "tip", "tip_guarded", "tip_ahead")}
    both = climbed.belly, climbed.foot
    out["ground"] = Margin(min(m.lower for m in both), min(m.upper for m in both))
    return out


@pytest.mark.parametrize("facing", [1, -1])
@pytest.mark.parametrize("travel", [None, 0.0, 15.0])
@pytest.mark.parametrize(("seed", "tol"), [(0, 1.0), (2, 4.3), (4, 0.2)])
def test_no_values_inside_their_tolerances_leave_the_enclosure(
    seed: int, tol: float, travel: float | None, facing: int
) -> None:
    # 4.3 times a tape's 3 mm and 6 mm are the 13 and 26 mm of what was only reported.
    rng = np.random.default_rng(1000 + seed)
    way, chair = draw(rng, tol=tol)
    whole = climb_interval(*build(way, chair, travel), facing)
    assert whole.proved
    for k in range(3):
        one = climb(*build(picked(rng, way, k > 0), picked(rng, chair, k > 0), travel), facing)
        for name, b in told(whole).items():
            a = told(one)[name]
            assert b.lower <= a.upper + 1e-6, name
            assert a.lower <= b.upper + 1e-6, name
            # With springs an end that is itself wide says less: the whole must be wider still.
            assert b.lower <= a.lower + 0.3, name


@pytest.mark.parametrize("facing", [1, -1])
def test_each_value_alone_at_its_ends_stays_in_the_enclosure(facing: int) -> None:
    way, chair = draw(np.random.default_rng(7 + facing), tol=4.3)
    # High enough that the footplate decides, whose gap hangs on the place of the casters.
    chair |= {"anti z": Given(200.0, 13.0), "seat": Given(250.0, 13.0)}
    for name, g in {**way, **chair}.items():

        def at(value: Given, name: str = name) -> tuple[dict[str, Given], dict[str, Given]]:
            first, second = (
                {n: value if n == name else v.exact() for n, v in values.items()}
                for values in (way, chair)
            )
            return first, second

        whole = told(climb_interval(*build(*at(g)), facing))
        for end in g.ends():
            one = told(climb(*build(*at(Given(end))), facing))
            for margin, b in whole.items():
                assert b.lower <= one[margin].upper + 1e-6, (name, margin)
                assert one[margin].lower <= b.upper + 1e-6, (name, margin)


@pytest.mark.parametrize("seed", range(3))
def test_on_one_slope_its_errors_lift_chair_and_way_alike(seed: int) -> None:
    rng = np.random.default_rng(seed)
    _, chair = draw(rng, tol=2.0)
    rise, most = float(rng.uniform(0.05, 0.2)) * 9e3, 60.0

    def slope(a: float, b: float, tol: float = 0.0) -> Profile:
        tols = (0.0, tol, 0.0, tol, 2.0 * tol / 18e3)
        return Profile((Segment("slope", -9e3, a - rise, 9e3, rise + b, *tols),))

    way, _ = draw(np.random.default_rng(0))
    body, _, over = build(way, chair)
    whole = told(climb_interval(body, slope(0.0, 0.0, most), over, 1, 300.0))
    # By hand: both wheels and all parts on one plane, so heights over it are those on the level.
    low = min(chair[n].value - chair[n].tol for n in ("anti z", "plate z", "seat"))
    assert low / math.cos(math.atan(rise / 9e3)) >= whole["ground"].lower
    for k in range(6):
        ends = rng.choice([-most, most], 2) if k % 2 else rng.uniform(-most, most, 2)
        one = build(way, picked(rng, chair, True))[0]
        got = told(climb(one, slope(*map(float, ends)), over, 1, 300.0))
        for name in ("pitch", "ground", "tip", "tip_guarded", "tip_ahead"):
            assert whole[name].lower <= got[name].upper + 1e-6, name
            assert got[name].lower <= whole[name].upper + 1e-6, name
    # The worst corner of clearances alone is at most this far from what is proved. [mm]
    assert whole["ground"].lower > low - 6.0
