"""The key of hatchings and the title block below a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from sillway.show.draw.svg import Drawing, cut, text_width

_SIZE: Final = 3.2
_SWATCH: Final = 9.0
_LINE: Final = 6.5
_LEAST_WIDTH: Final = 108.0


def key_block(d: Drawing, names: Sequence[str]) -> None:
    """Rows of swatches below what is drawn so far, each with its word."""
    box = d.extent
    u, v = box.u0, box.v1 + 6.0
    right = max(box.u1, box.u0 + _LEAST_WIDTH)
    for name in names:
        width = _SWATCH + 2 + text_width(name, _SIZE) + 5
        if u > box.u0 and u + width > right:
            u, v = box.u0, v + _LINE
        _swatch(d, u, v, name)
        d.text((u + _SWATCH + 1.5, v + 3.4), name, _SIZE, anchor="start")
        u += width


def _swatch(d: Drawing, u: float, v: float, name: str) -> None:
    shape = [(u, v), (u + _SWATCH, v), (u + _SWATCH, v + 4.4), (u, v + 4.4)]
    middle = (u + _SWATCH / 2, v + 2.2)
    if name == "seat in use":
        d.hatch(shape, 45, 3.0)
        d.polygon(shape, "medium")
    elif name == "seat folded":
        d.hatch(shape, 0, 1.6)
        d.polygon(shape, "medium")
    elif name == "seat out":
        d.polygon(shape, "phantom")
    elif name == "fixed part":
        d.hatch(shape, 45, 1.1)
        d.hatch(shape, -45, 1.1)
        d.polygon(shape, "thick")
    elif name == "no way through":
        d.hatch(shape, -45, 2.2)
        d.polygon(shape, "thick")
    elif name == "place":
        d.polygon(shape, "chain")
    elif name == "way in":
        d.line((u, v + 2.2), (u + _SWATCH, v + 2.2), "chain")
    elif name == "tie-down anchor":
        d.circle(middle, 0.9, "thin")
        d.line((middle[0] - 1.5, middle[1]), (middle[0] + 1.5, middle[1]), "hatch")
        d.line((middle[0], middle[1] - 1.5), (middle[0], middle[1] + 1.5), "hatch")
    elif name == "docking":
        a, b = (middle[0] - 1.6, middle[1] - 1.6), (middle[0] + 1.6, middle[1] + 1.6)
        d.polygon([a, (b[0], a[1]), b, (a[0], b[1])])
        d.circle(middle, 0.5, "thin", "ink")
    else:
        raise ValueError(f"no swatch named {name}")


def title_block(
    d: Drawing, view: str, scale: int, *, van: str, rider: str, on: str, number: str, invented: bool
) -> None:
    """The block that names what is drawn, of what, for whom, when and at what scale."""
    box = d.extent
    u0, u1, v = box.u0, max(box.u1, box.u0 + _LEAST_WIDTH), box.v1 + 5.0
    rows = [(view, f"scale 1:{scale}", f"sheet {number}" if number else "", on), (van, rider)]
    if invented:
        rows.append(("Invented demo data",))
    height = _LINE * len(rows)
    d.polygon([(u0, v), (u1, v), (u1, v + height), (u0, v + height)], "medium")
    for i, row in enumerate(rows):
        base = v + _LINE * i + 4.6
        if i:
            d.line((u0, v + _LINE * i), (u1, v + _LINE * i), "hatch")
        cells = [cell for cell in row if cell]
        whole = sum(len(cell) + 2 for cell in cells)
        widths = [(u1 - u0) * (len(cell) + 2) / whole for cell in cells]
        for j, cell in enumerate(cells):
            edge = u0 + sum(widths[:j])
            if j:
                d.line((edge, v + _LINE * i), (edge, v + _LINE * (i + 1)), "hatch")
            d.text(
                (edge + 2, base), cut(cell, widths[j] - 3, _SIZE), _SIZE, anchor="start",
                bold=i == 0 and j == 0,
            )  # fmt: skip
