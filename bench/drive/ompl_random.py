"""Random scenes against OMPL: where we prove a no, does it find a way? Where it finds one, do we?

    python bench/drive/ompl_random.py [--count 20] [--first 1000] [--limit 2]    nightly 500

The scenes of tests/fit/drive/random_scenes.py, from a first seed that the tests do not use.
Validity by shapely, the limit in CPU seconds. Prints every contradiction and ends with status 1
if there is one.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter

import scenes  # noqa: F401  (names the folder of the tests' helpers)
from tally import Row, progress, table

from random_scenes import GREY_MM, compare, quiet, random_scene  # isort: skip

FIRST = 1000


def row(count: int, first: int = FIRST, limit_s: float = 2.0) -> Row:
    """Counts by verdict and by what the planner found; contradictions in words."""
    quiet(7)
    tally: Counter[str] = Counter()
    wrong: list[str] = []
    for seed in range(first, first + count):
        if (seed - first) % 10 == 0:
            progress(f"random scenes against OMPL: {seed - first} of {count}, wrong {len(wrong)}")
        told = compare(random_scene(seed), limit_s)
        wrong += [f"seed {seed}: {words}" for words in told.contradictions]
        tally[str(told.verdict)] += 1
        if told.clearance_mm is None:
            tally["found no way"] += 1
            tally[f"found no way: {told.verdict}"] += 1
        elif told.clearance_mm > GREY_MM:
            tally["found a clear way"] += 1
        else:
            tally["colliding" if told.clearance_mm <= 0 else "within the grey band"] += 1
    return {
        "scenes": count,
        "fits": tally["fits"],
        "does_not_fit": tally["does not fit"],
        "too_close": tally["too close to call"],
        "ompl_found_clear": tally["found a clear way"],
        "ompl_found_in_grey_band": tally["within the grey band"],
        "ompl_found_colliding": tally["colliding"],
        "ompl_found_none": tally["found no way"],
        "of_which_we_fit": tally["found no way: fits"],
        "contradictions": wrong,
    }


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--count", type=int, default=20)
    words.add_argument("--first", type=int, default=FIRST)
    words.add_argument("--limit", type=float, default=2.0)
    given = words.parse_args()
    seen = row(given.count, given.first, given.limit)
    contradictions = seen.pop("contradictions")
    print(table([seen]))
    print(f"contradictions: {contradictions or 'none'}")
    sys.exit(1 if contradictions else 0)
