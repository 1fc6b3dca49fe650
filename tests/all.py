"""The one test command: format, lint, types, then every test. Called by ``run.py test``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STEPS = (
    ("format", ["-m", "ruff", "format", "--check", "--quiet", "."]),
    ("lint", ["-m", "ruff", "check", "--quiet", "."]),
    ("types", ["-m", "mypy"]),
    ("tests", ["-m", "pytest", "-n", "2", "--dist", "worksteal"]),
)


def main(argv: list[str]) -> int:
    """Run all steps, or with arguments only pytest with them. Returns the first failure's code."""
    if argv:
        return subprocess.run(
            [sys.executable, "-m", "pytest", *argv], cwd=ROOT, check=False
        ).returncode
    for name, args in STEPS:
        sys.stderr.write(f"== {name}\n")
        code = subprocess.run([sys.executable, *args], cwd=ROOT, check=False).returncode
        if code:
            sys.stderr.write(f"== {name} failed\n")
            return code
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
