"""``sillway match RIDER FOLDER``: a rider against every van of a folder, best first."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from sillway.cli.common import add_json, add_on, print_json
from sillway.cli.fit import add_seconds, lateness
from sillway.errors import BadInput
from sillway.records.read import read_rider, read_van


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway match``."""
    parser.add_argument("rider", type=Path, help="rider record")
    parser.add_argument("folder", type=Path, help="folder of van records")
    add_seconds(parser)
    add_on(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Fit the rider to each van; a van that cannot be read is named and left out."""
    rider = read_rider(args.rider)
    files = sorted(p for p in args.folder.glob("*") if p.suffix.lower() in (".json", ".csv"))
    if not args.folder.is_dir() or not files:
        raise BadInput("FOLDER", args.folder, "a folder that holds van records")
    from sillway.fit.match import match_row, sorted_rows

    rows = []
    for number, path in enumerate(files, 1):
        if sys.stderr.isatty():
            print(f"\r{number} of {len(files)} {path.name}\033[K", end="", file=sys.stderr)
        try:
            van = read_van(path)
        except BadInput as error:
            print(f"sillway match: left out: {error.sentence()}", file=sys.stderr)
            continue
        rows.append(match_row(van, rider, args.on, lateness(args.seconds)))
    if sys.stderr.isatty():
        print("\r\033[K", end="", file=sys.stderr)
    rows = sorted_rows(rows)
    if args.json:
        print_json(
            {"rider": rider.name, "on": args.on.isoformat(), "rows": [r.as_json() for r in rows]}
        )
        return 0
    for row in rows:
        print(f"{row.verdict:21} {row.van}")
        print(f"    {row.margin_says}")
        for settle in row.settle[:1]:
            print(f"    to settle: {settle.how}")
    return 0
