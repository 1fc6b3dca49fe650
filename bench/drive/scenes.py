"""The scenes that are measured: fixed ones, random drives, families about a known threshold.

All invented; lengths in mm. ``block`` and ``at`` serve every script of this folder. The
distribution of random pairs stands in pairs.py.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "tests" / "fit" / "drive"))

import closed_forms
from closed_forms import at

from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene
from sillway.fit.drive.subdivide import Open, Shut, Undecided, explore

TURN = math.pi / 2
# A scene for so many mm taken off a width: positive is too narrow, negative has room.
Make = Callable[[float], Scene]


def block(
    x0: float,
    y0: float,
    x1: float,
    y1: float,
    name: str = "",
    z: tuple[float, float] = (0.0, 1000.0),
) -> Prism:
    return Prism(closed_forms.box(x0, y0, x1, y1), z, name)


def chair(length: float, width: float, back: float) -> tuple[Prism, ...]:
    """A box with the drive axle ``back`` before its rear end."""
    return (block(-back, -width / 2, length - back, width / 2, "chair"),)


# --- two manoeuvres, used with fixed and with random sizes ---


def side_entry(
    body: tuple[float, float, float],
    door: tuple[float, float],
    ahead: float,
    depth: float,
    bottom: float = -2300.0,
    goal: PoseBox | None = None,
) -> Scene:
    """In through a side door, a quarter turn, along the cabin between a bench and a seat.

    ``body``: length, width, axle before the rear end; ``door``: where it begins and how wide.
    """
    length, width, back = body
    x0, wide = door
    middle = x0 + wide / 2
    room = PoseBox(
        (600 + back + 10, ahead - length + back - 10),
        (width / 2 + 10, depth - width / 2 - 10),
        (-0.05, 0.05),
    )
    return Scene(
        (
            block(-200, -80, x0, 0, "side wall behind the door"),
            block(x0 + wide, -80, 3400, 0, "side wall before the door"),
            block(-200, 0, 600, depth + 10, "bench"),
            block(ahead, 0, 3400, depth + 10, "seat"),
        ),
        chair(length, width, back),
        at(middle, -180 - length + back, TURN),
        goal or room,
        ((-200.0, bottom), (3400.0, depth)),
    )


def corner(body: tuple[float, float, float], c: float, far: float) -> Scene:
    """Round a right-angle corner between two corridors ``c`` wide."""
    length, _, back = body
    return Scene(
        (block(c, c, far, far, "inner corner"),),
        chair(*body),
        at(c / 2, far - 30 - length + back, -TURN),
        at(far - 60 - length + back, c / 2, 0),
        ((0.0, 0.0), (far, far)),
    )


# --- fixed scenes, side by side with OMPL ---


def gate(slack: float) -> Scene:
    gap = 640 + 2 * slack
    return Scene(
        (block(1600, -10, 1700, 900 - gap / 2), block(1600, 900 + gap / 2, 1700, 1810)),
        chair(1150, 640, 250),
        at(400, 700, 0),
        at(2300, 1000, 0),
        ((0.0, 0.0), (3400.0, 1800.0)),
    )


def set_corner(slack: float, back: float) -> Scene:
    return corner((1150, 640, back), (640 + 575) / math.sqrt(2) + slack, 2600)


def set_side_entry(slack: float, back: float) -> Scene:
    ahead = 1900 + 2 * slack
    middle = (600 + ahead) / 2
    goal = at(middle - 575 + back, 640, 0)
    return side_entry((1150, 640, back), (middle - 425, 850), ahead, 1250, -2080.0, goal)


def clutter(seed: int) -> Scene:
    r = random.Random(seed)
    posts: list[Prism] = []
    while len(posts) < 12:
        x, y = r.uniform(900, 4200), r.uniform(100, 2900)
        if math.hypot(x - 4400, y - 2400) > 1000 and math.hypot(x - 600, y - 500) > 1000:
            posts.append(block(x, y, x + 120, y + 120))
    return Scene(
        tuple(posts),
        chair(1150, 640, 250),
        at(400, 500, 0),
        at(4200, 2400, 0),
        ((0.0, 0.0), (5300.0, 3000.0)),
    )


SIDE_BY_SIDE = (
    ("clutter, roomy", clutter(1)),
    ("gate, 30 a side", gate(30)),
    ("gate, 3 a side", gate(3)),
    ("gate, 3 a side short", gate(-3)),
    ("corner, mid axle, 30 spare", set_corner(30, 575)),
    ("corner, 4 short", set_corner(-4, 575)),
    ("side entry, mid axle, 30 spare", set_side_entry(30, 575)),
    ("side entry, 0.35 axle, 50 spare", set_side_entry(50, 400)),
    ("side entry, mid axle, 8 short", set_side_entry(-83, 575)),
)


# --- random drives ---


def random_side_entry(r: random.Random) -> Scene:
    length, width = r.uniform(1000, 1250), r.uniform(580, 700)
    back = r.uniform(0.15, 0.55) * length
    door, depth = r.uniform(width + 60, 950), r.uniform(length + 40, 1600)
    ahead = 600 + length + r.uniform(60, 350)
    x0 = r.uniform(600, ahead - door)
    return side_entry((length, width, back), (x0, door), ahead, depth)


def random_corner(r: random.Random) -> Scene:
    length, width = r.uniform(1000, 1250), r.uniform(580, 700)
    back = r.uniform(0.2, 0.55) * length
    c = (width + length / 2) / math.sqrt(2) + r.uniform(5, 150)
    return corner((length, width, back), c, 2800)


# --- families about a threshold ---


def a_corner(r: random.Random) -> Make:
    """Widths of two corridors and a length at random; the number is what the box is too wide by."""
    a, b = r.uniform(800, 1200), r.uniform(800, 1200)
    length = r.uniform(max(a, b) + 20, max(a, b) * 1.5)
    width = closed_forms.widest_box(length, a, b)
    axle = r.uniform(0.15, 0.5)
    return lambda over: closed_forms.corner(length, width + over, a, b, axle)


def a_strip(r: random.Random) -> Make:
    length, width = r.uniform(900, 1300), r.uniform(550, 750)
    diagonal = math.hypot(length, width)
    return lambda over: closed_forms.strip(length, width, diagonal - over)


def layered_chair(r: random.Random) -> tuple[Prism, ...]:
    """Four layers: base, feet, arms, shoulders; the origin below the drive axle."""
    length, width = r.uniform(1000, 1250), r.uniform(600, 700)
    back = r.uniform(0.2, 0.45) * length
    half = width / 2
    return (
        block(-back, -half, 0.75 * length - back, half, "base", (0, 350)),
        block(0, -0.35 * width, length - back, 0.35 * width, "feet", (50, 300)),
        block(-back, -half - 10, 0.6 * length - back, half + 10, "arms", (350, 750)),
        block(-back + 40, -0.36 * width, 250, 0.36 * width, "shoulders", (750, 1350)),
    )


def a_van(r: random.Random, side: bool) -> Make:
    """A made-up van with a side or a rear door; the number is what is taken off the door's width.

    Floor from x 0 (rear edge) to 3100; apron outside the door of 1.8 m. The threshold is bracketed
    to 0.1 mm by the engine itself.
    """
    scene = _side_van(r) if side else _rear_van(r)
    low, high = -200.0, 500.0
    if not isinstance(explore(scene(high), Budget()), Shut):
        return a_van(r, side)
    if not isinstance(explore(scene(low), Budget()), Open):
        return a_van(r, side)
    while high - low > 0.1:
        middle = (low + high) / 2
        told = explore(scene(middle), Budget())
        if isinstance(told, Undecided):
            break
        low, high = (middle, high) if isinstance(told, Open) else (low, middle)
    threshold = (low + high) / 2
    return lambda over: scene(threshold + over)


def _wells(half: float) -> tuple[Prism, ...]:
    return tuple(
        block(300, s * half - 160, 1000, s * half + 160, "wheel well", (0, 420)) for s in (-1, 1)
    )


def _side_van(r: random.Random) -> Make:
    body, half, tall = layered_chair(r), r.uniform(740, 800), (0.0, 1500.0)
    inside = (
        *_wells(half),
        block(2150, 130, 2800, half - 20, "driver's seat", (150, 1400)),
        block(0, -450, 420, half - 20, "rear bench", (250, 1300)),
        block(2700, -half, 3100, half, "dash", (600, 1000)),
    )
    door = r.uniform(1250, 1400)

    def scene(off: float) -> Scene:
        walls = (
            block(0, -half - 80, door, -half, "rear of the door", tall),
            block(door + 800 - off, -half - 80, 3100, -half, "front of the door", tall),
        )
        goal = PoseBox((1300, 1900), (-200, 200), (-0.05, 0.05))
        bounds = ((0.0, -half - 1800), (3100.0, half))
        return Scene((*walls, *inside), body, at(door + 400, -2000, TURN), goal, bounds)

    return scene


def _rear_van(r: random.Random) -> Make:
    body, half, tall = layered_chair(r), r.uniform(740, 800), (0.0, 1500.0)
    inside = (
        *_wells(half),
        block(2150, 130, 2800, half - 20, "driver's seat", (150, 1400)),
    )

    def scene(off: float) -> Scene:
        g = (900.0 - off) / 2
        walls = (
            block(-80, g, 0, half, "left of the door", tall),
            block(-80, -half, 0, -g, "right of the door", tall),
        )
        goal = PoseBox((1000, 1300), (-150, 150), (-0.05, 0.05))
        bounds = ((-2200.0, -half), (3100.0, half))
        return Scene((*walls, *inside), body, at(-1300, 0, 0), goal, bounds)

    return scene


FAMILIES: dict[str, Callable[[random.Random], Make]] = {
    "corner": a_corner,
    "strip": a_strip,
    "van, side door": lambda r: a_van(r, True),
    "van, rear door": lambda r: a_van(r, False),
}


def family(name: str, seed: int, count: int) -> list[Make]:
    """So many makes of a family, the same for the same seed."""
    r = random.Random(seed)
    return [FAMILIES[name](r) for _ in range(count)]


def with_posts(scene: Scene, count: int) -> Scene:
    """More posts along the far side of the apron, which touch nothing that matters."""
    (x0, y0), (x1, _) = scene.bounds
    pitch = (x1 - x0) / max(count, 1)
    posts = tuple(
        block(x0 + k * pitch, y0 - 90, x0 + (k + 0.5) * pitch, y0 - 10, "post", (0, 1200))
        for k in range(count)
    )
    bounds = ((x0, y0 - 100), scene.bounds[1])
    return Scene((*scene.obstacles, *posts), scene.body, scene.start, scene.goal, bounds)
