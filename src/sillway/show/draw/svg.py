"""A small SVG writer. Coordinates are paper millimetres, u to the right, v down.

Colours are the ink (``currentColor``) and the paper; a page may recolour both by the classes
``ink`` and ``paper``. Everything written is escaped, and characters XML forbids are dropped.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape, quoteattr

Uv = tuple[float, float]

# ISO 128-2 line groups: the thick line twice the thin one; the deciding margin twice that again.
PENS: Final = {
    "heavy": (1.6, ""),
    "thick": (0.7, ""),
    "medium": (0.5, ""),
    "thin": (0.25, ""),
    "hatch": (0.18, ""),
    "hidden": (0.35, "2.4 1.2"),
    "chain": (0.25, "5 1.2 0.6 1.2"),
    "phantom": (0.25, "5 1 0.6 1 0.6 1"),
    "strap": (0.4, "1 0.8"),
}
FONT: Final = "Source Sans Pro, Source Sans 3, system-ui, sans-serif"
# Advance of an average character over the type size, on the wide side for substitute fonts.
CHAR_WIDTH: Final = 0.56
_CAPITAL_WIDTH: Final = 0.7
# From here on come scripts and pictures as wide as they are high.
_LAST_NARROW: Final = 0x2E7F
# Type of the millimetres beside the inches.
SMALL: Final = 0.8
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Bidirectional overrides would turn round what stands beside a name.
_OVERRIDES = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def safe(text: str) -> str:
    """Text without what XML forbids or what turns the direction of writing.

    >>> safe("a\\x00b")
    'ab'
    """
    return _OVERRIDES.sub("", _NOT_XML.sub("", text))


def num(value: float) -> str:
    """A coordinate, to a hundredth of a millimetre on paper.

    >>> num(1.50), num(-0.001), num(12.0)
    ('1.5', '0', '12')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def text_width(text: str, size: float) -> float:
    """About how wide a text is set, in the unit of ``size``."""
    return size * sum(map(_advance, text))


def _advance(ch: str) -> float:
    if ch in "MWmw@%—…" or ord(ch) > _LAST_NARROW:
        return 1.0
    return _CAPITAL_WIDTH if ch.isupper() else CHAR_WIDTH


def cut(text: str, width: float, size: float) -> str:
    """The text, cut with an ellipsis so that it is no wider.

    >>> cut("Longmeadow", 10, 4), cut("Lo", 10, 4)
    ('Lo…', 'Lo')
    """
    if text_width(text, size) <= width:
        return text
    kept = text
    while len(kept) > 1 and text_width(kept + "…", size) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Rect:
    """A box on paper that is taken."""

    u0: float
    v0: float
    u1: float
    v1: float

    def meets(self, other: Rect) -> bool:
        """Whether the two overlap."""
        return (
            self.u0 < other.u1 and other.u0 < self.u1 and self.v0 < other.v1 and other.v0 < self.v1
        )


@dataclass(frozen=True, slots=True)
class Measured:
    """A dimension line as drawn: its ends on paper, and the number on it."""

    p: Uv
    q: Uv
    text: str


class Drawing:
    """Collects elements, and keeps what room they take.

    Attributes:
        taken: boxes in which nothing more is written, for the placing of labels.
        texts: boxes of all text set so far.
        dimensions: dimension lines drawn so far.
        notes: what belongs in the caption: what its letters stand for.
    """

    def __init__(self, key: str, title: str, says: str) -> None:
        self.key = key
        self.title = title
        self.says = says
        self.taken: list[Rect] = []
        self.texts: list[Rect] = []
        self.dimensions: list[Measured] = []
        self.notes: list[str] = []
        self._parts: list[str] = []
        self._u: list[float] = []
        self._v: list[float] = []

    def extend(self, points: Iterable[Uv]) -> None:
        """Make sure the drawing reaches these points."""
        for u, v in points:
            self._u.append(u)
            self._v.append(v)

    @property
    def extent(self) -> Rect:
        """The box around everything drawn so far."""
        return Rect(min(self._u), min(self._v), max(self._u), max(self._v))

    def line(self, a: Uv, b: Uv, pen: str = "thin") -> None:
        """A straight line."""
        self.extend((a, b))
        where = "".join(
            f' {k}="{num(x)}"' for k, x in zip(("x1", "y1", "x2", "y2"), (*a, *b), strict=True)
        )
        self._parts.append(f"<line{where}{_stroke(pen)}/>")

    def polyline(self, points: Sequence[Uv], pen: str = "thin") -> None:
        """An open run of lines."""
        self.extend(points)
        self._parts.append(f'<polyline points="{_points(points)}" fill="none"{_stroke(pen)}/>')

    def polygon(self, points: Sequence[Uv], pen: str = "thin", fill: str = "none") -> None:
        """A closed outline; ``fill`` is none, paper or ink."""
        self.extend(points)
        self._parts.append(f'<polygon points="{_points(points)}"{_fill(fill)}{_stroke(pen)}/>')

    def circle(self, at: Uv, radius: float, pen: str = "thin", fill: str = "none") -> None:
        """A circle."""
        self.extend(((at[0] - radius, at[1] - radius), (at[0] + radius, at[1] + radius)))
        self._parts.append(
            f'<circle cx="{num(at[0])}" cy="{num(at[1])}" r="{num(radius)}"'
            f"{_fill(fill)}{_stroke(pen)}/>"
        )

    def hatch(self, polygon: Sequence[Uv], slant_deg: float, gap: float) -> None:
        """Hatch a simple polygon with parallel lines."""
        for a, b in hatching(polygon, slant_deg, gap):
            self.line(a, b, "hatch")

    def text(
        self,
        at: Uv,
        text: str,
        size: float = 3.6,
        *,
        small: str = "",
        bold: bool = False,
        anchor: str = "middle",
        turn: float = 0.0,
        backed: bool = False,
    ) -> Rect:
        """Set text with its base line at ``at``; ``small`` follows in smaller type.

        Args:
            turn: degrees, clockwise on paper.
            backed: whether the paper is cleared behind it.
        Returns:
            the box it takes, which is noted as taken.
        """
        box = text_box(at, text, size, small=small, anchor=anchor, turn=turn)
        self.taken.append(box)
        self.texts.append(box)
        self.extend(((box.u0, box.v0), (box.u1, box.v1)))
        if backed:
            corners = ((box.u0, box.v0), (box.u1, box.v0), (box.u1, box.v1), (box.u0, box.v1))
            self._parts.append(f'<polygon points="{_points(corners)}"{_fill("paper")}/>')
        turned = f' transform="rotate({num(turn)} {num(at[0])} {num(at[1])})"' if turn else ""
        weight = ' font-weight="bold"' if bold else ""
        tail = (
            f'<tspan font-size="{num(size * SMALL)}">\u00a0{escape(safe(small))}</tspan>'
            if small
            else ""
        )
        self._parts.append(
            f'<text x="{num(at[0])}" y="{num(at[1])}" font-size="{num(size)}"{weight}'
            f' text-anchor="{anchor}"{turned} fill="currentColor" class="ink">'
            f"{escape(safe(text))}{tail}</text>"
        )
        return box

    @contextmanager
    def group(self, **attributes: str) -> Iterator[None]:
        """Put what is drawn inside into one group with these attributes (``_`` becomes ``-``)."""
        words = "".join(
            f" {k.rstrip('_').replace('_', '-')}={quoteattr(safe(v))}"
            for k, v in attributes.items()
        )
        self._parts.append(f"<g{words}>")
        yield
        self._parts.append("</g>")

    def svg(self, margin: float = 3.0, *, standalone: bool = True) -> str:
        """The whole as one SVG element, sized in millimetres so that its scale holds in print.

        Args:
            standalone: whether it is to stand as a file (own colours) or inside a page.
        """
        box = self.extent
        width, height = box.u1 - box.u0 + 2 * margin, box.v1 - box.v0 + 2 * margin
        view = " ".join(num(x) for x in (box.u0 - margin, box.v0 - margin, width, height))
        ids = f"{self.key}-title {self.key}-desc"
        ground = (
            f'<rect x="{num(box.u0 - margin)}" y="{num(box.v0 - margin)}" width="{num(width)}"'
            f' height="{num(height)}"{_fill("paper")}/>'
            if standalone
            else ""
        )
        colour = ' color="#000"' if standalone else ""
        says = escape(safe(" ".join((self.says, *self.notes))))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{num(width)}mm"'
            f' height="{num(height)}mm" role="img" aria-labelledby={quoteattr(ids)}'
            f' font-family={quoteattr(FONT)} stroke-linejoin="round"{colour}>'
            f"<title id={quoteattr(self.key + '-title')}>{escape(safe(self.title))}</title>"
            f"<desc id={quoteattr(self.key + '-desc')}>{says}</desc>"
            f"{ground}{''.join(self._parts)}</svg>"
        )

    @property
    def height_mm(self) -> float:
        """Its height on paper with the usual margin."""
        return self.extent.v1 - self.extent.v0 + 6.0

    @property
    def width_mm(self) -> float:
        """Its width on paper with the usual margin."""
        return self.extent.u1 - self.extent.u0 + 6.0


def text_box(
    at: Uv, text: str, size: float, *, small: str = "", anchor: str = "middle", turn: float = 0.0
) -> Rect:
    """The box that a text takes on paper; for a slanted one the box around it."""
    width = text_width(text, size) + (text_width(" " + small, size * SMALL) if small else 0.0)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor]
    corners = [(left, -0.8 * size), (left + width, -0.8 * size), (left + width, 0.25 * size)]
    corners.append((left, 0.25 * size))
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    us = [at[0] + u * c - v * s for u, v in corners]
    vs = [at[1] + u * s + v * c for u, v in corners]
    return Rect(min(us), min(vs), max(us), max(vs))


def hatching(polygon: Sequence[Uv], slant_deg: float, gap: float) -> list[tuple[Uv, Uv]]:
    """Segments of parallel lines inside a simple polygon (even-odd).

    >>> [(a, b)] = hatching([(0, 0), (4, 0), (4, 1), (0, 1)], 0, 1)
    >>> a, b
    ((0.0, 0.5), (4.0, 0.5))
    """
    c, s = math.cos(math.radians(slant_deg)), math.sin(math.radians(slant_deg))
    turned = [(u * c + v * s, v * c - u * s) for u, v in polygon]
    low, high = min(v for _, v in turned), max(v for _, v in turned)
    out = []
    level = (math.floor(low / gap) + 0.5) * gap
    while level < high:
        crossings = sorted(
            a[0] + (level - a[1]) * (b[0] - a[0]) / (b[1] - a[1])
            for a, b in zip(turned, (*turned[1:], turned[0]), strict=True)
            if (a[1] <= level) != (b[1] <= level)
        )
        for u0, u1 in zip(crossings[::2], crossings[1::2], strict=True):
            ends = [(u * c - level * s, u * s + level * c) for u in (u0, u1)]
            out.append((ends[0], ends[1]))
        level += gap
    return out


def _points(points: Iterable[Uv]) -> str:
    return " ".join(f"{num(u)},{num(v)}" for u, v in points)


def _stroke(pen: str) -> str:
    width, dashes = PENS[pen]
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f' stroke="currentColor" stroke-width="{num(width)}"{dashed}'


def _fill(fill: str) -> str:
    if fill == "none":
        return ' fill="none"'
    return ' fill="#fff" class="paper"' if fill == "paper" else ' fill="currentColor"'
