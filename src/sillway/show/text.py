"""The answer for a terminal: short, plain, no colour needed."""

from __future__ import annotations

import textwrap
from typing import Final

from sillway.fit.check import Finding
from sillway.fit.result import FitAnswer
from sillway.show.draw.svg import safe
from sillway.show.words import backing, deciding_says, headline, margin_says, seating
from sillway.units import Shown

_WIDTH: Final = 88
_MOST_CHECKS: Final = 8
_MOST_LINES: Final = 2
_MOST_ITEMS: Final = 2


def short_table(answer: FitAnswer) -> str:
    """Verdict, conditions, what would settle it, arrangement and the telling checks."""
    lines = [f"{headline(answer).upper()}  {answer.rider} in {answer.van}"]
    for sentence in (deciding_says(answer), backing(answer)):
        lines += _wrapped("", sentence, _MOST_LINES + 1)
    conditions = [f"{c.says} (settled by {c.who})" for c in answer.conditions]
    lines += _items("conditions", conditions)
    lines += _items("settle", [s.how for s in answer.settle])
    if answer.arrangement is not None:
        seats = "; ".join(
            f"{who}: {where}" for who, where in seating(answer.arrangement, answer.rider)
        )
        lines += _wrapped("who sits where", seats)
        lines += _wrapped("to change", "; ".join(answer.arrangement.changes()) or "nothing")
    lines.append("")
    lines += _checks(answer)
    return "\n".join(safe(line).rstrip() for line in lines)


def _checks(answer: FitAnswer) -> list[str]:
    order = {Finding.FAILS: 0, Finding.CLOSE: 1, Finding.NOT_ASSESSED: 2, Finding.HOLDS: 3}
    ranked = sorted(
        answer.checks,
        key=lambda c: (c.id != answer.deciding, c.check_class == "yardstick", order[c.finding]),
    )
    shown = ranked[:_MOST_CHECKS]
    rows = [("check", "class", "finding", "margin")]
    for check in shown:
        margin = (
            Shown(check.margin.unit)(check.margin.worst) if check.margin else margin_says(check)
        )
        rows.append((check.id, str(check.check_class), str(check.finding), margin))
    widths = [min(max(len(row[i]) for row in rows), 34) for i in range(4)]
    table = [
        "  ".join(cell[:w].ljust(w) for cell, w in zip(row, widths, strict=True)) for row in rows
    ]
    left = len(answer.checks) - len(shown)
    return table + ([f"and {left} more on the sheet"] if left else [])


def _items(name: str, items: list[str]) -> list[str]:
    out = []
    for i, item in enumerate(items[:_MOST_ITEMS]):
        out += _wrapped(name if i == 0 else " " * len(name), item)
    left = len(items) - _MOST_ITEMS
    return out + ([f"  and {left} more on the sheet"] if left > 0 else [])


def _wrapped(name: str, text: str, most: int = _MOST_LINES) -> list[str]:
    if not text:
        return []
    head = f"{name}: " if name.strip() else f"{name}  " if name else ""
    return textwrap.wrap(
        head + text, _WIDTH, subsequent_indent="  ", drop_whitespace=True, max_lines=most,
        placeholder=" …",
    )  # fmt: skip
