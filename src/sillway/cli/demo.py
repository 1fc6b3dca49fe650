"""``sillway demo``: the main job on the invented lot."""

from __future__ import annotations

import argparse
import datetime as dt
from pathlib import Path

from sillway.cli.fit import DEFAULT_SECONDS, lateness
from sillway.errors import BadInput
from sillway.records.read import read_rider, read_van

VAN, RIDER = Path("vans/heron.json"), Path("riders/hendrick.json")


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway demo``."""
    parser.add_argument(
        "--out", type=Path, default=Path("out"), metavar="FOLDER", help="where the sheet goes"
    )


def demo_folder() -> Path:
    """The folder of the invented lot, beside the code.

    Raises:
        BadInput: if sillway was installed without it.
    """
    folder = Path(__file__).resolve().parents[3] / "demo"
    if not folder.is_dir():
        raise BadInput("demo", folder, "the demo folder of a checkout of sillway")
    return folder


def run(args: argparse.Namespace) -> int:
    """Fit the demo rider to the demo van, print the answer, write and name the sheet."""
    folder = demo_folder()
    van, rider = read_van(folder / VAN), read_rider(folder / RIDER)
    from sillway.fit.fit import fit
    from sillway.show.sheet.fit_sheet import write_fit_sheet
    from sillway.show.text import short_table

    answer = fit(van, rider, dt.datetime.now(dt.UTC).date(), lateness(DEFAULT_SECONDS))
    print(short_table(answer))
    for path in write_fit_sheet(answer, van, rider, args.out):
        print(f"sheet: {path}")
    return 0
