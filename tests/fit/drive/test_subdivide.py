"""Verdicts against closed forms on both sides, and properties every verdict has to have."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from closed_forms import (
    MM_PER_IN,
    VECTORS,
    at,
    box,
    chair_box,
    corner,
    least_corridor,
    longest_rod,
    round_room,
    solid,
    strip,
    tee,
    widest_box,
)
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sillway.errors import BadInput
from sillway.fit.drive.kernel import pose_clearance
from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import Open, Shut, Undecided, explore, widest

BUDGET = Budget(max_boxes=300_000, finest_mm=0.05)
SMALL = Budget(max_boxes=30_000)


def mm(row: dict[str, float], *names: str) -> list[float]:
    """The row's lengths in mm, at the size of a cabin (unit corridors count as metres)."""
    longest = max(row.values())
    unit = 1000.0 if longest < 5 else MM_PER_IN if longest < 200 else 1.0
    return [row[name] * unit for name in names]


@pytest.mark.parametrize("row", VECTORS["box"])
def test_the_vectors_are_the_closed_form(row):
    assert widest_box(row["length"], row["a"], row["b"]) == pytest.approx(row["width"], rel=1e-12)


@pytest.mark.parametrize("row", VECTORS["box"])
def test_a_box_round_a_corner_within_a_millimetre_on_both_sides(row):
    """Closed form of the widest rectangle for its length round a right angle (closed_forms.py)."""
    length, a, b, width = mm(row, "length", "a", "b", "width")
    assert isinstance(explore(corner(length, width + 1, a, b), BUDGET), Shut)
    assert isinstance(explore(corner(length, width - 1, a, b), BUDGET), Open)


def test_just_longer_than_the_corridor_is_wide():
    # Below this length the box could slide round sideways; above, the closed form holds.
    width = widest_box(1002, 1000, 1000)
    assert isinstance(explore(corner(1002, width + 1, 1000, 1000), BUDGET), Shut)
    assert isinstance(explore(corner(1002, width - 1, 1000, 1000), BUDGET), Open)


def test_a_short_box_slides_round_sideways():
    # L <= a and w <= b: no turn needed to pass; it turns where it wants to end.
    start = at(500, 2500, 0.0)
    scene = corner(900, 950, 1000, 1000)
    goal = at(2500, 500, 0.0)
    assert isinstance(
        explore(Scene(scene.obstacles, scene.body, start, goal, scene.bounds), BUDGET), Open
    )


@pytest.mark.parametrize("row", VECTORS["rod"])
def test_a_rod_round_a_corner(row):
    """Classical: the longest level ladder round a corner."""
    assert longest_rod(row["a"], row["b"]) == pytest.approx(row["length"], rel=1e-12)
    unit = 2500 / row["length"]
    a, b, length = row["a"] * unit, row["b"] * unit, row["length"] * unit
    assert isinstance(explore(corner(length + 1, 0.5, a, b), BUDGET), Shut)
    assert isinstance(explore(corner(length - 6, 0.5, a, b), BUDGET), Open)


@pytest.mark.parametrize("row", VECTORS["least"])
def test_the_least_corridor_for_a_right_angle(row):
    width, length, corridor = mm(row, "width", "length", "corridor")
    assert least_corridor(length, width) == pytest.approx(corridor, rel=1e-12)
    assert isinstance(explore(corner(length, width, corridor - 1, corridor - 1), BUDGET), Shut)
    assert isinstance(explore(corner(length, width, corridor + 1, corridor + 1), BUDGET), Open)


def test_end_for_end_in_a_straight_passage():
    """A rectangle needs its diagonal: at angle t it spans a sin t + b cos t."""
    diagonal = math.hypot(1219.2, 762)
    assert isinstance(explore(strip(1219.2, 762, diagonal - 1), BUDGET), Shut)
    assert isinstance(explore(strip(1219.2, 762, diagonal + 1), BUDGET), Open)


def test_the_turning_circle_of_a_30_by_48_box():
    """ADA 2010 Standards 304.3.1: 60 in across; a box needs its diagonal, 56.60 in."""
    body = chair_box(48 * MM_PER_IN, 30 * MM_PER_IN)
    ends = at(0, 0, 0), at(0, 0, math.pi)
    told = explore(round_room(30 * MM_PER_IN, body, 64, True, *ends), BUDGET)
    assert isinstance(told, Open)
    needed = math.hypot(48, 30) / 2 * MM_PER_IN
    # 64 sides about the circle leave up to 1 mm more than it.
    short = explore(round_room(needed - 2, body, 64, False, *ends), BUDGET)
    assert isinstance(short, Shut)
    assert short.blocked == "start"
    # An axle off the centre changes where the origin is, not what a sliding body can do.
    off = chair_box(48 * MM_PER_IN, 30 * MM_PER_IN, axle=0.25)
    back = 0.25 * 48 * MM_PER_IN
    ends = at(-back, 0, 0), at(back, 0, math.pi)
    assert isinstance(explore(round_room(30 * MM_PER_IN, off, 64, True, *ends), BUDGET), Open)
    assert isinstance(explore(round_room(needed - 2, off, 64, False, *ends), BUDGET), Shut)


def test_a_solid_30_by_48_box_cannot_turn_in_the_tee():
    """Derivation, in inches. To turn from the base to end for end the heading must pass 45 or 135
    degrees; they mirror each other, so take 45. Let r be the middle of the rear edge. The body's
    right corner and its upper corner must stay within 60 x 60: r_x, r_y <= 60 - (L + w/2)/sqrt 2,
    so r_x + r_y <= 120 - sqrt 2 (L + w/2). The block left of the base has its corner at (12, 24);
    neither the square's sides nor the body's long sides can part it from the body there, so the
    rear edge (x + y = r_x + r_y) must: r_x + r_y >= 36. Both hold only if L + w/2 <= 84/sqrt 2 =
    59.397. A 30 x 48 box has 63: no. (The Standards' T leans on toe clearance.)
    """
    assert 84 / math.sqrt(2) < 48 + 30 / 2
    length, width = 48 * MM_PER_IN, 30 * MM_PER_IN
    told = explore(tee((solid(box(0, -width / 2, length, width / 2)),)), BUDGET)
    assert isinstance(told, Shut)
    assert told.blocked == ""


def test_a_chair_narrower_at_the_feet_turns_in_the_tee():
    """Derivation, in inches. The largest circle in the T touches y = 60 and the corners (12, 24)
    and (48, 24): (60 - y)^2 = 18^2 + (y - 24)^2 gives y = 37.5, radius 22.5. A body all within
    22.5 of one point turns there on the spot: 30 wide from -16.7 to 16.7 (hypot 22.45), feet 12
    wide to 21.6 (hypot 22.42), and both headings in the base lead straight there.
    """
    assert (60 - 37.5) ** 2 == 18**2 + (37.5 - 24) ** 2
    assert max(math.hypot(16.7, 15), math.hypot(21.6, 6)) < 22.5
    inch = MM_PER_IN
    body = (
        solid(box(-16.7 * inch, -15 * inch, 16.7 * inch, 15 * inch), "seat"),
        solid(box(0, -6 * inch, 21.6 * inch, 6 * inch), "feet"),
    )
    room = tee(body)
    ends = at(30 * inch, 22 * inch, math.pi / 2), at(30 * inch, 22 * inch, -math.pi / 2)
    assert isinstance(explore(Scene(room.obstacles, body, *ends, room.bounds), BUDGET), Open)
    # With feet as wide as the seat and the same length the corners reach hypot(21.6, 15) = 26.3,
    # and no turn on the spot is left; what a sliding box can do there is not derived here.


def test_a_tube_is_a_chain_of_free_boxes_from_start_to_goal():
    told = explore(corner(1300, 670, 1000, 900), BUDGET)
    assert isinstance(told, Open)
    tree = told.tree
    scene = tree.scene
    for row, end in ((0, scene.start), (-1, scene.goal)):
        for d, (low, high) in enumerate((end.x, end.y)):
            assert told.centre[row, d] - told.half[row, d] <= high + 1e-6
            assert told.centre[row, d] + told.half[row, d] >= low - 1e-6
    reach = told.half[:-1] + told.half[1:]
    apart = np.abs(np.diff(told.centre, axis=0))
    apart[:, 2] = np.minimum(apart[:, 2], 2 * math.pi - apart[:, 2])
    assert np.all(apart <= reach + 1e-6)
    assert np.all(told.clearance_mm >= 0)
    corners = [(a, b, c) for a in (-1, 1) for b in (-1, 1) for c in (-1, 0, 1)]
    for centre, half, low in zip(told.centre, told.half, told.clearance_mm, strict=True):
        for shift in corners:
            x, y, t = centre + half * np.array(shift)
            assert pose_clearance(tree.packed, (x, y, t))[0] >= min(low, 500) - 1e-3


def test_neighbours_are_mutual_and_share_a_face():
    told = explore(corner(1300, 670, 1000, 900), BUDGET)
    first, second = told.tree.neighbours()
    of = [set(second[a:b].tolist()) for a, b in pairwise(first.tolist())]
    assert all(i in of[j] for i in range(len(of)) for j in of[i])
    place = {int(v): i for i, v in enumerate(told.tree.leaves)}
    chain = [place[int(v)] for v in told.tube]
    assert all(b in of[a] for a, b in pairwise(chain))


def test_a_start_that_is_itself_stuck_is_said_so():
    scene = corner(1300, 670, 1000, 900)
    inside = Scene(scene.obstacles, scene.body, at(1400, 1400, 0), scene.goal, scene.bounds)
    told = explore(inside, BUDGET)
    assert isinstance(told, Shut)
    assert told.blocked == "start"
    into = Scene(scene.obstacles, scene.body, scene.start, at(1400, 1400, 0), scene.bounds)
    told = explore(into, BUDGET)
    assert isinstance(told, Shut)
    assert told.blocked == "goal"


def test_a_goal_region_is_open_if_any_pose_of_it_is():
    scene = corner(1300, 720, 1000, 900)  # too wide to turn the corner ...
    away = PoseBox((500, 500), (1000, 4000), (-math.pi / 2, 3 * math.pi / 2))
    reached = Scene(scene.obstacles, scene.body, scene.start, away, scene.bounds)
    assert isinstance(explore(reached, BUDGET), Open)
    beyond = PoseBox((2500, 4000), (0, 900), (0.0, 2 * math.pi))
    # ... in either direction and with any heading at the end.
    shut = Scene(scene.obstacles, scene.body, scene.start, beyond, scene.bounds)
    assert isinstance(explore(shut, BUDGET), Shut)


def test_headings_are_periodic():
    scene = corner(1300, 670, 1000, 900)
    turned = Scene(
        scene.obstacles,
        scene.body,
        at(500, 2600, 2 * math.pi * 3 - math.pi / 2),
        at(2600, 450, -4 * math.pi),
        scene.bounds,
    )
    assert isinstance(explore(turned, BUDGET), Open)


def test_the_widest_way_brackets_the_closed_form():
    # Growing by g moves every side out by g: the corridors shrink by 2 g and the box stays, or so
    # for straight walls; at the inner corner the distance is round, so it is exact as well:
    # at 45 degrees in equal corridors the inner corner faces the long side, the outer walls face
    # corners. c sqrt 2 - L/2 - w is what is left along the diagonal; each outer wall takes
    # g sqrt 2 of it, the inner corner g.
    c, length, width = 900.0, 1200.0, 560.0
    left = (c * math.sqrt(2) - length / 2 - width) / (1 + math.sqrt(2))
    found = widest(corner(length, width, c, c), BUDGET)
    assert found.low_mm <= left + 1e-3
    assert found.high_mm >= left - 1e-3
    assert found.high_mm - found.low_mm <= 3
    assert found.at is not None
    assert found.pair >= 0


def test_a_pinch_tells_how_much_is_missing():
    c, length, width = 900.0, 1200.0, 700.0
    left = (c * math.sqrt(2) - length / 2 - width) / (1 + math.sqrt(2))
    found = widest(corner(length, width, c, c), BUDGET)
    assert left < 0
    assert found.low_mm <= left + 1e-3
    assert found.high_mm >= left - 1e-3
    assert found.high_mm - found.low_mm <= 3
    assert found.at is not None
    # The pinch is at the corner, not at the far ends.
    assert max(found.at[0], found.at[1]) < 1500


def test_an_undecided_answer_says_why():
    width = widest_box(1300, 1000, 900)
    told = explore(corner(1300, width, 1000, 900), Budget(max_boxes=500))
    assert isinstance(told, Undecided)
    assert told.why == "boxes"
    told = explore(corner(1300, width, 1000, 900), Budget(late=lambda: True))
    assert isinstance(told, Undecided)
    assert told.why == "late"


def test_a_bad_scene_is_told():
    scene = corner(1300, 700, 1000, 900)
    with pytest.raises(BadInput):
        explore(Scene(scene.obstacles, (), scene.start, scene.goal, scene.bounds), BUDGET)


def rank(told: Open | Shut | Undecided) -> int:
    return {Shut: 0, Undecided: 1, Open: 2}[type(told)]


def contradicts(less: Open | Shut | Undecided, more: Open | Shut | Undecided) -> bool:
    """What may only get better got worse for certain."""
    return rank(less) == 2 and rank(more) == 0


length = st.integers(700, 1500)
width = st.integers(400, 900)
corridor = st.integers(700, 1200)
grow = st.integers(1, 80)


@given(length, width, corridor, corridor, grow)
@settings(max_examples=25, deadline=None)
def test_growing_the_body_never_opens_and_widening_the_cabin_never_shuts(l1, w, a, b, g):
    assume(l1 >= w)
    plain = explore(corner(l1, w, a, b), SMALL)
    far = corner(l1, w, a, b)
    # A wider and longer body in the same cabin.
    larger = Scene(far.obstacles, chair_box(l1 + g, w + g), far.start, far.goal, far.bounds)
    assert not contradicts(explore(larger, SMALL), plain)
    # The block beyond the corner moves away: everything that was free stays free.
    (x0, y0), (x1, y1) = far.bounds
    wider = Scene(
        (solid(box(a + g, b + g, x1, y1)),), far.body, far.start, far.goal, ((x0, y0), (x1, y1))
    )
    assert not contradicts(plain, explore(wider, SMALL))


def mirrored(scene: Scene) -> Scene:
    """Left and right swapped."""

    def flip(prism: Prism) -> Prism:
        return Prism(tuple((x, -y) for x, y in prism.polygon), prism.z, prism.name)

    def turn(end: PoseBox) -> PoseBox:
        return PoseBox(end.x, (-end.y[1], -end.y[0]), (-end.theta[1], -end.theta[0]))

    (x0, y0), (x1, y1) = scene.bounds
    return Scene(
        tuple(flip(p) for p in scene.obstacles),
        tuple(flip(p) for p in scene.body),
        turn(scene.start),
        turn(scene.goal),
        ((x0, -y1), (x1, -y0)),
    )


@given(length, width, corridor, corridor)
@settings(max_examples=25, deadline=None)
def test_mirror_images_and_the_way_back_agree(l1, w, a, b):
    scene = corner(l1, w, a, b, axle=0.3)
    told = explore(scene, SMALL)
    flipped = explore(mirrored(scene), SMALL)
    back = explore(Scene(scene.obstacles, scene.body, scene.goal, scene.start, scene.bounds), SMALL)
    for other in (flipped, back):
        assert not contradicts(told, other)
        assert not contradicts(other, told)
