"""``sillway fit VAN RIDER``: the main job."""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import TYPE_CHECKING

from sillway.cli.common import add_json, add_on, print_json, write_json
from sillway.errors import BadInput
from sillway.records.read import read_rider, read_van

if TYPE_CHECKING:
    from collections.abc import Callable

# A seller waits this long with a caller on the phone.
DEFAULT_SECONDS = 4.0


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway fit``."""
    parser.add_argument("van", type=Path, help="van record, .json or .csv")
    parser.add_argument("rider", type=Path, help="rider record, .json or .csv")
    parser.add_argument("--sheet", type=Path, metavar="FOLDER", help="write the sheet there")
    parser.add_argument("--certificate", type=Path, metavar="FILE", help="write what backs a yes")
    parser.add_argument("--proof", type=Path, metavar="FILE", help="write what backs a no")
    add_seconds(parser)
    add_on(parser)
    add_json(parser)


def add_seconds(parser: argparse.ArgumentParser, default: float = DEFAULT_SECONDS) -> None:
    """How long the search may take before it says so."""
    parser.add_argument(
        "--seconds", type=float, default=default, metavar="S",
        help=f"give the search at most so long, then say what stays open (default: {default:g})",
    )  # fmt: skip


def lateness(seconds: float) -> Callable[[], bool]:
    """A stop watch for the computing rooms, which hold no clock.

    Raises:
        BadInput: if it is not a positive number of seconds.
    """
    if not 0 < seconds < float("inf"):
        raise BadInput("--seconds", seconds, "a number of seconds above 0")
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


def run(args: argparse.Namespace) -> int:
    """Fit, print the answer, write what was asked for."""
    van, rider = read_van(args.van), read_rider(args.rider)
    from sillway.fit.fit import fit
    from sillway.show.json_answer import answer_json, backing_json, proof_json
    from sillway.show.text import short_table

    answer = fit(van, rider, args.on, lateness(args.seconds))
    wrote = []
    if args.certificate is not None:
        if answer.certificate is None:
            wrote.append(f"no certificate written: the answer is {answer.verdict}")
        else:
            write_json(args.certificate, backing_json(answer))
            wrote.append(f"certificate: {args.certificate}")
    if args.proof is not None:
        if answer.proof is None:
            wrote.append(f"no proof written: the answer is {answer.verdict}")
        else:
            write_json(args.proof, proof_json(answer.proof))
            wrote.append(f"proof: {args.proof}")
    if args.sheet is not None:
        from sillway.show.sheet.fit_sheet import write_fit_sheet

        wrote += [f"sheet: {path}" for path in write_fit_sheet(answer, van, rider, args.sheet)]
    if args.json:
        print_json(answer_json(answer))
        return 0
    print(short_table(answer))
    for line in wrote:
        print(line)
    return 0
