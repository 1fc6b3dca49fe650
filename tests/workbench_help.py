"""Helps of the tests of store and web: demo documents, and lots in processes of their own."""

import json
import os
import subprocess
import sys
import textwrap
from pathlib import Path

ROOT = Path(__file__).parents[1]


def demo(kind: str, place: int = 0) -> dict:
    """A document of the demo lot."""
    path = sorted((ROOT / "demo" / f"{kind}s").glob("*.json"))[place]
    return json.loads(path.read_text("utf-8"))


def lot_env(data: Path, **more: str) -> dict[str, str]:
    """The environment of a process that works on its own data folder."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("SILLWAY_")}
    kept.pop("DJANGO_SETTINGS_MODULE", None)
    path = os.pathsep.join([str(ROOT / "tests"), str(ROOT / "src")])
    return {**kept, "SILLWAY_DATA": str(data), "PYTHONPATH": path, **more}


def in_lot(data: Path, code: str, **more: str) -> str:
    """Run code on a lot in a process of its own; answers what it printed."""
    head = "from pathlib import Path\nfrom sillway.store.opening import open_store\n"
    head += f"open_store(Path({str(data)!r}))\n"
    done = subprocess.run(
        [sys.executable, "-c", head + textwrap.dedent(code)],
        env=lot_env(data, **more), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout
