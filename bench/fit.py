"""How long a whole fit takes, warm, in seconds of one processor.

Run: python bench/fit.py [--seconds S]. Prints medians of an easy fit, of fits whose way has to be
searched for, and of the whole demo lot against every demo rider, as a list screens it.
"""

from __future__ import annotations

import argparse
import datetime as dt
import statistics
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from sillway.fit.fit import fit
from sillway.fit.result import FitAnswer
from sillway.records.read import read_rider, read_van
from sillway.records.rider import Rider
from sillway.records.van import Van

DEMO = Path(__file__).parents[1] / "demo"
ON = dt.date(2026, 11, 25)
EASY = [("heron", "hendrick"), ("osprey", "hendrick"), ("stork", "hendrick"), ("lapwing", "ilka")]
SEARCHED = [
    ("kestrel", "hendrick"), ("bittern", "hendrick"), ("plover", "marit"), ("kestrel", "joost"),
    ("sandpiper", "ilka"), ("curlew", "hendrick"), ("bittern", "anselm"), ("osprey", "edda"),
]  # fmt: skip
SIGNS = {
    "fits": "F", "fits with conditions": "c", "too close to call": "~", "does not fit": "-",
}  # fmt: skip


def _read(folder: str) -> dict[str, Van | Rider]:
    read = read_van if folder == "vans" else read_rider
    return {p.stem: read(p) for p in sorted((DEMO / folder).iterdir())}


def _timed(
    van: Van | Rider, rider: Van | Rider, seconds: float, *, listed: bool
) -> tuple[float, FitAnswer]:
    assert isinstance(van, Van)
    assert isinstance(rider, Rider)
    start = time.process_time()
    late: Callable[[], bool] = lambda: time.process_time() - start > seconds  # noqa: E731
    answer = fit(van, rider, ON, late, explain=not listed, playback=not listed)
    return time.process_time() - start, answer


def _row(name: str, times: list[float]) -> None:
    print(f"{name:44} {len(times):4} {statistics.median(times):8.3f} {max(times):8.3f}")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=4.0, help="limit of one fit")
    parser.add_argument("--times", type=int, default=5, help="runs of each pair")
    args = parser.parse_args()
    vans, riders = _read("vans"), _read("riders")
    for van, rider in (*EASY, *SEARCHED):
        _timed(vans[van], riders[rider], args.seconds, listed=False)
    print(f"{'seconds of one processor':44} {'fits':>4} {'median':>8} {'worst':>8}")
    for name, pairs in (("easy way, with sheet data", EASY), ("searched way", SEARCHED)):
        times = [
            _timed(vans[v], riders[r], args.seconds, listed=False)[0]
            for v, r in pairs
            for _ in range(args.times)
        ]
        _row(name, times)
    times, verdicts = [], Counter[str]()
    rows = []
    for rider_name, rider_record in riders.items():
        row = []
        for van_record in vans.values():
            took, answer = _timed(van_record, rider_record, args.seconds, listed=True)
            times.append(took)
            verdicts[str(answer.verdict)] += 1
            row.append(SIGNS[answer.verdict])
        rows.append(f"{rider_name:10} " + " ".join(f"{sign:^6}" for sign in row))
    _row(f"the demo lot as a list ({sum(times):.1f} s in all)", times)
    print(f"\n{'':10} " + " ".join(f"{name[:6]:6}" for name in vans))
    print("\n".join(rows))
    print(", ".join(f"{n} {verdict}" for verdict, n in verdicts.most_common()))


if __name__ == "__main__":
    main()
