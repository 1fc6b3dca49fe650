"""What commands share: the day, printing JSON, writing a file whole or not at all."""

from __future__ import annotations

import argparse
import datetime as dt
import json
import os
from pathlib import Path
from typing import Any

from sillway.errors import BadInput


def day(text: str) -> dt.date:
    """A day for ``--on``, as YYYY-MM-DD."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a day such as 2026-11-25") from None


def add_on(parser: argparse.ArgumentParser) -> None:
    """The day whose rules hold."""
    parser.add_argument(
        "--on", type=day, default=dt.datetime.now(dt.UTC).date(), metavar="DAY",
        help="the day whose rules hold (default: today)",
    )  # fmt: skip


def add_json(parser: argparse.ArgumentParser) -> None:
    """Answer as one JSON object."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def print_json(value: Any) -> None:
    """One JSON object on stdout; never NaN, which JSON does not know."""
    print(json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1))


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole or not at all.

    Raises:
        BadInput: if the folder is missing or the path is a folder.
    """
    if path.is_dir():
        raise BadInput("FILE", path, "a file, not a folder")
    if not path.parent.is_dir():
        raise BadInput("FILE", path, "a file in a folder that exists")
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        temporary.write_text(text, encoding="utf-8")
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def write_json(path: Path, value: Any) -> None:
    """Write one JSON object, whole or not at all."""
    write_whole(path, json.dumps(value, ensure_ascii=False, allow_nan=False) + "\n")
