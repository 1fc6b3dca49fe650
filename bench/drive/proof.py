"""How long a proof of no takes, and a holonomic yes; and the distance kernel against shapely's.

    python bench/drive/proof.py [--count 25] [--seed 1]       default 25; nightly 100

Every family draws its scenes at random from the seed. ``corner`` and ``strip`` know their
thresholds in closed form; for the made-up vans the door's threshold is first bracketed to 0.1 mm
by the engine itself (a proof on one side, a tube on the other). Times are processor
time of one warm process (one thread, so wall time on a free core).
"""

from __future__ import annotations

import argparse
import math
import statistics
import time
from collections.abc import Callable, Sequence

import numpy as np
from scenes import FAMILIES, Make, family, with_posts
from shapely import Polygon
from shapely.affinity import rotate, translate
from tally import Row, clocked, progress, table, times

from sillway.fit.drive.kernel import clearance, pose_clearance
from sillway.fit.drive.packed import pack
from sillway.fit.drive.proof import prove, to_json
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Budget, Scene
from sillway.fit.drive.subdivide import Open, Shut, Undecided, explore, widest

# Too narrow by so much (a no), then too wide by so much (a yes) [mm].
STEPS = (7.0, 5.0, 2.0, 1.0, -1.0, -2.0, -4.0, -7.0, -15.0, -40.0)
POSTS = (0, 20, 80, 320)
FINEST_MM = (4.0, 2.0, 1.0, 0.5, 0.25, 0.1, 0.05)
FAR_SHORT_MM = 40.0
# Where a bracket of the widest way begins: this much room, so that there is one [mm].
ROOM_MM = -30.0
Told = Open | Shut | Undecided


def asked(scene: Scene, budget: Budget | None = None) -> tuple[Told, float]:
    return clocked(explore, scene, budget or Budget())


def verdicts(makes: dict[str, list[Make]], steps: Sequence[float] = STEPS) -> list[Row]:
    """A row for each family and step, and one for all families together."""
    out = []
    for over in steps:
        pooled: list[tuple[Told, float]] = []
        for name, some in makes.items():
            progress(f"subdivision: {name}, {over:+g} mm")
            told = [asked(make(over)) for make in some]
            out.append(_verdict_row(name, over, told))
            pooled += told
        out.append(_verdict_row("all", over, pooled))
    return out


def _verdict_row(name: str, over: float, told: list[tuple[Told, float]]) -> Row:
    wanted, other = (Shut, Open) if over > 0 else (Open, Shut)
    return {
        "family": name,
        "too_wide_mm": over,
        "expected": "no" if over > 0 else "slide",
        "scenes": len(told),
        "right": sum(isinstance(answer, wanted) for answer, _ in told),
        "wrong": sum(isinstance(answer, other) for answer, _ in told),
        **times([took for _, took in told]),
        "boxes": round(statistics.median(answer.tree.boxes for answer, _ in told)),
    }


def growth_rows(seed: int, count: int) -> list[Row]:
    """The same vans with more and more posts: a no 5 mm short, a yes with 15 mm."""
    makes = family("van, side door", seed, count)
    out = []
    for posts in POSTS:
        progress(f"growth: {posts} more obstacles")
        for over in (5.0, -15.0):
            told = [asked(with_posts(make(over), posts)) for make in makes]
            out.append({"more_obstacles": posts, **_verdict_row("van, side door", over, told)})
    return out


def resolution_rows(seed: int, count: int) -> list[Row]:
    """The same noes with a finer and finer smallest box: 40, 5 and 1 mm short."""
    out = []
    makes = [*family("corner", seed, count), *family("van, side door", seed, count)]
    for finest in FINEST_MM:
        progress(f"growth: smallest box {finest} mm")
        for over in (FAR_SHORT_MM, 5.0, 1.0):
            told = [asked(make(over), Budget(finest_mm=finest)) for make in makes]
            row = _verdict_row("corner, van side door", over, told)
            out.append({"finest_mm": finest, **row})
    return out


def recheck_rows(makes: dict[str, list[Make]]) -> list[Row]:
    """Every proof of a no tested again by the separate checker."""
    out: list[Row] = []
    for name, some in makes.items():
        progress(f"proofs tested again: {name}")
        faults, leaves, size, took = 0, 0, [], []
        for make in some:
            for over in (FAR_SHORT_MM, 5.0, 1.0):
                told, _ = asked(make(over))
                if not isinstance(told, Shut):
                    continue
                proof = prove(told)
                found, seconds = clocked(recheck_proof, proof, samples=False)
                faults += len(found)
                took.append(seconds)
                leaves += sum(leaf.stuck for leaf in proof.leaves)
                size.append(len(to_json(proof)))
        out.append(
            {
                "family": name,
                "proofs": len(took),
                "witnesses": leaves,
                "faults": faults,
                **times(took),
                "kB_a_proof": round(statistics.median(size) / 1000) if size else None,
            }
        )
    return out


def bracket_rows(makes: dict[str, list[Make]]) -> list[Row]:
    """How closely the widest clearance is bracketed."""
    out: list[Row] = []
    for name, some in makes.items():
        progress(f"widest way: {name}")
        told = [clocked(widest, make(ROOM_MM), Budget()) for make in some]
        widths = [found.high_mm - found.low_mm for found, _ in told]
        out.append(
            {
                "family": name,
                "scenes": len(told),
                "widest_bracket_mm": round(max(widths), 2),
                **times([seconds for _, seconds in told]),
            }
        )
    return out


def kernel_row(seed: int) -> Row:
    """The same clearances by shapely and by the kernel, at the same poses."""
    scene = family("van, side door", seed, 1)[0](0.0)
    packed = pack(scene)
    draw = np.random.default_rng(seed)
    poses = draw.uniform((200, -900, -3), (2900, 700, 3), (400, 3))
    shapes = [Polygon(p.polygon) for p in scene.body]
    walls = [Polygon(p.polygon) for p in scene.obstacles]

    def by_shapely(x: float, y: float, t: float) -> float:
        best = math.inf
        for body, shape in zip(scene.body, shapes, strict=True):
            moved = translate(rotate(shape, t, origin=(0, 0), use_radians=True), x, y)
            for other, wall in zip(scene.obstacles, walls, strict=True):
                if body.z[0] < other.z[1] and other.z[0] < body.z[1]:
                    best = min(best, moved.distance(wall))
            x0, y0, x1, y1 = moved.bounds
            (a0, b0), (a1, b1) = scene.bounds
            best = min(best, x0 - a0, y0 - b0, a1 - x1, b1 - y1)
        return best

    def run(once: Callable[[float, float, float], object]) -> float:
        begin = time.process_time()
        for x, y, t in poses.tolist():
            once(x, y, t)
        return 1e6 * (time.process_time() - begin) / len(poses)

    slow = run(by_shapely)
    fast = run(lambda x, y, t: clearance(*packed, x, y, t, math.inf))
    gaps = [
        abs(by_shapely(*p) - pose_clearance(packed, (p[0], p[1], p[2]))[0])
        for p in poses.tolist()
        if 0 < pose_clearance(packed, (p[0], p[1], p[2]))[0] < 50
    ]
    return {
        "pairs_of_prisms": len(packed.pairs),
        "shapely_us": round(slow, 1),
        "kernel_us": round(fast, 2),
        "apart_at_most_mm": float(f"{max(gaps):.1e}"),
    }


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--count", type=int, default=25)
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    print(table([kernel_row(given.seed)]), end="\n\n")
    few = max(5, given.count // 4)
    print(table(growth_rows(given.seed, few)), end="\n\n")
    print(table(resolution_rows(given.seed, few)), end="\n\n")
    makes = {name: family(name, given.seed, given.count) for name in FAMILIES}
    print(table(verdicts(makes)), end="\n\n")
    print(table(recheck_rows(makes)), end="\n\n")
    print(table(bracket_rows({name: some[:few] for name, some in makes.items()})))


if __name__ == "__main__":
    main()
