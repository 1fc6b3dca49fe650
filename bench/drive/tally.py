"""Medians, 95th percentiles, and rows as a table."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Sequence
from typing import ParamSpec, TypeVar

from sillway.fit.drive.scene import Budget

Row = dict[str, object]


def percentile(values: Sequence[float], share: float) -> float:
    """The least value that at least this share does not exceed; not a number for none."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)] if ordered else math.nan


def times(seconds: Sequence[float]) -> Row:
    """Median, 95th and most, in milliseconds; None where nothing was measured."""
    if not seconds:
        return {"median_ms": None, "p95_ms": None, "most_ms": None}
    return {
        "median_ms": round(1e3 * percentile(seconds, 0.5), 1),
        "p95_ms": round(1e3 * percentile(seconds, 0.95), 1),
        "most_ms": round(1e3 * max(seconds), 1),
    }


P = ParamSpec("P")
T = TypeVar("T")


def clocked(ask: Callable[P, T], *given: P.args, **named: P.kwargs) -> tuple[T, float]:
    """What it told, and the processor seconds it took."""
    begin = time.process_time()
    told = ask(*given, **named)
    return told, time.process_time() - begin


def within(limit_s: float) -> Budget:
    """A budget that ends after so many processor seconds from now."""
    end = time.process_time() + limit_s
    return Budget(late=lambda: time.process_time() > end)


def progress(words: str) -> None:
    """To stderr, over the line before where it is a terminal."""
    end = "\r" if sys.stderr.isatty() else "\n"
    print(f"{words:78s}", end=end, file=sys.stderr, flush=True)


def cell(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "–"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 100 else f"{value:g}"
    if isinstance(value, list):
        return ", ".join(map(cell, value)) or "–"
    return str(value)


def table(rows: Sequence[Row]) -> str:
    """As Markdown, a column for each key of the first row."""
    if not rows:
        return "(nothing measured)"
    keys = list(rows[0])
    lines = [keys, *([cell(row.get(key)) for key in keys] for row in rows)]
    wide = [max(len(line[i]) for line in lines) for i in range(len(keys))]

    def number(i: int) -> bool:
        return all(not isinstance(row.get(keys[i]), str) for row in rows)

    def drawn(line: Sequence[str]) -> str:
        cells = (
            text.rjust(w) if number(i) else text.ljust(w)
            for i, (text, w) in enumerate(zip(line, wide, strict=True))
        )
        return "| " + " | ".join(cells) + " |"

    rule = "|" + "|".join("-" * (w + 1) + (":" if number(i) else "-") for i, w in enumerate(wide))
    return "\n".join([drawn(lines[0]), rule + "|", *map(drawn, lines[1:])])
