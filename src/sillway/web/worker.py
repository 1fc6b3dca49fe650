"""``sillway worker``: does the long work. ``serve`` starts one by itself.

As a module it is that one: a small parent that starts the worker again when it dies, and ends
with the process that started it.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any, Final

from sillway.store.folder import DEFAULT, VARIABLE

# Between two looks whether parent and worker still live.
_LOOK_S: Final = 1.0


def add_parser(subparsers: Any) -> None:
    """Add ``worker`` to the command line."""
    says = "do the long work, as a process of its own"
    add(subparsers.add_parser("worker", help=says, description=says))


def add(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``worker``."""
    parser.add_argument("--data", type=Path, default=Path(os.environ.get(VARIABLE, DEFAULT)))
    parser.add_argument("--once", action="store_true", help="end when there is nothing to do")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """``sillway worker``."""
    from sillway.store.opening import use_folder

    use_folder(args.data)
    from sillway.store.jobs import run_for_ever, run_next

    if args.once:
        while run_next(f"once:{os.getpid()}"):
            pass
        return 0
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    signal.signal(signal.SIGINT, lambda *_: stop.set())
    run_for_ever(stop)
    return 0


def start_beside(data: Path) -> subprocess.Popen[bytes]:
    """Start a worker beside this process; it ends when this process does."""
    command = [sys.executable, "-m", "sillway.web.worker", str(data), str(os.getpid())]
    return subprocess.Popen(command)


def _watch(data: str, parent: int) -> int:
    command = [sys.executable, "-c",
               "import sys; from sillway.web.worker import main; sys.exit(main(sys.argv[1:]))",
               "worker", "--data", data]  # fmt: skip
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    signal.signal(signal.SIGINT, lambda *_: stop.set())
    worker = subprocess.Popen(command)
    while not stop.wait(_LOOK_S):
        if os.name == "posix" and os.getppid() != parent:
            break
        if worker.poll() is not None:
            worker = subprocess.Popen(command)
    worker.terminate()
    worker.wait()
    return 0


def main(argv: list[str]) -> int:
    """A command line with this command only."""
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers(required=True))
    args = parser.parse_args(argv)
    return int(args.run(args))


if __name__ == "__main__":
    raise SystemExit(_watch(sys.argv[1], int(sys.argv[2])))
