"""The figures as one plot: time against slack, as SVG that reads in light and in dark."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from xml.sax.saxutils import escape

from tally import Row

WIDTH, HEIGHT = 920, 560
LEFT, RIGHT, TOP, BOTTOM = 84, 24, 92, 84
X_TICKS = (-7, -5, -2, -1, 1, 2, 4, 7, 15, 40, 100)
X_RANGE = (-10.0, 200.0)
DECADES_MS = (1.0, 10_000.0)
# Shape and colour both tell the kinds apart.
STYLE = """
svg{background:#fff;color:#1d1d1b;font:15px system-ui,sans-serif}
.ground{fill:#fff}.axis{stroke:currentColor;stroke-width:1.2}
.grid{stroke:currentColor;stroke-opacity:.16}
.aim{stroke:currentColor;stroke-width:1.6;stroke-dasharray:7 4}
text{fill:currentColor}.small{font-size:13px}.title{font-size:18px;font-weight:600}
.no{color:#a3340a}.slide{color:#1a5fa8}.drive{color:#2b7a2b}
.mark{fill:currentColor}.bar{stroke:currentColor;stroke-width:2}
@media(prefers-color-scheme:dark){svg{background:#16181b;color:#ececec}.ground{fill:#16181b}
.no{color:#ff9a66}.slide{color:#7fbcff}.drive{color:#8fd98f}}
"""
Point = tuple[float, float, float]


def _bent(slack: float) -> float:
    """Logarithmic to both sides of zero."""
    return math.copysign(math.log10(1 + abs(slack)), slack)


def _x(slack: float) -> float:
    low, high = map(_bent, X_RANGE)
    return LEFT + (WIDTH - LEFT - RIGHT) * (_bent(slack) - low) / (high - low)


def _y(ms: float) -> float:
    low, high = map(math.log10, DECADES_MS)
    share = (math.log10(min(max(ms, DECADES_MS[0]), DECADES_MS[1])) - low) / (high - low)
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share


def _line(kind: str, x0: float, y0: float, x1: float, y1: float) -> str:
    return f'<line class="{kind}" x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"/>'


def _text(x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text class="{kind}" {place}>{escape(words)}</text>'


def _square(x: float, y: float) -> str:
    return f'<rect class="mark" x="{x - 5.5:.1f}" y="{y - 5.5:.1f}" width="11" height="11"/>'


def _circle(x: float, y: float) -> str:
    return f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="6"/>'


def _triangle(x: float, y: float) -> str:
    return f'<path class="mark" d="M{x - 7:.1f} {y + 6:.1f}h14l-7-13z"/>'


def _series(kind: str, mark: Callable[[float, float], str], points: Sequence[Point]) -> str:
    parts = [f'<g class="{kind}">']
    for slack, median, p95 in points:
        x, low, high = _x(slack), _y(median), _y(p95)
        parts += [_line("bar", x, low, x, high), _line("bar", x - 6, high, x + 6, high)]
        parts.append(mark(x, low))
    return "".join([*parts, "</g>"])


def _number(row: Row, key: str) -> float:
    value = row[key]
    return float(value) if isinstance(value, int | float) else math.nan


def _points(subdivision: Sequence[Row], wanted: str) -> list[Point]:
    return [
        (-_number(row, "too_wide_mm"), _number(row, "median_ms"), _number(row, "p95_ms"))
        for row in subdivision
        if row["family"] == "all" and row["expected"] == wanted
    ]


def _drives(drives: Sequence[Row]) -> list[Point]:
    """Slack is twice the clearance; a class stands at its middle, side entries beside corners."""
    out = []
    for row in drives:
        if row["kind"] == "all" or not row["found"] or row["to_mm"] is None:
            continue
        middle = _number(row, "from_mm") + _number(row, "to_mm")
        shifted = middle * (1.04 if row["kind"] == "corner" else 0.96)
        out.append((shifted, _number(row, "median_ms"), _number(row, "p95_ms")))
    return out


def plot(subdivision: Sequence[Row], drives: Sequence[Row], caption: str) -> str:
    """The SVG of a run's rows (proof.verdicts and search.rows)."""
    floor = HEIGHT - BOTTOM
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'aria-labelledby="t d">',
        '<title id="t">Time of an answer against slack</title>',
        '<desc id="d">Median and 95th percentile of processor time: proofs of no, slides and '
        "certified drives, by how much is missing or to spare. The figures stand in drive.md."
        f"</desc><style>{STYLE}</style>",
        f'<rect class="ground" width="{WIDTH}" height="{HEIGHT}"/>',
        _text(LEFT, 28, "Processor time of an answer, by what is missing or to spare", "title"),
    ]
    ms = DECADES_MS[0]
    while ms <= DECADES_MS[1]:
        words = f"{ms / 1000:g} s" if ms >= 1000 else f"{ms:g} ms"
        parts += [_line("grid", LEFT, _y(ms), WIDTH - RIGHT, _y(ms))]
        parts += [_text(LEFT - 9, _y(ms) + 5, words, "small", "end")]
        ms *= 10
    for tick in X_TICKS:
        parts.append(_line("axis", _x(tick), floor, _x(tick), floor + 6))
        parts.append(_text(_x(tick), floor + 22, f"{tick:+d}".replace("-", "−"), "small", "middle"))
    parts += [
        _line("axis", LEFT, floor, WIDTH - RIGHT, floor),
        _line("axis", LEFT, TOP, LEFT, floor),
        _line("axis", _x(0), TOP, _x(0), floor),
        _text(_x(0) - 10, floor + 44, "← too narrow by so many mm", "small", "end"),
        _text(
            _x(0) + 10, floor + 44, "so many mm of width to spare (twice the clearance) →", "small"
        ),
        _text(LEFT, HEIGHT - 12, caption, "small"),
        _line("aim", _x(-10), _y(100), _x(-5), _y(100)),
        _text(_x(-10) + 6, _y(100) - 8, "aim: 100 ms", "small"),
        _line("aim", _x(30), _y(300), _x(200), _y(300)),
        _text(_x(200), _y(300) + 17, "aim: median 300 ms", "small", "end"),
        _line("aim", _x(30), _y(1000), _x(200), _y(1000)),
        _text(_x(200), _y(1000) - 8, "aim: 95th 1 s", "small", "end"),
    ]
    legend = (
        ("no", _square, "proof of no"),
        ("slide", _circle, "slide found (sideways allowed)"),
        ("drive", _triangle, "drive certified"),
    )
    x = float(LEFT)
    for kind, mark, words in legend:
        parts.append(f'<g class="{kind}">{mark(x + 7, 52)}</g>' + _text(x + 20, 57, words, "small"))
        x += 60 + 7.2 * len(words)
    parts.append(_text(x, 57, "mark: median; bar: 95th", "small"))
    parts += [
        _series("no", _square, _points(subdivision, "no")),
        _series("slide", _circle, _points(subdivision, "slide")),
        _series("drive", _triangle, _drives(drives)),
        "</svg>\n",
    ]
    return "".join(parts)
