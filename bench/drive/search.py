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
import time

from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene

CLASSES_MM = (3.0, 6.0, 15.0, 25.0, 40.0, 80.0, math.inf)
AIM = "aim from 15 mm: median 0.3 s, 95th 1 s"


def box(x0: float, y0: float, x1: float, y1: float, name: str) -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0, 1000.0), name)


def side_entry(r: random.Random) -> Scene:
    length, width = r.uniform(1000, 1250), r.uniform(580, 700)
    back = r.uniform(0.15, 0.55) * length
    door, depth = r.uniform(width + 60, 950), r.uniform(length + 40, 1600)
    ahead = 600 + length + r.uniform(60, 350)
    x0 = r.uniform(600, ahead - door)
    return Scene(
        (
            box(-200, -80, x0, 0, "side wall behind the door"),
            box(x0 + door, -80, 3400, 0, "side wall before the door"),
            box(-200, 0, 600, depth + 10, "bench"),
            box(ahead, 0, 3400, depth + 10, "seat"),
        ),
        (box(-back, -width / 2, length - back, width / 2, "chair"),),
        PoseBox(
            (x0 + door / 2, x0 + door / 2),
            (-180 - length + back, -180 - length + back),
            (math.pi / 2, math.pi / 2),
        ),
        PoseBox(
            (600 + back + 10, ahead - length + back - 10),
            (width / 2 + 10, depth - width / 2 - 10),
            (-0.05, 0.05),
        ),
        ((-200.0, -2300.0), (3400.0, depth)),
    )


def corner(r: random.Random) -> Scene:
    length, width = r.uniform(1000, 1250), r.uniform(580, 700)
    back = r.uniform(0.2, 0.55) * length
    c = (width + length / 2) / math.sqrt(2) + r.uniform(5, 150)
    return Scene(
        (box(c, c, 2800, 2800, "inner corner"),),
        (box(-back, -width / 2, length - back, width / 2, "chair"),),
        PoseBox((c / 2, c / 2), (2770 - length + back,) * 2, (-math.pi / 2, -math.pi / 2)),
        PoseBox((2740 - length + back,) * 2, (c / 2, c / 2), (0.0, 0.0)),
        ((0.0, 0.0), (2800.0, 2800.0)),
    )


def drive(scene: Scene):  # type: ignore[no-untyped-def]
    """As answer.solve seeks its yes."""
    from sillway.fit.drive.packed import pack
    from sillway.fit.drive.search import find, quick
    from sillway.fit.drive.subdivide import Open, explore

    packed = pack(scene)
    found = quick(scene, packed)
    if found is None:
        told = explore(scene, Budget())
        found = find(scene, packed, told.centre if isinstance(told, Open) else None)
    return found


def main(count: int, first: int) -> None:
    from sillway.fit.drive.recheck_path import recheck_path
    from sillway.fit.drive.subdivide import widest

    rows: dict[tuple[str, float], list[tuple[float, bool, int]]] = {}
    wrong = 0
    drive(corner(random.Random(-1)))
    for seed in range(first, first + count):
        r = random.Random(seed)
        kind, scene = ("side", side_entry(r)) if seed % 3 else ("corner", corner(r))
        end = time.process_time() + 1
        budget = Budget(100_000, 0.5, lambda end=end: time.process_time() > end)
        slide = widest(scene, budget).low_mm
        begin = time.process_time()
        found = drive(scene)
        took = time.process_time() - begin
        if found and recheck_path(found.to_json()):
            wrong += 1
        if slide < 0:
            continue
        size = next(c for c in CLASSES_MM if slide < c)
        rows.setdefault((kind, size), []).append(
            (took, found is not None, found.reversals if found else -1)
        )
    print("slide clearance   kind     scenes  found   CPU s: median   95th    most   reversals")
    for (kind, size), seen in sorted(rows.items(), key=lambda row: (row[0][1], row[0][0])):
        low = max((c for c in CLASSES_MM if c < size), default=0.0)
        t = sorted(row[0] for row in seen if row[1]) or [math.nan]
        reversals = [row[2] for row in seen if row[1]]
        print(
            f"{low:5.0f} .. {size:4.0f} mm    {kind:7s} {len(seen):6d} {len(reversals):6d}   "
            f"{t[len(t) // 2]:13.3f} {t[int(0.95 * len(t))]:6.3f} {t[-1]:7.3f}   "
            f"{sorted(set(reversals))}"
        )
    lost = [row[0] for seen in rows.values() for row in seen if not row[1]]
    if lost:
        print(f"not found {len(lost)}: CPU s at most {max(lost):.2f}")
    wide = sorted(row[0] for (_, size), seen in rows.items() if size > 15 for row in seen if row[1])
    if wide:
        print(
            f"found from 15 mm: median {wide[len(wide) // 2]:.3f} s, 95th "
            f"{wide[int(0.95 * len(wide))]:.3f} s ({AIM}); wrong certificates {wrong}"
        )


if __name__ == "__main__":
    arguments = [int(a) for a in sys.argv[1:]]
    main(*(arguments + [40, 0][len(arguments) :]))
