"""Measure everything the drive engine claims, keep it, and write docs/drive.md and docs/drive.svg.

    python bench/drive/figures.py [--size small|nightly] [--only SECTION,…] [--render]

Each section is kept in figures.json with its date, machine, load and command, so that one can be
measured again without the others; ``--render`` only writes the pages anew. Times are CPU time of
this process, one thread, warm; the cold start alone also tells the clock on the wall.
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
import platform
import resource
import sys
import time
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any

import cold
import ompl_random
import ompl_side_by_side
import page
import pairs
import proof
import rechecks
import search
from plot import plot
from scenes import FAMILIES, family
from tally import progress

HERE = Path(__file__).parent
KEPT = HERE / "figures.json"
DOCS = HERE.parents[1] / "docs"
SEED = 1
SIZES = {
    "small": {
        "makes": 5,
        "few": 3,
        "drives": 30,
        "pairs": 60,
        "runs": 2,
        "limit_s": 1,
        "random": 12,
        "random_limit_s": 1,
        "rechecks": 1500,
        "cold": 2,
    },
    "nightly": {
        "makes": 100,
        "few": 10,
        "drives": 2000,
        "pairs": 10_000,
        "runs": 20,
        "limit_s": 5,
        "random": 500,
        "random_limit_s": 2,
        "rechecks": 100_000,
        "cold": 10,
    },
}
LIBRARIES = ("numba", "numpy", "shapely", "ompl", "python-fcl")
Size = dict[str, int]


def _makes(count: int) -> dict[str, Any]:
    progress(f"families about a threshold, {count} each")
    return {name: family(name, SEED, count) for name in FAMILIES}


def _subdivision(size: Size) -> Any:
    makes = _makes(size["makes"])
    few = {name: some[: max(5, size["makes"] // 4)] for name, some in makes.items()}
    return {
        "verdicts": proof.verdicts(makes),
        "brackets": proof.bracket_rows(few),
        "proofs": proof.recheck_rows(few),
    }


def _growth(size: Size) -> Any:
    return {
        "obstacles": proof.growth_rows(SEED, size["few"]),
        "resolution": proof.resolution_rows(SEED, size["few"]),
        "kernel": [proof.kernel_row(SEED)],
    }


def _pairs(size: Size) -> Any:
    by_answer, sums = pairs.rows(size["pairs"])
    return {"by_answer": by_answer, "sums": [sums]}


SECTIONS: dict[str, Callable[[Size], Any]] = {
    "subdivision": _subdivision,
    "growth": _growth,
    "drives": lambda size: {"rows": search.rows(size["drives"])},
    "pairs": _pairs,
    "ompl": lambda size: {"rows": ompl_side_by_side.rows(size["runs"], size["limit_s"])},
    "random": lambda size: {
        "rows": [ompl_random.row(size["random"], limit_s=size["random_limit_s"])]
    },
    "rechecks": lambda size: {"rows": [rechecks.row(size["rechecks"])]},
    "cold": lambda size: {"rows": cold.rows(size["cold"])},
}


def _processor() -> str:
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    names = [line.split(":")[1].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.machine()


def measure(name: str, size: str) -> dict[str, Any]:
    before, cpu, wall = os.getloadavg()[0], time.process_time(), time.perf_counter()
    told = SECTIONS[name](SIZES[size])
    return {
        "date": datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d %H:%M UTC"),
        "size": size,
        "command": f"python bench/drive/figures.py --size {size} --only {name}",
        "machine": f"{_processor()}, {os.cpu_count()} cores",
        "python": platform.python_version(),
        "libraries": {library: version(library) for library in LIBRARIES},
        "load_before_and_after": [round(before, 1), round(os.getloadavg()[0], 1)],
        "cpu_s": round(time.process_time() - cpu, 1),
        "wall_s": round(time.perf_counter() - wall, 1),
        "peak_memory_MB": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        **told,
    }


def render(kept: dict[str, Any]) -> None:
    (DOCS / "drive.md").write_text(page.page(kept), encoding="utf-8")
    if "subdivision" in kept and "drives" in kept:
        seen = kept["subdivision"]
        caption = f"{seen['machine']}, {seen['date']}, size {seen['size']}. Logarithmic both ways."
        picture = plot(seen["verdicts"], kept["drives"]["rows"], caption)
        (DOCS / "drive.svg").write_text(picture, encoding="utf-8")


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--size", choices=SIZES, default="small")
    words.add_argument("--only", default=",".join(SECTIONS), help="sections, with commas between")
    words.add_argument("--render", action="store_true", help="measure nothing")
    given = words.parse_args()
    wanted = [] if given.render else given.only.split(",")
    if unknown := set(wanted) - set(SECTIONS):
        words.error(f"no such section: {', '.join(unknown)}; there are {', '.join(SECTIONS)}")
    kept = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    for name in wanted:
        kept[name] = measure(name, given.size)
        text = json.dumps(kept, indent=1, ensure_ascii=False) + "\n"
        KEPT.write_text(text, encoding="utf-8")
        progress(f"{name}: {kept[name]['cpu_s']} s CPU")
    render(kept)
    wrong = page.faults(kept)
    if wrong:
        print(*wrong, sep="\n", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
