"""The command line. Commands are imported when called, so that ``--help`` costs nothing."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from sillway.errors import BadInput

BAD_INPUT = 2
STOPPED = 130
FAULT = 70
SHOW_FAULTS = "SILLWAY_SHOW_FAULTS"

# Command → (module with `add(parser)` and `run(args) -> int`, what it does, example).
COMMANDS: dict[str, tuple[str, str, str]] = {
    "fit": (
        "sillway.cli.fit",
        "will this rider, in this chair, ride in this van?",
        "sillway fit demo/vans/heron.json demo/riders/hendrick.json --sheet out",
    ),
    "match": (
        "sillway.cli.match",
        "a rider against every van in a folder, best first",
        "sillway match demo/riders/hendrick.json demo/vans --json",
    ),
    "drive": (
        "sillway.cli.drive",
        "the bare manoeuvre question of a scene file",
        "sillway drive scene.json --json",
    ),
    "recheck": (
        "sillway.cli.recheck",
        "test a certificate or a proof again, by code that shares none with what made it",
        "sillway recheck certificate.json",
    ),
    "new": (
        "sillway.cli.new",
        "write a commented template for a van or a rider, to fill",
        "sillway new rider rider.csv",
    ),
    "rules": (
        "sillway.cli.rules",
        "list the limits with their sources",
        "sillway rules ramp",
    ),
    "serve": (
        "sillway.web.serve",
        "the workbench: the lot in a browser",
        "sillway serve --demo",
    ),
    "worker": (
        "sillway.web.worker",
        "do the workbench's background work in a process of its own",
        "sillway worker --data lot-data",
    ),
    "backup": (
        "sillway.store.backup",
        "put the whole lot into one encrypted file, while in use",
        "sillway backup lot.backup",
    ),
    "restore": (
        "sillway.store.restore",
        "bring a backup back",
        "sillway restore lot.backup --data new-lot",
    ),
    "doctor": (
        "sillway.store.doctor",
        "name what is wrong with an installation",
        "sillway doctor",
    ),
    "demo": (
        "sillway.cli.demo",
        "fit the demo rider to the demo van and write the sheet",
        "sillway demo",
    ),
}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """One line, as every other error."""
        self.exit(BAD_INPUT, f"{self.prog}: {message} (see {self.prog} --help)\n")


def parser_for(command: str | None) -> argparse.ArgumentParser:
    """The parser, with the arguments of one command; the others are only named."""
    parser = _Parser(
        prog="sillway",
        description="Will this rider, in this chair, ride in this van? Proved, or it says not.",
        epilog="sillway is a measuring and record-keeping aid, not an engineering certification.",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)
    for name, (module, does, example) in COMMANDS.items():
        sub = commands.add_parser(
            name, help=does, description=f"{does[0].upper()}{does[1:]}.",
            epilog=f"example: {example}",
        )  # fmt: skip
        if name == command:
            importlib.import_module(module).add(sub)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command. Returns 0 for any answer, 2 for bad input with one line on stderr."""
    argv = list(sys.argv[1:] if argv is None else argv)
    command = next((a for a in argv if not a.startswith("-")), None)
    parser = parser_for(command)
    args = parser.parse_args(argv)
    if args.command is None:
        parser.print_help()
        return 0
    module = importlib.import_module(COMMANDS[args.command][0])
    try:
        return int(module.run(args))
    except BadInput as error:
        return _refuse(args.command, error.sentence())
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _refuse(args.command, f"{where}{error.strerror or error}")
    except KeyboardInterrupt:
        return STOPPED
    except Exception as error:
        if os.environ.get(SHOW_FAULTS):
            raise
        says = f"a fault in sillway itself ({type(error).__name__}: {error}); nothing was written"
        return _refuse(args.command, f"{says}; set {SHOW_FAULTS}=1 to see where", FAULT)


def _refuse(command: str, sentence: str, code: int = BAD_INPUT) -> int:
    print(f"sillway {command}: {' '.join(sentence.split())}", file=sys.stderr)
    return code
