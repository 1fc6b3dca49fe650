"""What a new process costs that drives, with a warm cache: wall and CPU seconds, memory.

    python bench/drive/cold.py [runs]       default 3; nightly 10

Each run is a process of its own, as a user has it. The first one only fills the cache of compiled
code and is not counted; nor is the file system's cache cold.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from scenes import set_corner, set_side_entry
from tally import Row, percentile, progress, table

from sillway.fit.drive.scene import PoseBox, Prism, Scene

NOTHING = "import sillway.fit.drive.scene"
WARM = "from sillway.fit.drive.warm import warm; warm()"


def scene_file(scene: Scene) -> str:
    """As ``sillway drive`` reads it."""

    def prism(p: Prism) -> dict[str, object]:
        return {"polygon": p.polygon, "z": p.z, "name": p.name}

    def ends(region: PoseBox) -> dict[str, object]:
        return {"x": region.x, "y": region.y, "theta": region.theta}

    return json.dumps(
        {
            "obstacles": [prism(o) for o in scene.obstacles],
            "body": [prism(b) for b in scene.body],
            "start": ends(scene.start),
            "goal": ends(scene.goal),
            "bounds": scene.bounds,
        }
    )


def once(command: list[str]) -> tuple[float, float, float]:
    """Wall and CPU seconds, peak memory [MB] of one process and what it starts.

    Raises:
        RuntimeError: it ended with an error (a status above 2 or a traceback).
    """
    begin = time.perf_counter()
    with tempfile.TemporaryFile() as told:
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=told)
        _, status, used = os.wait4(child.pid, 0)
        wall = time.perf_counter() - begin
        child.returncode = os.waitstatus_to_exitcode(status)
        told.seek(0)
        words = told.read().decode()
    if "Traceback" in words or not 0 <= child.returncode <= 2:
        raise RuntimeError(f"{command}: {words}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def rows(runs: int) -> list[Row]:
    out: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        commands = {
            "Python and the records alone": [sys.executable, "-c", NOTHING],
            "the compiled code loaded": [sys.executable, "-c", WARM],
        }
        for name, scene in (
            ("a yes, sillway drive", set_side_entry(30, 575)),
            ("a no, sillway drive", set_corner(-4, 575)),
        ):
            file = Path(folder) / f"{len(commands)}.json"
            file.write_text(scene_file(scene), encoding="utf-8")
            commands[name] = [sys.executable, "-m", "sillway.cli", "drive", str(file), "--json"]
        for name, command in commands.items():
            progress(f"cold start: {name}")
            once(command)
            seen = [once(command) for _ in range(runs)]
            wall, cpu = [one[0] for one in seen], [one[1] for one in seen]
            out.append(
                {
                    "process": name,
                    "runs": runs,
                    "wall_median_s": round(percentile(wall, 0.5), 2),
                    "wall_most_s": round(max(wall), 2),
                    "cpu_median_s": round(percentile(cpu, 0.5), 2),
                    "cpu_most_s": round(max(cpu), 2),
                    "memory_MB": round(max(one[2] for one in seen)),
                }
            )
    return out


if __name__ == "__main__":
    print(table(rows(int(sys.argv[1]) if len(sys.argv) > 1 else 3)))
