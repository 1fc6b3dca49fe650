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

from sillway.fit.drive.scene import PoseBox, Prism, Scene, Verdict

# The peak is told by the process itself: a parent sees no less than its own size at the fork.
PEAK = """
import atexit, sys
def peak():
    for line in open("/proc/self/status"):
        if line.startswith("VmHWM"):
            print("peak", line.split()[1], file=sys.stderr)
atexit.register(peak)
"""
NOTHING = PEAK + "import sillway.fit.drive.scene"
WARM = PEAK + "from sillway.fit.drive.warm import warm; warm()"
# Patience on the wall clock, so that a busy machine still ends in the answer.
PATIENT = ("--seconds", "60")
DRIVE = PEAK + "from sillway.cli import main; sys.exit(main())"


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


def once(command: list[str], told: str) -> tuple[float, float, float]:
    """Wall and CPU seconds, peak memory [MB] of one process.

    Raises:
        RuntimeError: it failed, or did not say what it should.
    """
    before = os.times()
    begin = time.perf_counter()
    child = subprocess.run(command, capture_output=True, text=True, check=False)
    wall = time.perf_counter() - begin
    after = os.times()
    cpu = after.children_user + after.children_system
    cpu -= before.children_user + before.children_system
    if child.returncode != 0 or told not in child.stdout:
        raise RuntimeError(f"{command[3:]} ended with {child.returncode}: {child.stderr}")
    return wall, cpu, int(child.stderr.split("peak")[1]) / 1024


def rows(runs: int) -> list[Row]:
    out: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        commands = {
            "Python and the records alone": ([sys.executable, "-c", NOTHING], ""),
            "the compiled code loaded": ([sys.executable, "-c", WARM], ""),
        }
        for name, scene, told in (
            ("a yes, sillway drive", set_side_entry(50, 400), Verdict.FITS),
            ("a no, sillway drive", set_corner(-4, 575), Verdict.NO),
            ("a close call, sillway drive", set_side_entry(30, 575), Verdict.CLOSE),
        ):
            file = Path(folder) / f"{len(commands)}.json"
            file.write_text(scene_file(scene), encoding="utf-8")
            command = [sys.executable, "-c", DRIVE, "drive", str(file), "--json", *PATIENT]
            commands[name] = (command, f'"{told}"')
        for name, (command, words) in commands.items():
            progress(f"cold start: {name}")
            once(command, words)
            seen = [once(command, words) for _ in range(runs)]
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
