"""``sillway rules``: the limits with their sources."""

from __future__ import annotations

import argparse

from sillway.cli.common import add_json, add_on, print_json


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``sillway rules``."""
    parser.add_argument("word", nargs="?", default="", help="only rules whose id has this word")
    add_on(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List the rules in force."""
    from sillway import rules
    from sillway.rules.page import value_of

    in_force = []
    for rule_id in rules.ids():
        if args.word not in rule_id:
            continue
        try:
            in_force.append(rules.rule(rule_id, args.on))
        except rules.RuleError:
            continue  # not in force on that day
    if args.json:
        rows = [
            {
                "id": r.id, "question": r.question, "kind": r.kind, "value": value_of(r),
                "unit": r.unit, "source": r.source, "in_force": r.in_force.isoformat(),
                "provenance": r.provenance, "checked": r.checked.isoformat(), "note": r.note,
            }
            for r in in_force
        ]  # fmt: skip
        print_json({"on": args.on.isoformat(), "rules": rows})
        return 0
    for r in in_force:
        print(f"{r.id}: {value_of(r)} [{r.kind}]")
        print(f"    {r.question}")
        print(f"    {r.source} ({r.provenance}; in force {r.in_force}; checked {r.checked})")
    if not in_force:
        print(f"no rule in force on {args.on} has {args.word!r} in its id")
    return 0
