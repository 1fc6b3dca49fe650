"""``sillway new van|rider``: a template to fill."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from sillway.cli.common import write_whole
from sillway.errors import BadInput


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway new``."""
    parser.add_argument("what", choices=("van", "rider"), help="which record")
    parser.add_argument("file", type=Path, nargs="?", help="file to write (default: print it)")


def run(args: argparse.Namespace) -> int:
    """Write the template; an existing file is left alone."""
    from sillway.records.template import template

    text = template(args.what)
    if args.file is None:
        sys.stdout.write(text)
        return 0
    if args.file.exists():
        raise BadInput("FILE", args.file, "a name that is not taken; nothing was overwritten")
    write_whole(args.file, text)
    print(f"wrote {args.file}; fill the value column, then: sillway fit VAN RIDER")
    return 0
