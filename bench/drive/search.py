"""How fast is a certified drive found, by how much room there is?

    python bench/drive/search.py [count] [first seed]       default 40; nightly 2000

Random side entries with a quarter turn, and right-angle corners, of random sizes and axle places.
Each is put into a class by the widest clearance that a *slide* can keep (subdivide.widest, shown
to 2 mm): a drive needs more room than a slide, so what is not found in a low class may not exist.
Times are CPU seconds of this process, from the packed scene to the certificate, subdivision for
the guide included; the process is warm.
"""

from __future__ import annotations

import math
import random
import sys

from scenes import random_corner, random_side_entry
from tally import Row, clocked, progress, table, times, within

from sillway.fit.drive.certificate import Certificate
from sillway.fit.drive.packed import pack
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Budget, Scene
from sillway.fit.drive.search import find, quick
from sillway.fit.drive.subdivide import Open, explore, widest

CLASSES_MM = (3.0, 6.0, 15.0, 25.0, 40.0, 80.0, math.inf)
AIM = "aim from 15 mm: median 300 ms, 95th 1000 ms"
# The class itself is not what is measured: it may cost this much [s].
CLASS_S = 1.0


def random_drive(seed: int) -> tuple[str, Scene]:
    r = random.Random(seed)
    return ("side entry", random_side_entry(r)) if seed % 3 else ("corner", random_corner(r))


def drive(scene: Scene) -> Certificate | None:
    """As answer.solve seeks its yes."""
    packed = pack(scene)
    found = quick(scene, packed)
    if found is None:
        told = explore(scene, Budget())
        found = find(scene, packed, told.centre if isinstance(told, Open) else None)
    return found


def slide_mm(scene: Scene) -> float:
    late = within(CLASS_S).late
    return widest(scene, Budget(100_000, 0.5, late)).low_mm


def rows(count: int, first: int = 0) -> list[Row]:
    """By kind and class of slide clearance; last the drives found from 15 mm on."""
    seen: dict[tuple[float, str], list[tuple[float, Certificate | None]]] = {}
    wrong = 0
    drive(random_drive(first)[1])
    for seed in range(first, first + count):
        if (seed - first) % 10 == 0:
            progress(f"drives: {seed - first} of {count}")
        kind, scene = random_drive(seed)
        room = slide_mm(scene)
        found, took = clocked(drive, scene)
        wrong += bool(found and recheck_path(found.to_json()))
        if room >= 0:
            size = next(c for c in CLASSES_MM if room < c)
            seen.setdefault((size, kind), []).append((took, found))
    out = [_row(kind, size, told) for (size, kind), told in sorted(seen.items())]
    every = [one for (size, _), told in seen.items() if size > 15 for one in told]
    return [*out, _row("all", math.inf, every, 15.0) | {"wrong certificates": wrong}]


def _row(
    kind: str,
    size: float,
    told: list[tuple[float, Certificate | None]],
    low: float | None = None,
) -> Row:
    if low is None:
        low = max((c for c in CLASSES_MM if c < size), default=0.0)
    return {
        "kind": kind,
        "from_mm": low,
        "to_mm": None if math.isinf(size) else size,
        "scenes": len(told),
        "found": sum(found is not None for _, found in told),
        **times([took for took, found in told if found]),
        "not_found_most_ms": times([t for t, found in told if not found])["most_ms"],
        "reversals": sorted({found.reversals for _, found in told if found}),
    }


if __name__ == "__main__":
    arguments = [int(a) for a in sys.argv[1:]]
    print(table(rows(*(arguments + [40, 0][len(arguments) :]))))
    print(AIM)
