"""Random van and chair pairs of realistic size: how often is the answer undecided, and why?

    python bench/drive/pairs.py [count] [first seed]        default 300; nightly 10000

The distribution below is invented, not measured: sizes such as lowered-floor vans and occupied
chairs have. It was fixed before anything was measured with it; do not tune it to the search.
Times are CPU seconds of this process (single-threaded), so that a busy machine does not show.
"""

from __future__ import annotations

import random
import sys
from collections import Counter

from scenes import block
from tally import Row, clocked, percentile, progress, table, times, within

from sillway.fit.drive.answer import TOLERANCE, solve
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import PoseBox, Prism, Scene, Verdict

# Each edge of a chair and of a cabin read off a tape is off by at most this [mm]; both together
# are put on the chair.
TOLERANCE_MM = 6.0
LIMIT_S = 3.0
KINDS = ("side", "rear")


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
        return block(x0 - off, -w / 2 - off, x1 + off, w / 2 + off, name, (z0, z1))

    return (
        part(-back, front - 300, width, 0, 400, "base"),
        part(front - 320, front, 0.65 * width, 0, 350, "feet"),
        part(-back + 40, front - 250, 0.94 * width, 400, 1250, "trunk"),
    )


def side_cabin(r: random.Random) -> tuple[tuple[Prism, ...], dict[str, float]]:
    """Cabin of a van entered from the right; x forward, y left, y = 0 on its right wall."""
    across = clipped(r, 1520, 45, 1400, 1650)
    free = clipped(r, 1750, 150, 1400, 2150)
    door = clipped(r, 800, 30, 740, 900)
    xb, xf = 0.0, free
    x0 = xf - door - r.uniform(-50, 300)
    ramp = r.uniform(1150, 1500)
    seat = r.random() < 0.6
    parts = [
        block(xb - 700, 0, xb, across + 9, "rear bench", (0, 1100)),
        block(xf, across / 2, xf + 900, across + 9, "driver's seat", (0, 1250)),
        block(xb - 700, -100, x0, 0, "side wall behind the door", (0, 1500)),
        block(x0 + door, -100, xf + 900, 0, "door pillar", (0, 1500)),
        block(x0 - 60, -100 - ramp, x0 + 10, -100, "ramp edge behind", (0, 60)),
        block(x0 + door - 10, -100 - ramp, x0 + door + 60, -100, "ramp edge before", (0, 60)),
    ]
    if seat:
        parts.append(block(xf, 0, xf + 900, across / 2, "passenger seat", (0, 1250)))
    known = {"across": across, "xb": xb, "xf": xf + (0 if seat else 600), "door": x0 + door / 2}
    return tuple(parts), known | {"ramp": ramp}


def rear_cabin(r: random.Random) -> tuple[tuple[Prism, ...], dict[str, float]]:
    """A channel from the rear door forwards between two seats; y = 0 on the centre line."""
    channel, door = clipped(r, 790, 30, 720, 880), clipped(r, 780, 30, 720, 880)
    long = clipped(r, 2100, 150, 1700, 2500)
    parts = (
        block(0, channel / 2, long, 760, "left seat", (0, 500)),
        block(0, -760, long, -channel / 2, "right seat", (0, 500)),
        block(-60, door / 2, 0, 760, "left door post", (0, 1500)),
        block(-60, -760, 0, -door / 2, "right door post", (0, 1500)),
    )
    return parts, {"long": long}


def pair(seed: int) -> tuple[str, Scene, Scene]:
    """Kind, and the scene with every measurement at its bad and at its good end."""
    r = random.Random(seed)
    length, width, back = chair(r)
    if r.random() < 0.7:
        obstacles, k = side_cabin(r)
        outside = -100 - k["ramp"] - length + back - 60
        start = PoseBox((k["door"] - 15, k["door"] + 15), (outside, outside), (1.55, 1.59))
        low, high = k["xb"] + back + 20, k["xf"] - (length - back) - 20
        goal = PoseBox(
            (low, max(low, high)), (width / 2 + 15, k["across"] - width / 2 - 15), (-0.05, 0.05)
        )
        bounds = ((-700.0, outside - back - 700), (k["xf"] + 900, k["across"]))
        kind = "side"
    else:
        obstacles, k = rear_cabin(r)
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


def rows(count: int, first: int = 0) -> tuple[list[Row], Row]:
    """By answer; and the sums that the aims speak of."""
    solve(*pair(first)[1:], explain=False)
    tally: Counter[tuple[str, str]] = Counter()
    took: dict[str, list[float]] = {}
    wrong = 0
    for seed in range(first, first + count):
        if (seed - first) % 20 == 0:
            progress(f"pairs: {seed - first} of {count}")
        kind, bad, good = pair(seed)
        answer, seconds = clocked(solve, bad, good, within(LIMIT_S), explain=False)
        what = str(answer.verdict)
        if answer.verdict is Verdict.CLOSE:
            what += f" ({answer.why})"
        tally[kind, what] += 1
        took.setdefault(what, []).append(seconds)
        if answer.certificate and recheck_path(answer.certificate.to_json()):
            wrong += 1
            progress(f"seed {seed}: the certificate does not hold")
    every = [seconds for some in took.values() for seconds in some]
    out = [
        {
            "answer": what,
            "side": tally["side", what],
            "rear": tally["rear", what],
            "share_percent": round(100 * len(some) / count, 2),
            **times(some),
        }
        for what, some in [*sorted(took.items()), ("all", every)]
    ]
    out[-1] |= {key: sum(n for (kind, _), n in tally.items() if kind == key) for key in KINDS}
    undecided = sum(len(some) for what, some in took.items() if what.startswith(Verdict.CLOSE))
    tolerance = len(took.get(f"{Verdict.CLOSE} ({TOLERANCE})", []))
    return out, {
        "pairs": count,
        "undecided": undecided,
        "by_tolerance": tolerance,
        "by_search": undecided - tolerance,
        "by_search_percent": round(100 * (undecided - tolerance) / count, 2),
        "over_3_s": sum(seconds > LIMIT_S for seconds in every),
        "p99_ms": round(1e3 * percentile(every, 0.99), 1),
        "wrong_certificates": wrong,
    }


if __name__ == "__main__":
    arguments = [int(a) for a in sys.argv[1:]]
    by_answer, sums = rows(*(arguments + [300, 0][len(arguments) :]))
    print(table(by_answer), table([sums]), sep="\n\n")
