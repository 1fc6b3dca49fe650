"""Dimension lines and labels that keep out of each other's way (paper millimetres)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sillway.show.draw.svg import SMALL, Drawing, Measured, Rect, Uv, text_box, text_width
from sillway.units import show_inches

SIZE: Final = 3.6
_ARROW: Final = 2.6
_ROW: Final = 7.5
_FIRST_ROW: Final = 7.0
_RINGS: Final = (0.0, 5.0, 9.0, 13.0, 17.0, 22.0, 28.0, 34.0, 42.0, 52.0, 64.0)
_LINE_TAKES: Final = 0.4
_SLANT: Final = 0.5
_MOST_ROWS: Final = 12
# On paper, a gap shorter than this is pointed at; below the least it has no direction.
_SHORT_GAP: Final = 6.0
_LEAST_GAP: Final = 0.05


def arrow(d: Drawing, tip: Uv, towards: Uv) -> None:
    """A slim filled arrow head at ``tip`` that points in the direction ``towards``."""
    u, v = towards
    back = (tip[0] - u * _ARROW, tip[1] - v * _ARROW)
    half = _ARROW * 0.17
    d.polygon(
        (tip, (back[0] - v * half, back[1] + u * half), (back[0] + v * half, back[1] - u * half)),
        "hatch",
        "ink",
    )


@dataclass(frozen=True, slots=True)
class Laid:
    """A dimension line worked out but not yet drawn: the number, and the line that carries it."""

    p: Uv
    q: Uv
    end: Uv
    inside: bool
    at: Uv
    turn: float
    text: str
    small: str

    @property
    def boxes(self) -> tuple[Rect, ...]:
        """What it takes: the number, the line, and what carries a number beyond its end."""
        number = text_box(self.at, self.text, SIZE, small=self.small, turn=self.turn)
        return (number, *_around(self.p, self.q), *_around(self.q, self.end))


def laid(p: Uv, q: Uv, mm: float, name: str = "") -> Laid:
    """Work out the dimension line from p to q; a number that has no room stands beyond q."""
    length = math.dist(p, q)
    along = ((q[0] - p[0]) / length, (q[1] - p[1]) / length)
    out = (along[1], -along[0])
    text, small = f"{name} {show_inches(mm)}".strip(), f"{mm:.0f}"
    needed = text_width(text, SIZE) + text_width(" " + small, SIZE * SMALL)
    inside = length >= 2 * _ARROW + 1
    turn = math.degrees(math.atan2(along[1], along[0]))
    readable = -90.5 < turn < 89.5
    if not readable:
        turn += 180 if turn < 0 else -180
    rise = (0.3 * SIZE) * (1 if readable else -1)
    middle, end = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), q
    if needed > length - 1:
        shift = length / 2 + needed / 2 + (1 if inside else _ARROW + 1)
        middle = (middle[0] + along[0] * shift, middle[1] + along[1] * shift)
        reach = shift - length / 2 + needed / 2
        end = (q[0] + along[0] * reach, q[1] + along[1] * reach)
    at = (middle[0] + out[0] * rise, middle[1] + out[1] * rise)
    return Laid(p, q, end, inside, at, turn, text, small)


def draw_laid(d: Drawing, line: Laid) -> Rect:
    """Draw a dimension line; returns the box of its number."""
    p, q = line.p, line.q
    length = math.dist(p, q)
    along = ((q[0] - p[0]) / length, (q[1] - p[1]) / length)
    back = (-along[0], -along[1])
    d.line(p, line.end, "thin")
    arrow(d, q, along if line.inside else back)
    arrow(d, p, back if line.inside else along)
    d.taken += line.boxes[1:]
    d.dimensions.append(Measured(p, q, line.text))
    return d.text(line.at, line.text, SIZE, small=line.small, turn=line.turn)


def dimension(d: Drawing, a: Uv, b: Uv, offset: float, mm: float, name: str = "") -> Rect:
    """A dimension line between two points, ``offset`` to the left of a→b as seen on paper.

    The number stands on the line, inches first; where the line is too short, beyond its end.

    Args:
        mm: the true size. [mm]
        name: a word put before the number.
    Returns:
        the box of the number.
    """
    length = math.dist(a, b)
    out = ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)
    p, q = ((end[0] + out[0] * offset, end[1] + out[1] * offset) for end in (a, b))
    sign = math.copysign(1.0, offset)
    for base, end in ((a, p), (b, q)):
        start = (base[0] + out[0] * sign, base[1] + out[1] * sign)
        d.line(start, (end[0] + out[0] * sign * 1.5, end[1] + out[1] * sign * 1.5), "hatch")
    return draw_laid(d, laid(p, q, mm, name))


@dataclass(frozen=True, slots=True)
class Side:
    """Rows of dimension lines beside a drawing; each goes in the first row with room for it.

    Attributes:
        edge: coordinate of the drawing's edge there.
        axis: 0 if the rows run along u (above or below), 1 if along v (left or right).
        sense: -1 towards smaller coordinates (above, left), 1 towards larger.
    """

    edge: float
    axis: int
    sense: int

    def add(self, d: Drawing, a: Uv, b: Uv, mm: float, name: str = "") -> Rect:
        """Dimension from a to b, whose extension lines run out to this side."""
        along, across = self.axis, 1 - self.axis
        # Numbers without room on the line stand to the right of level ones, above upright ones.
        start, end = (a, b) if (a[along] <= b[along]) == (along == 0) else (b, a)
        row = 0
        while True:
            level = self.edge + self.sense * (_FIRST_ROW + row * _ROW)
            ends = [_with(point, across, level) for point in (start, end)]
            tries = [laid(p, q, mm, name) for p, q in (ends, ends[::-1])]
            free = [t for t in tries if not any(x.meets(y) for x in t.boxes for y in d.taken)]
            if free or row == _MOST_ROWS:
                break
            row += 1
        for point in (start, end):
            d.line(point, _with(point, across, level + self.sense * 1.5), "hatch")
        return draw_laid(d, (free or tries)[0])


def _with(point: Uv, i: int, value: float) -> Uv:
    return (value, point[1]) if i == 0 else (point[0], value)


def _around(a: Uv, b: Uv) -> list[Rect]:
    """The room a dimension line takes; nothing is written across it."""
    (u0, u1), (v0, v1) = sorted((a[0], b[0])), sorted((a[1], b[1]))
    if u1 - u0 > _SLANT and v1 - v0 > _SLANT:
        return []  # a box around a slanted line would take far more than the line
    return [Rect(u0 - _LINE_TAKES, v0 - _LINE_TAKES, u1 + _LINE_TAKES, v1 + _LINE_TAKES)]


def gap(d: Drawing, a: Uv, b: Uv, pen: str) -> Uv:
    """A clearance between two points: a line, and where it is short, arrows that point at it.

    Returns:
        its middle.
    """
    length = math.dist(a, b)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > _LEAST_GAP else (1.0, 0.0)
    reach = 3 * _ARROW + 1 if length < _SHORT_GAP else 1.0
    far = [(a[0] - along[0] * reach, a[1] - along[1] * reach)]
    far.append((b[0] + along[0] * reach, b[1] + along[1] * reach))
    taken = box_of(far)
    d.taken.append(Rect(taken.u0 - 1, taken.v0 - 1, taken.u1 + 1, taken.v1 + 1))
    if length > _LEAST_GAP:
        d.line(a, b, pen)
    if length < _SHORT_GAP:
        for tip, sense in ((a, 1.0), (b, -1.0)):
            u, v = along[0] * sense, along[1] * sense
            base = (tip[0] - u * _ARROW, tip[1] - v * _ARROW)
            d.line(base, (tip[0] - u * 3 * _ARROW, tip[1] - v * 3 * _ARROW), pen)
            half = _ARROW * (0.45 if pen == "heavy" else 0.25)
            sides = [(base[0] - v * half, base[1] + u * half)]
            sides.append((base[0] + v * half, base[1] - u * half))
            d.polygon((tip, *sides), "hatch", "ink")
    return middle


def label(
    d: Drawing, at: Uv, text: str, *, small: str = "", bold: bool = False, size: float = SIZE,
    keep_off: tuple[Rect, ...] = (), within: Rect | None = None, near: float = 0.0,
    led: float = 5.0,
) -> Rect:  # fmt: skip
    """Set a label near a point where nothing else is written, with a leader if it moved off.

    Args:
        keep_off: further boxes not to write on.
        within: stay inside this box where that can be done.
        near: smallest distance from the point.
        led: from further away than this a leader runs to the point.
    """
    taken = (*d.taken, *keep_off)
    best: tuple[int, float, Uv] | None = None
    for ring in _RINGS:
        if ring < near:
            continue
        for step in range(1 if ring == 0 else 16):
            angle = math.tau * step / 16
            spot = (at[0] + 1.6 * ring * math.cos(angle), at[1] + ring * math.sin(angle))
            spot = (spot[0], spot[1] + 0.3 * size)
            box = text_box(spot, text, size, small=small)
            clashes = sum(box.meets(other) for other in taken)
            if within is not None and not _inside(box, within):
                clashes += 1
            if best is None or (clashes, ring) < best[:2]:
                best = (clashes, ring, spot)
        if best is not None and best[0] == 0:
            break
    assert best is not None
    _, ring, spot = best
    if ring > led:
        box = text_box(spot, text, size, small=small)
        end = (min(max(at[0], box.u0), box.u1), min(max(at[1], box.v0), box.v1))
        d.line(at, end, "hatch")
        d.circle(at, 0.4, "hatch", "ink")
    return d.text(spot, text, size, small=small, bold=bold, backed=True)


def box_of(points: Sequence[Uv]) -> Rect:
    """The box around some points."""
    us, vs = [u for u, _ in points], [v for _, v in points]
    return Rect(min(us), min(vs), max(us), max(vs))


def _inside(box: Rect, room: Rect) -> bool:
    return box.u0 >= room.u0 and box.v0 >= room.v0 and box.u1 <= room.u1 and box.v1 <= room.v1
