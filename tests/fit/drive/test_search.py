"""Drives are found where they must be, each one re-checked by the checker on shapely.

Right-angle corridors: section G2 of the closed forms (widest rectangle L × w round a corner of two
corridors of width c: w = c sqrt 2 - L / 2 for c < L <= 2 sqrt 2 c). A drive needs more than a
slide, so the corridors here leave slack over that width.
"""

from __future__ import annotations

import math

import pytest

from sillway.fit.drive.certificate import Certificate
from sillway.fit.drive.packed import pack
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Budget, Car, Drive, PoseBox, Prism, Scene, Spot
from sillway.fit.drive.search import find, quick, widest
from sillway.fit.drive.subdivide import Open, explore

LENGTH, WIDTH = 1150.0, 640.0


def box(x0: float, y0: float, x1: float, y1: float, name: str = "") -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0, 1000.0), name)


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


def chair(back: float) -> tuple[Prism, ...]:
    """Its drive axle stands ``back`` before its rear end."""
    return (box(-back, -WIDTH / 2, LENGTH - back, WIDTH / 2, "chair"),)


def corner(slack: float, back: float, long: float = 2600.0, drive: Drive | None = None) -> Scene:
    """Down the left corridor, then along the lower one; each ``slack`` wider than a slide needs."""
    c = (WIDTH + LENGTH / 2) / math.sqrt(2) + slack
    return Scene(
        obstacles=(box(c, c, long, long, "inner corner"),),
        body=chair(back),
        start=at(c / 2, long - LENGTH + back - 30, -math.pi / 2),
        goal=at(long - LENGTH + back - 60, c / 2, 0.0),
        bounds=((0.0, 0.0), (long, long)),
        drive=drive or Spot(),
    )


def side_entry(slack: float, back: float, door: float = 850.0, depth: float = 1250.0) -> Scene:
    """In by a side door, a quarter turn between bench and seat; the place is anywhere between."""
    behind, ahead = 600.0, 600.0 + LENGTH + 150.0 + 2 * slack
    x0 = (behind + ahead) / 2 - door / 2
    return Scene(
        obstacles=(
            box(-200.0, -80.0, x0, 0.0, "side wall behind the door"),
            box(x0 + door, -80.0, 3400.0, 0.0, "side wall before the door"),
            box(-200.0, 0.0, behind, depth + 10, "bench"),
            box(ahead, 0.0, 3400.0, depth + 10, "seat"),
        ),
        body=chair(back),
        start=at(x0 + door / 2, -1330.0 + back, math.pi / 2),
        goal=PoseBox(
            (behind + back + 10, ahead - LENGTH + back - 10),
            (WIDTH / 2 + 20, depth - WIDTH / 2 - 20),
            (-0.05, 0.05),
        ),
        bounds=((-200.0, -2080.0), (3400.0, depth)),
    )


def drive(scene: Scene) -> Certificate | None:
    packed = pack(scene)
    found = quick(scene, packed)
    if found:
        return found
    told = explore(scene, Budget())
    return find(scene, packed, told.centre if isinstance(told, Open) else None)


def sound(found: Certificate | None, scene: Scene) -> Certificate:
    """The certificate holds, begins in the start box and ends in the goal box."""
    assert found is not None
    radius = scene.drive.min_turn_radius_mm if isinstance(scene.drive, Car) else None
    assert recheck_path(found.to_json(), min_turn_radius_mm=radius) == []
    for pose, region in ((found.path[0], scene.start), (found.path[-1], scene.goal)):
        whole = 2 * math.pi * round((pose[2] - sum(region.theta) / 2) / (2 * math.pi))
        for value, (low, high) in zip(
            (pose[0], pose[1], pose[2] - whole), (region.x, region.y, region.theta), strict=True
        ):
            assert low - 1e-6 <= value <= high + 1e-6
    return found


@pytest.mark.parametrize(
    ("slack", "back"), [(100, 400), (60, 400), (60, 575), (30, 575), (15, 575)]
)
def test_round_a_right_angle_corner(slack: float, back: float) -> None:
    scene = corner(slack, back)
    found = sound(drive(scene), scene)
    assert found.turning_rad >= math.pi / 2 - 1e-6
    # What is claimed cannot exceed what even a slide can keep: the corridor is c = c_min + slack,
    # and a body grown by d on all sides needs w + 2 d <= c sqrt 2 - (L + 2 d) / 2.
    assert found.claimed_clearance_mm <= slack * math.sqrt(2) / 3 + 1e-6


def test_a_corner_too_narrow_for_a_slide_is_never_driven() -> None:
    scene = corner(-3, 575)
    assert drive(scene) is None


@pytest.mark.parametrize(("slack", "back"), [(50, 250), (30, 250), (20, 400), (15, 575)])
def test_side_entry_with_a_quarter_turn(slack: float, back: float) -> None:
    scene = side_entry(slack, back)
    sound(drive(scene), scene)


def test_a_straight_way_is_straight() -> None:
    scene = Scene((), chair(250), at(0, 0, 0), at(900, 0, 0), ((-400, -400), (2000, 400)))
    found = sound(quick(scene, pack(scene)), scene)
    assert found.path == ((0.0, 0.0, 0.0), (900.0, 0.0, 0.0))
    assert found.claimed_clearance_mm == pytest.approx(80, abs=1e-3)


def test_the_goal_heading_counts_though_the_outline_is_symmetric() -> None:
    """Facing the other way takes half a turn, and here there is no room for one."""
    narrow = Scene((), chair(575), at(0, 0, 0), at(900, 0, math.pi), ((-600, -400), (1600, 400)))
    assert drive(narrow) is None


def test_a_mirrored_scene_is_driven_as_well() -> None:
    def mirrored(scene: Scene) -> Scene:
        def flip(p: Prism) -> Prism:
            return Prism(tuple((x, -y) for x, y in reversed(p.polygon)), p.z, p.name)

        def turned(b: PoseBox) -> PoseBox:
            return PoseBox(b.x, (-b.y[1], -b.y[0]), (-b.theta[1], -b.theta[0]))

        (x0, y0), (x1, y1) = scene.bounds
        return Scene(
            tuple(flip(p) for p in scene.obstacles),
            tuple(flip(p) for p in scene.body),
            turned(scene.start),
            turned(scene.goal),
            ((x0, -y1), (x1, -y0)),
            scene.drive,
        )

    for scene in (corner(60, 400), side_entry(50, 400)):
        one, other = drive(scene), drive(mirrored(scene))
        assert sound(one, scene).reversals == sound(other, mirrored(scene)).reversals


@pytest.mark.parametrize("slack", [50, 20])
def test_the_widest_variant_is_no_narrower(slack: float) -> None:
    scene = side_entry(slack, 400)
    packed = pack(scene)
    plain = sound(quick(scene, packed), scene)
    told = explore(scene, Budget())
    wide = sound(
        widest(scene, packed, told.centre if isinstance(told, Open) else None, plain), scene
    )
    assert wide.claimed_clearance_mm >= plain.claimed_clearance_mm


class TestCar:
    """A scooter: arcs of at least its radius, no turn on the spot."""

    def test_a_quarter_turn_in_the_open(self) -> None:
        scene = Scene(
            (),
            chair(250),
            at(0, 0, 0),
            PoseBox((1500, 2500), (1200, 2500), (math.pi / 2 - 0.05, math.pi / 2 + 0.05)),
            ((-600, -1500), (4000, 4000)),
            Car(1100),
        )
        found = sound(quick(scene, pack(scene)), scene)
        assert found.arcs

    def test_a_corner_wide_enough(self) -> None:
        scene = corner(420, 250, long=3400, drive=Car(900))
        sound(drive(scene), scene)

    def test_no_turn_in_a_passage_that_a_chair_turns_in(self) -> None:
        """The passage is wider than the chair's turning circle but ends at both ends."""
        room = ((-900.0, -900.0), (900.0, 900.0))
        turned = at(0, 0, math.pi / 2)
        spot = Scene((), chair(575), at(0, 0, 0), turned, room)
        sound(quick(spot, pack(spot)), spot)
        car = Scene((), chair(575), at(0, 0, 0), turned, room, Car(5000))
        assert quick(car, pack(car)) is None
