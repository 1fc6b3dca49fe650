"""A proof that there is no way, as data that a separate checker can test again.

It holds the scene as used, the domain of poses cut into leaves in whole steps, a witness pair for
each stuck leaf, and the flood: the leaves that are not stuck and reach to the start. The argument:
a pose outside the domain has the body outside the bounds; the leaves cover the domain; in a stuck
leaf the witness pair overlaps at every pose; the flood holds every leaf the start can be in, its
neighbours across a face are in it or stuck, and no leaf of it touches the goal.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sillway.errors import BadInput
from sillway.fit.drive.scene import PoseBox, Prism, Scene

if TYPE_CHECKING:
    from sillway.fit.drive.subdivide import Shut, Tree

KIND = "drive proof of no"
OTHER, STUCK = 0, 1
WALLS = ("x low", "x high", "y low", "y high")


@dataclass(frozen=True, slots=True)
class Leaf:
    """A box of poses, in whole steps of the domain.

    Attributes:
        low: lower corner (x, y, heading); high: upper corner.
        stuck: the witness pair overlaps at every pose of it.
        body, obstacle: the witness: index of the body's prism and of the obstacle. Against a wall
            body is -1 (whichever layer sticks out) and obstacle -1 .. -4 (see WALLS).
    """

    low: tuple[int, int, int]
    high: tuple[int, int, int]
    stuck: bool
    body: int = -1
    obstacle: int = 0


@dataclass(frozen=True, slots=True)
class Proof:
    """See the module's text.

    Attributes:
        domain: lower and upper end of x and y [mm]; the heading goes once round from 0.
        apron_mm: by how much the domain is larger than the bounds, on each side.
        steps: whole steps that span the domain in each direction.
        resolution_mm: the smallest leaf, by how far the body moves from end to end of it.
        flood: indices of leaves.
    """

    scene: Scene
    domain: tuple[tuple[float, float], tuple[float, float]]
    apron_mm: float
    steps: int
    resolution_mm: float
    leaves: tuple[Leaf, ...]
    flood: tuple[int, ...]


def prove(shut: Shut) -> Proof:
    """The proof behind a Shut answer (of the scene as it is, not inflated or shrunk).

    Raises:
        ValueError: the answer is for an inflated body.
    """
    tree = shut.tree
    if tree.grow_mm != 0:
        raise ValueError("a proof is written for the scene as it is")
    place = {int(box): i for i, box in enumerate(tree.leaves)}
    steps = 1 << _bits(tree)
    low = [tree.frame[d, 0] for d in range(2)]
    high = [tree.frame[d, 0] + tree.frame[d, 1] * steps for d in range(2)]
    return Proof(
        scene=tree.scene,
        domain=((float(low[0]), float(high[0])), (float(low[1]), float(high[1]))),
        apron_mm=float(tree.packed.room[0] - low[0]),
        steps=steps,
        resolution_mm=shut.resolution_mm,
        leaves=tuple(_leaf(tree, int(box), steps) for box in tree.leaves),
        flood=tuple(place[int(box)] for box in shut.flood),
    )


def _bits(tree: Tree) -> int:
    from sillway.fit.drive.boxes import FINEST

    return FINEST


def _leaf(tree: Tree, box: int, steps: int) -> Leaf:
    from sillway.fit.drive import boxes as bx

    lo = [int(v) for v in tree.lo[box]]
    hi = [a + (steps >> int(level)) for a, level in zip(lo, tree.lev[box], strict=True)]
    stuck = bool(tree.state[box] == bx.STUCK)
    body, obstacle = -1, 0
    if stuck:
        row, column = (int(v) for v in tree.packed.pairs[tree.wit[box]])
        layers = len(tree.scene.body)
        body, obstacle = (-1, column) if column < 0 else (row, column - layers - 1)
    return Leaf((lo[0], lo[1], lo[2]), (hi[0], hi[1], hi[2]), stuck, body, obstacle)


def to_json(proof: Proof) -> str:
    """The proof as JSON text; numbers keep every digit."""
    scene = proof.scene
    data = {
        "kind": KIND,
        "says": "no path of positive clearance joins start and goal inside the bounds, "
        "for a body that could also slide sideways",
        "units": "mm, rad",
        "obstacles": [_prism(p) for p in scene.obstacles],
        "body": [_prism(p) for p in scene.body],
        "start": _pose_box(scene.start),
        "goal": _pose_box(scene.goal),
        "bounds": [list(corner) for corner in scene.bounds],
        "domain": {"x": list(proof.domain[0]), "y": list(proof.domain[1])},
        "apron_mm": proof.apron_mm,
        "steps": proof.steps,
        "resolution_mm": proof.resolution_mm,
        "walls": list(WALLS),
        "leaf": ["x", "y", "heading", "x end", "y end", "heading end", "stuck", "body", "obstacle"],
        "leaves": [
            [*leaf.low, *leaf.high, int(leaf.stuck), leaf.body, leaf.obstacle]
            for leaf in proof.leaves
        ],
        "flood": list(proof.flood),
    }
    return json.dumps(data, separators=(",", ":"))


def from_json(text: str) -> Proof:
    """A proof read back.

    Raises:
        BadInput: it is not such a proof.
    """
    try:
        data: dict[str, Any] = json.loads(text)
        if data["kind"] != KIND:
            raise BadInput("kind", data["kind"], KIND)
        (x0, y0), (x1, y1) = data["bounds"]
        leaves = tuple(
            Leaf((a, b, c), (d, e, f), bool(stuck), body, obstacle)
            for a, b, c, d, e, f, stuck, body, obstacle in data["leaves"]
        )
        return Proof(
            scene=Scene(
                tuple(_read_prism(p) for p in data["obstacles"]),
                tuple(_read_prism(p) for p in data["body"]),
                _read_box(data["start"]),
                _read_box(data["goal"]),
                ((x0, y0), (x1, y1)),
            ),
            domain=(_two(data["domain"]["x"]), _two(data["domain"]["y"])),
            apron_mm=data["apron_mm"],
            steps=data["steps"],
            resolution_mm=data["resolution_mm"],
            leaves=leaves,
            flood=tuple(data["flood"]),
        )
    except (KeyError, TypeError, ValueError) as error:
        if isinstance(error, BadInput):
            raise
        raise BadInput("proof", error, "the JSON of a drive proof") from None


def _prism(prism: Prism) -> dict[str, object]:
    polygon = [list(point) for point in prism.polygon]
    return {"polygon": polygon, "z": list(prism.z), "name": prism.name}


def _read_prism(data: dict[str, Any]) -> Prism:
    polygon = tuple(_two(point) for point in data["polygon"])
    return Prism(polygon, _two(data["z"]), data.get("name", ""))


def _pose_box(box: PoseBox) -> dict[str, object]:
    return {"x": list(box.x), "y": list(box.y), "theta": list(box.theta)}


def _read_box(data: dict[str, Any]) -> PoseBox:
    return PoseBox(_two(data["x"]), _two(data["y"]), _two(data["theta"]))


def _two(values: list[float]) -> tuple[float, float]:
    a, b = values
    return a, b
