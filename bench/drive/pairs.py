"""Random van and chair pairs of realistic size: how often is the answer undecided, and why?

    python bench/drive/pairs.py [count] [first seed]        default 300; nightly 10000

The distribution below is invented, not measured: sizes such as lowered-floor vans and occupied
chairs have. It was fixed before anything was measured with it; do not tune it to the search.
Times are CPU seconds of this process (single-threaded), so that a busy machine does not show.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter

from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene, Verdict

# Each edge of a chair and of a cabin read off a tape is off by at most this [mm]; both together
# are put on the chair.
TOLERANCE_MM = 6.0
LIMIT_S = 3.0


def box(x0: float, y0: float, x1: float, y1: float, z0: float, z1: float, name: str) -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (z0, z1), name)


def clipped(r: random.Random, mean: float, sd: float, low: float, high: float) -> float:
    return min(max(r.gauss(mean, sd), low), high)


def chair(r: random.Random) -> tuple[float, float, float]:
    """Length, width, axle before the rear end [mm]: rear-, mid- or front-wheel drive."""
    length = clipped(r, 1080, 90, 880, 1350)
    width = clipped(r, 640, 35, 540, 760)
    return length, width, r.choice((0.25, 0.25, 0.45, 0.6)) * length


def body(length: float, width: float, back: float, off: float) -> tuple[Prism, ...]:
    """Base, feet and trunk; every edge ``off`` further out."""
    front = length - back

    def part(x0: float, x1: float, w: float, z0: float, z1: float, name: str) -> Prism:
        return box(x0 - off, -w / 2 - off, x1 + off, w / 2 + off, z0, z1, name)

    return (
        part(-back, front - 300, width, 0, 400, "base"),
        part(front - 320, front, 0.65 * width, 0, 350, "feet"),
        part(-back + 40, front - 250, 0.94 * width, 400, 1250, "trunk"),
    )


def side_entry(r: random.Random) -> tuple[tuple[Prism, ...], dict[str, float]]:
    """Cabin of a van entered from the right; x forward, y left, y = 0 on its right wall."""
    across = clipped(r, 1520, 45, 1400, 1650)
    free = clipped(r, 1750, 150, 1400, 2150)
    door = clipped(r, 800, 30, 740, 900)
    xb, xf = 0.0, free
    x0 = xf - door - r.uniform(-50, 300)
    ramp = r.uniform(1150, 1500)
    seat = r.random() < 0.6
    parts = [
        box(xb - 700, 0, xb, across + 9, 0, 1100, "rear bench"),
        box(xf, across / 2, xf + 900, across + 9, 0, 1250, "driver's seat"),
        box(xb - 700, -100, x0, 0, 0, 1500, "side wall behind the door"),
        box(x0 + door, -100, xf + 900, 0, 0, 1500, "door pillar"),
        box(x0 - 60, -100 - ramp, x0 + 10, -100, 0, 60, "ramp edge behind"),
        box(x0 + door - 10, -100 - ramp, x0 + door + 60, -100, 0, 60, "ramp edge before"),
    ]
    if seat:
        parts.append(box(xf, 0, xf + 900, across / 2, 0, 1250, "passenger seat"))
    known = {"across": across, "xb": xb, "xf": xf + (0 if seat else 600), "door": x0 + door / 2}
    return tuple(parts), known | {"ramp": ramp}


def rear_entry(r: random.Random) -> tuple[tuple[Prism, ...], dict[str, float]]:
    """A channel from the rear door forwards between two seats; y = 0 on the centre line."""
    channel, door = clipped(r, 790, 30, 720, 880), clipped(r, 780, 30, 720, 880)
    long = clipped(r, 2100, 150, 1700, 2500)
    parts = (
        box(0, channel / 2, long, 760, 0, 500, "left seat"),
        box(0, -760, long, -channel / 2, 0, 500, "right seat"),
        box(-60, door / 2, 0, 760, 0, 1500, "left door post"),
        box(-60, -760, 0, -door / 2, 0, 1500, "right door post"),
    )
    return parts, {"long": long}


def pair(seed: int) -> tuple[str, Scene, Scene]:
    """Kind, and the scene with every measurement at its bad and at its good end."""
    r = random.Random(seed)
    length, width, back = chair(r)
    if r.random() < 0.7:
        obstacles, k = side_entry(r)
        outside = -100 - k["ramp"] - length + back - 60
        start = PoseBox((k["door"] - 15, k["door"] + 15), (outside, outside), (1.55, 1.59))
        low, high = k["xb"] + back + 20, k["xf"] - (length - back) - 20
        goal = PoseBox(
            (low, max(low, high)), (width / 2 + 15, k["across"] - width / 2 - 15), (-0.05, 0.05)
        )
        bounds = ((-700.0, outside - back - 700), (k["xf"] + 900, k["across"]))
        kind = "side"
    else:
        obstacles, k = rear_entry(r)
        behind = -60 - length + back - 200
        start = PoseBox((behind, behind), (r.uniform(-60, 0), r.uniform(0, 60)), (-0.02, 0.02))
        high = k["long"] - (length - back) - 20
        goal = PoseBox(
            (max(200 + back, high - 300), max(200 + back, high)), (-60, 60), (-0.03, 0.03)
        )
        bounds = ((behind - back - 400, -760.0), (k["long"] + 20, 760.0))
        kind = "rear"

    def scene(off: float) -> Scene:
        return Scene(obstacles, body(length, width, back, off), start, goal, bounds)

    return kind, scene(TOLERANCE_MM), scene(-TOLERANCE_MM)


def main(count: int, first: int) -> None:
    from sillway.fit.drive.answer import TOLERANCE, solve
    from sillway.fit.drive.recheck_path import recheck_path

    solve(*pair(first)[1:], explain=False)
    tally: Counter[tuple[str, str]] = Counter()
    times: dict[str, list[float]] = {}
    wrong = 0
    for seed in range(first, first + count):
        kind, bad, good = pair(seed)
        begin = time.process_time()
        end = begin + LIMIT_S
        budget = Budget(late=lambda end=end: time.process_time() > end)
        answer = solve(bad, good, budget, explain=False)
        took = time.process_time() - begin
        what = str(answer.verdict)
        if answer.verdict is Verdict.CLOSE:
            what += f" ({answer.why})"
        tally[kind, what] += 1
        times.setdefault(what, []).append(took)
        if answer.certificate and recheck_path(answer.certificate.to_json()):
            wrong += 1
            print(f"seed {seed}: the certificate does not hold")
    print(f"{'answer':34s} {'side':>6s} {'rear':>6s} {'share':>7s}   CPU s: median   95th    most")
    for what in sorted(times):
        t = sorted(times[what])
        print(
            f"{what:34s} {tally['side', what]:6d} {tally['rear', what]:6d} "
            f"{100 * len(t) / count:6.2f}%   {t[len(t) // 2]:13.3f} {t[int(0.95 * len(t))]:6.3f} "
            f"{t[-1]:7.3f}"
        )
    every = sorted(t for ts in times.values() for t in ts)
    print(
        f"{'all':34s} {'':14s}{'':9s}  {every[len(every) // 2]:13.3f} "
        f"{every[int(0.95 * len(every))]:6.3f} {every[-1]:7.3f}"
    )
    undecided = {w: len(t) for w, t in times.items() if w.startswith(str(Verdict.CLOSE))}
    by_tolerance = undecided.get(f"{Verdict.CLOSE} ({TOLERANCE})", 0)
    rest = sum(undecided.values()) - by_tolerance
    print(
        f"undecided {sum(undecided.values())}: tolerance {by_tolerance}, search {rest} "
        f"({100 * rest / count:.2f}% of all; aim at most 1%); wrong certificates {wrong}"
    )


if __name__ == "__main__":
    arguments = [int(a) for a in sys.argv[1:]]
    main(*(arguments + [300, 0][len(arguments) :]))
