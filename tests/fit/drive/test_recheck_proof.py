"""A proof of no holds for the separate checker, and every way of tampering with one is found."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from closed_forms import MM_PER_IN, at, box, chair_box, corner, round_room, solid, tee
from hypothesis import given, settings
from hypothesis import strategies as st

from sillway.errors import BadInput
from sillway.fit.drive.proof import Leaf, Proof, from_json, prove, to_json
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import Shut, explore

BUDGET = Budget(max_boxes=100_000)


def layered() -> Scene:
    """A chair of two layers before a doorway: feet narrow enough, elbows 6 mm too wide."""
    low, high = (0.0, 300.0), (300.0, 900.0)
    body = (
        Prism(box(-300, -250, 700, 250), low, "feet"),
        Prism(box(-300, -353, 500, 353), high, "elbows"),
    )
    posts = (
        Prism(box(1500, -900, 1600, -350), (0, 1200), "right post"),
        Prism(box(1500, 350, 1600, 900), (0, 1200), "left post"),
        Prism(box(2000, -100, 2200, 100), (950, 1200), "over the head"),
    )
    goal = PoseBox((2300, 3300), (-300, 300), (0, 2 * math.pi))
    return Scene(posts, body, at(500, 0, 0), goal, ((-500, -900), (3700, 900)))


@cache
def no(name: str) -> Proof:
    length, width = 48 * MM_PER_IN, 30 * MM_PER_IN
    body = chair_box(length, width, axle=0.2)
    scenes = {
        "corner": lambda: corner(1300, 700, 1000, 900),
        "tight corner": lambda: corner(1300, 692.5, 1000, 900),
        "tee": lambda: tee((solid(box(0, -width / 2, length, width / 2)),)),
        "circle": lambda: round_room(
            715, body, 24, False, at(-0.3 * length, 0, 0), at(0.3 * length, 0, math.pi)
        ),
        "layers": layered,
    }
    told = explore(scenes[name](), BUDGET)
    assert isinstance(told, Shut)
    return prove(told)


@pytest.mark.parametrize("name", ["corner", "tight corner", "tee", "circle", "layers"])
def test_a_proof_holds(name):
    assert recheck_proof(no(name)) == []


def test_a_proof_survives_json():
    proof = no("layers")
    assert from_json(to_json(proof)) == proof


@pytest.mark.parametrize("text", ["", "{}", '{"kind": "x"}', "[]", '{"kind": "drive proof of no"}'])
def test_what_is_no_proof_is_told(text):
    with pytest.raises(BadInput):
        from_json(text)


def test_an_inflated_no_is_no_proof_of_the_scene():
    told = explore(corner(1300, 670, 1000, 900), BUDGET, grow_mm=30.0)
    assert isinstance(told, Shut)
    with pytest.raises(ValueError, match="as it is"):
        prove(told)


@given(
    st.integers(800, 1400),
    st.integers(1, 60),
    st.integers(800, 1200),
    st.integers(800, 1200),
    st.sampled_from([0.1, 0.3, 0.5]),
)
@settings(max_examples=8, deadline=None)
def test_any_proof_of_a_short_corner_holds(length, over, a, b, axle):
    width = (a + b) / 2 * math.sqrt(2) - length / 2 + over
    told = explore(corner(length, min(width, length), a, b, axle), Budget(max_boxes=20_000))
    if isinstance(told, Shut):
        assert recheck_proof(prove(told)) == []


def edit(proof: Proof, index: int, leaf: Leaf) -> Proof:
    leaves = list(proof.leaves)
    leaves[index] = leaf
    return replace(proof, leaves=tuple(leaves))


def first(proof: Proof, wanted: Callable[[Leaf], bool]) -> int:
    return next(i for i, leaf in enumerate(proof.leaves) if wanted(leaf))


def by_obstacle(proof: Proof) -> int:
    return first(proof, lambda leaf: leaf.stuck and leaf.obstacle >= 0)


def without(proof: Proof, index: int) -> Proof:
    def moved(i: int) -> int:
        return i - (i > index)

    leaves = proof.leaves[:index] + proof.leaves[index + 1 :]
    return replace(proof, leaves=leaves, flood=tuple(moved(i) for i in proof.flood if i != index))


def with_scene(proof: Proof, **change: object) -> Proof:
    return replace(proof, scene=replace(proof.scene, **change))  # type: ignore[arg-type]


def stretched(proof: Proof) -> Proof:
    i = by_obstacle(proof)
    leaf = proof.leaves[i]
    return edit(proof, i, replace(leaf, high=(leaf.high[0] + 1, *leaf.high[1:])))


def called_stuck(proof: Proof) -> Proof:
    """The leaves of the flood that hold the gap are called stuck."""
    i = proof.flood[0]
    return edit(proof, i, replace(proof.leaves[i], stuck=True, body=0, obstacle=0))


def slimmer(proof: Proof) -> Proof:
    body = tuple(
        Prism(tuple((x, 0.9 * y) for x, y in p.polygon), p.z, p.name) for p in proof.scene.body
    )
    return with_scene(proof, body=body)


def raised(proof: Proof) -> Proof:
    posts = tuple(Prism(p.polygon, (5000.0, 6000.0), p.name) for p in proof.scene.obstacles)
    return with_scene(proof, obstacles=posts)


def bent(proof: Proof) -> Proof:
    dart = ((0.0, 0.0), (900.0, 0.0), (200.0, 200.0), (0.0, 900.0))
    extra = (*proof.scene.obstacles, Prism(dart, (0.0, 900.0)))
    return with_scene(proof, obstacles=extra)


def far_wall(proof: Proof) -> Proof:
    i = first(proof, lambda leaf: leaf.stuck and leaf.obstacle == -1)
    return edit(proof, i, replace(proof.leaves[i], obstacle=-2))


def shrunk_domain(proof: Proof) -> Proof:
    (x0, x1), y = proof.domain
    return replace(proof, domain=((x0 + 100, x1), y))


def dry_start(proof: Proof) -> Proof:
    return replace(proof, flood=())


def dry_neighbour(proof: Proof) -> Proof:
    """One leaf of the flood that is not at the start is left out."""
    for i in proof.flood:
        fewer = tuple(j for j in proof.flood if j != i)
        if recheck_proof(replace(proof, flood=fewer)) == [
            "a neighbour of the flood is neither stuck nor in the flood"
        ]:
            return replace(proof, flood=fewer)
    raise AssertionError("the flood has one leaf")


def goal_at_start(proof: Proof) -> Proof:
    return with_scene(proof, goal=proof.scene.start)


def start_at_goal(proof: Proof) -> Proof:
    return with_scene(proof, start=proof.scene.goal)


def wider_goal(proof: Proof) -> Proof:
    everywhere = PoseBox((-1e5, 1e5), (-1e5, 1e5), (0.0, 2 * math.pi))
    return with_scene(proof, goal=everywhere)


def wrong_layer(proof: Proof) -> Proof:
    """A stuck leaf against the obstacle over the head names it as its witness."""
    i = by_obstacle(proof)
    return edit(proof, i, replace(proof.leaves[i], obstacle=2))


def no_such(proof: Proof) -> Proof:
    i = by_obstacle(proof)
    return edit(proof, i, replace(proof.leaves[i], obstacle=99))


def doubled(proof: Proof) -> Proof:
    return replace(proof, leaves=(*proof.leaves, proof.leaves[by_obstacle(proof)]))


TAMPERED: list[tuple[Callable[[Proof], Proof], str]] = [
    (lambda p: without(p, by_obstacle(p)), "the steps from"),
    (lambda p: without(p, p.flood[0]), "the steps from"),
    (doubled, "overlap"),
    (stretched, "step"),
    (called_stuck, "stuck"),
    (slimmer, "leaf"),
    (raised, "heights"),
    (bent, "not convex"),
    (far_wall, "not stuck"),
    (shrunk_domain, "domain"),
    (dry_start, "start"),
    (dry_neighbour, "neighbour"),
    (goal_at_start, "reaches the goal"),
    (start_at_goal, "start"),
    (wider_goal, "reaches the goal"),
    (wrong_layer, "leaf"),
    (no_such, "does not exist"),
    (lambda p: replace(p, flood=(*p.flood, 10**9)), "does not exist"),
    (lambda p: replace(p, flood=(*p.flood, by_obstacle(p))), "holds a stuck leaf"),
    (lambda p: replace(p, steps=p.steps * 2), "cover"),
    (lambda p: with_scene(p, body=()), "no body"),
]


@pytest.mark.parametrize(("tamper", "told"), TAMPERED, ids=range(len(TAMPERED)))
def test_tampering_is_found(tamper, told):
    faults = recheck_proof(tamper(no("layers")))
    assert faults
    assert any(told in fault for fault in faults), faults
