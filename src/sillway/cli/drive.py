"""``sillway drive SCENE.json``: the bare manoeuvre question."""

from __future__ import annotations

import argparse
from pathlib import Path

from sillway.cli.common import add_json, print_json
from sillway.cli.fit import add_seconds, lateness
from sillway.records.read import json_from_file

# The clock is looked at between steps of the search, the longest of which takes half a second.
DEFAULT_SECONDS = 2.5


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway drive``."""
    parser.add_argument("scene", type=Path, help="scene file (docs/formats.md)")
    add_seconds(parser, DEFAULT_SECONDS)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Answer the scene."""
    from sillway.fit.drive.read import drive_scene

    answer = drive_scene(json_from_file(args.scene), lateness(args.seconds))
    if args.json:
        print_json(answer)
        return 0
    print(answer["verdict"])
    if answer.get("clearance_mm") is not None:
        print(f"clearance at least {answer['clearance_mm']:.1f} mm")
    for pose in answer.get("path") or ():
        print("  x {:.1f} mm  y {:.1f} mm  heading {:.4f} rad".format(*pose))
    return 0
