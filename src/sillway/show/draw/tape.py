"""Our own drawings of where the tape goes, one for each step of measuring.

The tape is the one thing drawn heavy. What is measured stands in ``tape_scenes``; which points of
it a step joins stands in ``tapes.toml``, beside this file.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from sillway.show.draw.dims import arrow
from sillway.show.draw.svg import Drawing, Uv
from sillway.show.draw.tape_scenes import SCENES, Paper

_LETTER: Final = 5.0
_RADIUS: Final = 4.0
# Room around a letter beyond which more is no better. [paper mm]
_CLEAR: Final = 1.0
# Beyond the tape, extension lines run on by this much. [paper mm]
_BEYOND: Final = 1.5
_SPOT: Final = 5.0
_HEAD: Final = 4.2
# A tape shorter than this has its letter beside it, so far away. [paper mm]
_SHORT: Final = 22.0
_ASIDE: Final = 6.5


@dataclass(frozen=True, slots=True)
class Tape:
    """One tape: from here to there, drawn so far to the side. World cm; ``off`` in paper mm."""

    a: Uv
    b: Uv
    off: float = 0.0
    letter: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """A scene with what is measured in it.

    Attributes:
        tapes: where the tape goes.
        spots: what to look at rather than measure, circled.
        band: heights between which a slice lies, hatched across the scene.
        zone: a rectangle in plan, as (x0, y0, x1, y1), drawn chained.
    """

    scene: str
    tapes: tuple[Tape, ...] = ()
    spots: tuple[Uv, ...] = ()
    band: tuple[float, float] | None = None
    zone: tuple[float, float, float, float] | None = None


@cache
def views() -> dict[str, View]:
    """Every drawing by name."""
    given = tomllib.loads(files("sillway.show.draw").joinpath("tapes.toml").read_text("utf-8"))
    return {name: _view(one) for name, one in given.items()}


def _view(given: dict[str, Any]) -> View:
    tapes = tuple(
        Tape((one[0], one[1]), (one[2], one[3]), one[4], one[5] if len(one) > 5 else "")
        for one in given.get("tapes", [])
    )
    spots = tuple((x, z) for x, z in given.get("spots", []))
    band, zone = given.get("band"), given.get("zone")
    return View(
        given["scene"], tapes, spots, tuple(band) if band else None, tuple(zone) if zone else None
    )


def tape_drawing(name: str, title: str, says: str) -> Drawing:
    """The drawing of that name.

    Args:
        title: what is measured, in the reader's language; read out in place of the picture.
        says: how to hold the tape, likewise.
    Raises:
        KeyError: there is no such drawing.
    """
    view = views()[name]
    draw, scale = SCENES[view.scene]
    d = Drawing(f"tape-{name}", title, says)
    p = Paper(d, scale)
    draw(p)
    if view.band is not None:
        _band(p, view.band)
    if view.zone is not None:
        x0, y0, x1, y1 = view.zone
        p.shape((x0, y0), (x1, y0), (x1, y1), (x0, y1), pen="hidden", fill="none")
    lines = [(tape.letter, _tape(p, tape)) for tape in view.tapes]
    for letter, at in _lettered(lines):
        _letter(p.d, at, letter)
    for number, spot in enumerate(view.spots):
        _spot(p, spot, "ABCDEFGH"[number] if len(view.spots) > 1 else "")
    return d


def tape_svg(name: str, title: str, says: str) -> str:
    """The same as one SVG element for a page; its paper takes the page's colour."""
    svg = tape_drawing(name, title, says).svg(standalone=False)
    return svg.replace(' fill="#fff" class="paper"', ' fill="var(--paper, #fff)" class="paper"')


def _tape(p: Paper, tape: Tape) -> tuple[Uv, Uv]:
    """Draw a tape; answers its ends on paper."""
    a, b = p.at(tape.a), p.at(tape.b)
    length = math.dist(a, b)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    out = (along[1], -along[0])
    ends = [(end[0] + out[0] * tape.off, end[1] + out[1] * tape.off) for end in (a, b)]
    sign = math.copysign(_BEYOND, tape.off)
    for start, end in zip((a, b), ends, strict=True):
        tick = 0.0 if tape.off else _BEYOND
        p.d.line(
            (start[0] - out[0] * tick, start[1] - out[1] * tick),
            (end[0] + out[0] * sign, end[1] + out[1] * sign),
            "thin",
        )
    p.d.line(ends[0], ends[1], "heavy")
    # Without room between the ends, the heads point at them from outside.
    inside = 1.0 if length > 2.5 * _HEAD else -1.0
    for end, sense in zip(ends, (-inside, inside), strict=True):
        _head(p.d, end, (along[0] * sense, along[1] * sense))
    return ends[0], ends[1]


def _lettered(lines: Sequence[tuple[str, tuple[Uv, Uv]]]) -> list[tuple[str, Uv]]:
    """Where the letters go: on or beside their tapes, off each other and off other tapes."""
    placed: list[tuple[str, Uv]] = []
    for letter, (a, b) in lines:
        if not letter:
            continue
        others = [line for other, line in lines if other != letter]
        spots = _spots(a, b)
        room = [
            min(
                *(math.dist(spot, at) - 2 * _RADIUS for _, at in placed),
                *(_off(spot, line) - _RADIUS for line in others),
                _CLEAR,
                _CLEAR,
            )
            for spot in spots
        ]
        placed.append((letter, spots[room.index(max(room))]))
    return placed


def _spots(a: Uv, b: Uv) -> list[Uv]:
    """Places for a tape's letter, the best first; on a short tape it would hide it."""
    length = math.dist(a, b)
    out = ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)
    on = [(part, 0.0) for part in (0.5, 0.35, 0.65, 0.2, 0.8)] if length >= _SHORT else []
    parts = (0.5, 0.2, 0.8, -0.3, 1.3)
    aside = [(part, off * _ASIDE) for off in (1.0, 1.6) for part in parts for off in (off, -off)]
    return [
        (a[0] + part * (b[0] - a[0]) + out[0] * off, a[1] + part * (b[1] - a[1]) + out[1] * off)
        for part, off in (*on, *aside)
    ]


def _off(point: Uv, line: tuple[Uv, Uv]) -> float:
    """How far a point is off a stretch of line."""
    (u0, v0), (u1, v1) = line
    du, dv = u1 - u0, v1 - v0
    part = ((point[0] - u0) * du + (point[1] - v0) * dv) / (du * du + dv * dv)
    part = min(max(part, 0.0), 1.0)
    return math.dist(point, (u0 + part * du, v0 + part * dv))


def _head(d: Drawing, tip: Uv, towards: Uv) -> None:
    u, v = towards
    base = (tip[0] - _HEAD * u, tip[1] - _HEAD * v)
    d.polygon((tip, (base[0] - 1.7 * v, base[1] + 1.7 * u), (base[0] + 1.7 * v, base[1] - 1.7 * u)),
              "hatch", "ink")  # fmt: skip


def _letter(d: Drawing, at: Uv, letter: str) -> None:
    d.circle(at, _RADIUS, "medium", "paper")
    d.text((at[0], at[1] + _LETTER * 0.36), letter, _LETTER, bold=True)


def _spot(p: Paper, spot: Uv, letter: str) -> None:
    u, v = p.at(spot)
    p.d.circle((u, v), _SPOT, "heavy")
    tip, tail = (u + _SPOT * 0.9, v - _SPOT * 0.9), (u + _SPOT * 2.6, v - _SPOT * 2.6)
    if letter:
        p.d.line(tip, tail, "medium")
        _letter(p.d, tail, letter)
        return
    p.d.line(tip, tail, "heavy")
    arrow(p.d, tip, (-math.sqrt(0.5), math.sqrt(0.5)))


def _band(p: Paper, band: tuple[float, float]) -> None:
    box = p.d.extent
    top, bottom = p.at((0, band[1]))[1], p.at((0, band[0]))[1]
    corners = [(box.u0, top), (box.u1, top), (box.u1, bottom), (box.u0, bottom)]
    p.d.hatch(corners, -45, 2.6)
    p.d.line(corners[0], corners[1], "hidden")
    p.d.line(corners[3], corners[2], "hidden")
