"""``sillway recheck FILE``: test a certificate or a proof again, independently."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from sillway.cli.common import add_json, print_json
from sillway.errors import BadInput
from sillway.records.read import json_from_file

# A proof of 400,000 boxes takes some 100 MB.
MOST_BYTES = 300_000_000


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway recheck``."""
    parser.add_argument("file", type=Path, help="what --certificate or --proof wrote")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the faults found, or that there are none."""
    given = json_from_file(args.file, MOST_BYTES)
    if "path" in given:
        from sillway.fit.drive.recheck_path import recheck_path

        kind, faults = "certificate", recheck_path(given)
        for other in given.get("others", ()):
            faults += [f"{other['name']}: {fault}" for fault in recheck_path(other)]
    elif "proofs" in given:
        from sillway.fit.drive.proof import from_json
        from sillway.fit.drive.recheck_proof import recheck_proof

        kind, faults = "proof", []
        for one in given["proofs"]:
            proof = from_json(json.dumps(one["drive"]))
            faults += [f"{one['covers']}: {fault}" for fault in recheck_proof(proof)]
    else:
        raise BadInput("FILE", args.file, "a file written by --certificate or --proof")
    if args.json:
        print_json({"kind": kind, "sound": not faults, "faults": faults})
        return 0
    print(f"{kind}: {'sound' if not faults else f'{len(faults)} faults'}")
    for fault in faults:
        print(f"  {fault}")
    return 0
