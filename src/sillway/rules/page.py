"""The page of rules, ``docs/rules.md``, written from the book: ``python -m sillway.rules.page``."""

from __future__ import annotations

import sys
from collections.abc import Mapping

from sillway.rules.load import Book, book
from sillway.rules.model import KINDS, Cell, Rule, Value

HEAD = """# Rules

Every limit sillway judges by. Written from `src/sillway/rules/*.toml` by
`python -m sillway.rules.page`; change the TOML, not this page.

*Seen* means that a copy of the text, or of a summary of it, was read; *from memory* that it was
not; *common practice* that there is no source and the owner may set another figure. Such figures
of our own carry the day 2020-01-01, before any record kept here. Where a source prints inches and
millimetres, both stand: neither is worked out from the other. A day in force is from memory,
save 1991-10-07, 2008-06-02 and 2017-01-13, which were seen.

| kind | what a breach does |
|---|---|
"""


def shown(value: Value, unit: str) -> str:
    """A value in words, with its unit.

    >>> shown((30.0, 60.0), "deg")
    '30 to 60 deg'
    >>> shown(6.0, "1:n")
    '1:6'
    >>> shown({"tape": 3.0, "reported": 13.0}, "mm")
    'tape 3, reported 13 mm'
    """
    if isinstance(value, Mapping):
        cells = ", ".join(f"{key} {_cell(cell, unit)}" for key, cell in value.items())
        return _with_unit(cells, unit)
    return _with_unit(_cell(value, unit), unit)


def _cell(cell: Cell, unit: str) -> str:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, tuple):
        return f"{_cell(cell[0], unit)} to {_cell(cell[1], unit)}"
    figure = f"{cell:.14g}"
    return f"1:{figure}" if unit == "1:n" else figure


def _with_unit(cells: str, unit: str) -> str:
    if unit in ("text", "1:n", "ratio", "count"):
        return cells
    return f"{cells} %" if unit == "percent" else f"{cells} {unit}"


def value_of(rule: Rule) -> str:
    """The value as printed, with the metric figure where the source prints one too."""
    told = shown(rule.value, rule.unit)
    if rule.value_si is not None:
        told += f" ({shown(rule.value_si, rule.unit_si)})"
    return told


def markdown(rules: Book) -> str:
    """The whole page, one table to a file of rules."""
    lines = [HEAD.rstrip("\n")]
    lines += [f"| {kind} | {what} |" for kind, what in KINDS.items()]
    by_file: dict[str, list[Rule]] = {}
    for rule in rules:
        by_file.setdefault(rule.file, []).append(rule)
    for file in sorted(by_file):
        lines += ["", f"## {file.removesuffix('.toml')}", ""]
        lines += [
            "| id | question | kind | value | source | from | seen? |",
            "|---|---|---|---|---|---|---|",
        ]
        lines += [_row(rule) for rule in by_file[file]]
    return "\n".join(lines) + "\n"


def _row(rule: Rule) -> str:
    note = f" {rule.note}" if rule.note else ""
    cells = (
        f"`{rule.id}`",
        rule.question,
        rule.kind,
        value_of(rule),
        rule.source,
        rule.in_force.isoformat(),
        f"{rule.provenance}.{note}",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    sys.stdout.write(markdown(book()))
