"""How long a proof of no takes, and a holonomic yes; and the distance kernel against shapely's.

    python bench/drive/proof.py [--count 25] [--seed 1]

Every family draws its scenes at random from the seed. ``corner`` and ``strip`` know their
thresholds in closed form; for the made-up vans the door's threshold is first bracketed to 0.1 mm
by the engine itself (a proof on one side, a tube on the other). Times are processor
time of one warm process (one thread, so wall time on a free core).
"""

from __future__ import annotations

import argparse
import math
import random
import resource
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from shapely import Polygon
from shapely.affinity import rotate, translate

sys.path.insert(0, str(Path(__file__).parents[2] / "tests" / "fit" / "drive"))

from closed_forms import box, corner, strip, widest_box

from sillway.fit.drive.kernel import clearance, pose_clearance
from sillway.fit.drive.packed import pack
from sillway.fit.drive.proof import prove, to_json
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import Open, Shut, Undecided, explore, widest

BUDGET = Budget()
# Too narrow by so much (a no), then too wide by so much (a yes) [mm].
STEPS = (7.0, 5.0, 2.0, 1.0, -1.0, -2.0, -4.0, -7.0, -15.0, -40.0)
Make = Callable[[float], Scene]


def a_corner(r: random.Random) -> Make:
    """Widths of two corridors and a length at random; the number is what the box is too wide by."""
    a, b = r.uniform(800, 1200), r.uniform(800, 1200)
    length = r.uniform(max(a, b) + 20, max(a, b) * 1.5)
    width = widest_box(length, a, b)
    axle = r.uniform(0.15, 0.5)
    return lambda over: corner(length, width + over, a, b, axle)


def a_strip(r: random.Random) -> Make:
    length, width = r.uniform(900, 1300), r.uniform(550, 750)
    diagonal = math.hypot(length, width)
    return lambda over: strip(length, width, diagonal - over)


def a_chair(r: random.Random) -> tuple[Prism, ...]:
    """Four layers: base, feet, arms, shoulders; the origin below the drive axle."""
    length, width = r.uniform(1000, 1250), r.uniform(600, 700)
    back = r.uniform(0.2, 0.45) * length
    return (
        Prism(box(-back, -width / 2, 0.75 * length - back, width / 2), (0, 350), "base"),
        Prism(box(0, -0.35 * width, length - back, 0.35 * width), (50, 300), "feet"),
        Prism(box(-back, -width / 2 - 10, 0.6 * length - back, width / 2 + 10), (350, 750), "arms"),
        Prism(box(-back + 40, -0.36 * width, 250, 0.36 * width), (750, 1350), "shoulders"),
    )


def a_van(r: random.Random, side: bool) -> Make:
    """A made-up van with a side or a rear door; the number is what is taken off the door's width.

    Floor from x 0 (rear edge) to 3100; apron outside the door of 1.8 m.
    """
    chair = a_chair(r)
    half = r.uniform(740, 800)
    tall = (0.0, 1500.0)
    wells = [
        Prism(box(300, s * half - 160, 1000, s * half + 160), (0, 420), "wheel well")
        for s in (-1, 1)
    ]
    seats = [
        Prism(box(2150, 130, 2800, half - 20), (150, 1400), "driver's seat"),
        Prism(box(0, -450, 420, half - 20), (250, 1300), "rear bench")
        if side
        else Prism(box(1900, -half, 2500, -300), (250, 1300), "passenger seat"),
        Prism(box(2700, -half, 3100, half), (600, 1000), "dash"),
    ]
    lintel = Prism(box(-3000, -3000, 4000, -2950), (0, 10), "kerb")
    floor = (0.0, 3100.0)
    if side:
        door = r.uniform(1250, 1400)

        def scene(off: float) -> Scene:
            d = door + 800 - off
            walls = (
                Prism(box(0, -half - 80, door, -half), tall, "rear of the door"),
                Prism(box(d, -half - 80, 3100, -half), tall, "front of the door"),
            )
            start = PoseBox((door + 400, door + 400), (-2000, -2000), (math.pi / 2, math.pi / 2))
            goal = PoseBox((1300, 1900), (-200, 200), (-0.05, 0.05))
            bounds = ((floor[0], -half - 1800), (floor[1], half))
            return Scene((*walls, *wells, *seats), chair, start, goal, bounds)
    else:
        gap = 900.0

        def scene(off: float) -> Scene:
            g = (gap - off) / 2
            walls = (
                Prism(box(-80, g, 0, half), tall, "left of the door"),
                Prism(box(-80, -half, 0, -g), tall, "right of the door"),
            )
            start = PoseBox((-1300, -1300), (0, 0), (0, 0))
            goal = PoseBox((1000, 1300), (-150, 150), (-0.05, 0.05))
            bounds = ((-2200, -half), (floor[1], half))
            return Scene((*walls, *wells, *seats[:1], lintel), chair, start, goal, bounds)

    low, high = -200.0, 500.0
    if not isinstance(explore(scene(high), BUDGET), Shut):
        return a_van(r, side)
    if not isinstance(explore(scene(low), BUDGET), Open):
        return a_van(r, side)
    while high - low > 0.1:
        middle = (low + high) / 2
        told = explore(scene(middle), BUDGET)
        if isinstance(told, Undecided):
            break
        low, high = (middle, high) if isinstance(told, Open) else (low, middle)
    threshold = (low + high) / 2
    return lambda over: scene(threshold + over)


FAMILIES: dict[str, Callable[[random.Random], Make]] = {
    "corner": a_corner,
    "strip": a_strip,
    "van, side door": lambda r: a_van(r, True),
    "van, rear door": lambda r: a_van(r, False),
}


def growth(seed: int) -> None:
    """The same van with more and more posts along the far side of the apron, which touch nothing
    that matters: a no, 5 mm short, and a yes with 15 mm."""
    make = a_van(random.Random(seed), True)
    for count in (0, 20, 80, 320):
        told = []
        for over in (5.0, -15.0):
            scene = make(over)
            (x0, y0), (x1, _) = scene.bounds
            pitch = (x1 - x0) / max(count, 1)
            posts = tuple(
                Prism(box(x0 + k * pitch, y0 - 90, x0 + (k + 0.5) * pitch, y0 - 10), (0, 1200))
                for k in range(count)
            )
            bounds = ((x0, y0 - 100), scene.bounds[1])
            more = Scene((*scene.obstacles, *posts), scene.body, scene.start, scene.goal, bounds)
            told.append(timed(more))
        print(
            f"{count:4d} more obstacles: "
            + ", ".join(f"{type(a).__name__} {ms:.0f} ms, {a.tree.boxes} boxes" for a, ms in told)
        )


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, math.ceil(share * len(ordered)) - 1)]


def timed(scene: Scene) -> tuple[Open | Shut | Undecided, float]:
    begin = time.process_time()
    told = explore(scene, BUDGET)
    return told, 1e3 * (time.process_time() - begin)


def verdicts(name: str, makes: list[Make]) -> None:
    for over in STEPS:
        told = [timed(make(over)) for make in makes]
        wanted = Shut if over > 0 else Open
        right = sum(isinstance(answer, wanted) for answer, _ in told)
        wrong = sum(isinstance(answer, Open if over > 0 else Shut) for answer, _ in told)
        times = [ms for _, ms in told]
        boxes = statistics.median(answer.tree.boxes for answer, _ in told)
        print(
            f"{name:15s} {over:+6.0f} {wanted.__name__:5s} {right:3d}/{len(told):<3d} "
            f"wrong {wrong}  median {statistics.median(times):7.1f} ms  "
            f"p95 {percentile(times, 0.95):7.1f} ms  boxes {boxes:8.0f}"
        )


def rechecks(name: str, makes: list[Make]) -> None:
    """Every proof of a no tested again by the separate checker."""
    faults, leaves, size, times = 0, 0, [], []
    for make in makes:
        for over in (40.0, 5.0, 1.0):
            told, _ = timed(make(over))
            if not isinstance(told, Shut):
                continue
            begin = time.process_time()
            proof = prove(told)
            faults += len(recheck_proof(proof, samples=False))
            times.append(1e3 * (time.process_time() - begin))
            leaves += sum(leaf.stuck for leaf in proof.leaves)
            size.append(len(to_json(proof)))
    print(
        f"{name:15s} {len(times)} proofs tested again: {leaves} witnesses, {faults} faults, median "
        f"{statistics.median(times):.0f} ms and {statistics.median(size) / 1000:.0f} kB a proof"
    )


def brackets(name: str, makes: list[Make]) -> None:
    widths, times = [], []
    for make in makes:
        begin = time.process_time()
        found = widest(make(-30.0), BUDGET)
        times.append(1e3 * (time.process_time() - begin))
        widths.append(found.high_mm - found.low_mm)
    print(
        f"{name:15s} widest way: bracket at most {max(widths):.2f} mm, median "
        f"{statistics.median(times):.0f} ms, p95 {percentile(times, 0.95):.0f} ms"
    )


def kernel(seed: int) -> None:
    """The same clearances by shapely and by the kernel, at the same poses."""
    scene = a_van(random.Random(seed), True)(0.0)
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
    gap = max(
        abs(by_shapely(*p) - pose_clearance(packed, (p[0], p[1], p[2]))[0])
        for p in poses.tolist()
        if 0 < pose_clearance(packed, (p[0], p[1], p[2]))[0] < 50
    )
    print(
        f"distance, {len(packed.pairs)} pairs: shapely {slow:.0f} us, kernel {fast:.1f} us with "
        f"the call from Python, ratio {slow / fast:.0f}; apart by at most {gap:.1e} mm"
    )


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--count", type=int, default=25)
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    kernel(given.seed)
    growth(given.seed)
    for name, family in FAMILIES.items():
        r = random.Random(given.seed)
        makes = [family(r) for _ in range(given.count)]
        verdicts(name, makes)
        rechecks(name, makes)
        brackets(name, makes[: max(5, given.count // 4)])
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
