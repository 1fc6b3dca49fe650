"""The side elevation: the way up the ramp and under the header, at its tightest moments."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Final

from sillway.fit.drive.scene import Point
from sillway.fit.result import FitAnswer, SideView
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.draw.dims import Side, box_of, dimension, gap, label
from sillway.show.draw.frame import Elevation, fitting, ramp_run_mm, scale_for
from sillway.show.draw.key import title_block
from sillway.show.draw.svg import Drawing, Rect, Uv
from sillway.units import show_inches

_ROOM_MM: Final = 120.0
# How much of the cabin floor and of the ground is worth the paper. [mm]
_FLOOR_MM: Final = 1500.0
_GROUND_MM: Final = 500.0
# A profile that rises by less is level, whatever rounding says. [mm]
_LEVEL_MM: Final = 1e-6


def side(
    answer: FitAnswer, view: SideView, van: Van, rider: Rider, *, nth: int = 1, number: str = ""
) -> Drawing:
    """One moment of the climb with dimensions and title block."""
    low, high = span(view, van)
    return fitting(
        scale_for(high - low, _ROOM_MM),
        lambda scale: _side(answer, view, van, rider, nth, number, Elevation(scale)),
    )


def _side(
    answer: FitAnswer, view: SideView, van: Van, rider: Rider, nth: int, number: str,
    paper: Elevation,
) -> Drawing:  # fmt: skip
    low, high = span(view, van)
    d = Drawing(
        f"side-{nth}",
        f"Side elevation {nth} of {van.name()}, scale 1:{paper.scale}",
        f"{view.says} Verdict: {answer.verdict}.",
    )
    ground(d, paper, view.profile, view.overhead, low, high)
    for layer in view.body:
        d.polygon(paper.all(layer), "medium", "paper")
    for x, z, radius in view.wheels:
        d.circle(paper.at((x, z)), radius / paper.scale, "medium", "paper")
        d.circle(paper.at((x, z)), 0.5, "thin", "ink")
    _dimensions(d, paper, view, van, low)
    _deciding(d, paper, view, view.check_id == answer.deciding)
    title_block(
        d, f"Side {nth}", paper.scale, van=van.name(), rider=rider.name,
        on=answer.on.isoformat(), number=number, invented=van.invented or rider.invented,
    )  # fmt: skip
    return d


def span(view: SideView, van: Van) -> tuple[float, float]:
    """From where to where along the way in the drawing reaches. [mm]"""
    body = [x for layer in view.body for x, _ in layer] or [0.0]
    low = min(-ramp_run_mm(van) - _GROUND_MM, min(body) - 100)
    high = max(_FLOOR_MM, max(body) + 150)
    return low, high


def ground(
    d: Drawing, paper: Elevation, profile: Sequence[Point],
    overhead: Sequence[tuple[Point, Point]], low: float, high: float,
) -> None:  # fmt: skip
    """Ground, ramp and floor with the header and ceiling above, from ``low`` to ``high``."""
    line = paper.all(drawn_out(profile, low, high))
    d.polyline(line, "thick")
    for a, b in itertools.pairwise(line):
        _earth(d, a, b, 1)
    for a, b in overhead:
        part = clipped((a, b), low, high)
        if len(part) > 1:
            p, q = paper.all(part)
            d.line(p, q, "thick")
            if abs(q[0] - p[0]) > 0.5:
                _earth(d, p, q, -1)


def clipped(line: Sequence[Point], low: float, high: float) -> list[Point]:
    """The part of a line running inwards that lies between low and high.

    >>> clipped([(0, 0), (10, 10)], 5, 20)
    [(5, 5.0), (10, 10)]
    """
    if line[0][0] > line[-1][0]:
        line = line[::-1]
    out = [line[0]] if low <= line[0][0] <= high else []
    for a, b in itertools.pairwise(line):
        cuts = [x for x in (low, high) if a[0] < x < b[0]]
        out += [(x, a[1] + (x - a[0]) * (b[1] - a[1]) / (b[0] - a[0])) for x in cuts]
        if low <= b[0] <= high:
            out.append(b)
    return out


def drawn_out(line: Sequence[Point], low: float, high: float) -> list[Point]:
    """A profile cut to low..high, and carried on level where it ends before them."""
    if line[0][0] > line[-1][0]:
        line = line[::-1]
    before = [(low, line[0][1])] if line[0][0] > low else []
    after = [(high, line[-1][1])] if line[-1][0] < high else []
    return clipped([*before, *line, *after], low, high)


def _earth(d: Drawing, a: Uv, b: Uv, sense: int) -> None:
    """Short strokes on the solid side of an edge."""
    length = math.dist(a, b)
    for k in range(int(length / 2.4)):
        part = (k + 0.5) * 2.4 / length
        u, v = a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])
        d.line((u, v), (u - 1.3 * sense, v + 1.5 * sense), "hatch")


def _dimensions(d: Drawing, paper: Elevation, view: SideView, van: Van, low: float) -> None:
    rising = [(a, b) for a, b in itertools.pairwise(view.profile) if b[1] > a[1] + _LEVEL_MM]
    if not rising:
        return
    foot, sill = rising[0][0], rising[-1][1]
    length = math.dist(foot, sill)
    if length > 1:
        dimension(d, paper.at(sill), paper.at(foot), 9.0, length, "ramp")
        left = Side(d.extent.u0, 1, -1)
        left.add(d, paper.at((low, foot[1])), paper.at((low, sill[1])), sill[1] - foot[1], "rise")
    if view.overhead:
        lowest = min((p for part in view.overhead for p in part), key=lambda p: (p[1], p[0]))
        right = Side(d.extent.u1, 1, 1)
        right.add(d, paper.at((lowest[0], 0.0)), paper.at(lowest), lowest[1], "header")


def _thick(box: Rect) -> Rect:
    return Rect(box.u0 - 1, box.v0 - 3, box.u1 + 1, box.v1 + 1)


def _deciding(d: Drawing, paper: Elevation, view: SideView, decides: bool) -> None:
    if view.deciding is None:
        return
    a, b = paper.all(view.deciding)
    middle = gap(d, a, b, "heavy" if decides else "medium")
    if view.margin_mm is None:
        return
    size = abs(view.margin_mm)
    off = (
        *(box_of(paper.all(layer)) for layer in view.body),
        *(_thick(box_of(paper.all(part))) for part in view.overhead),
    )
    word = "short by" if view.margin_mm < 0 else "left"
    inches = show_inches(size)
    text = f"{word} {inches}" if view.margin_mm < 0 else f"{inches} {word}"
    label(
        d, middle, text, small=f"{size:.0f} mm", bold=decides, near=9.0, keep_off=off,
        size=4.6 if decides else 3.6,
    )  # fmt: skip
