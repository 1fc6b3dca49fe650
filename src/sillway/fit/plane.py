"""Plane geometry on outlines, by shapely: grow, shrink, and cut into convex parts."""

from __future__ import annotations

from shapely import Polygon, constrained_delaunay_triangles
from shapely.geometry.base import BaseGeometry

from sillway.fit.drive.scene import Point

# Parts smaller than this are rounding debris of the cutting, far below any tolerance. [mm²]
_DEBRIS_MM2 = 1e-3
# A polygon counts as convex if its hull adds no more than this share of its area: rounding.
_STRAIGHT = 1e-9
# Mitred corners run to their point; a limit would round them off and lose what tolerance means.
_MITRE = 1e6


def moved_edges(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    """The outline with every edge moved outwards by so much (inwards if negative), corners mitred.

    Moving edges by t moves a right-angled corner by 1.41 t, which a disc of radius t would not.
    """
    return shape.buffer(by_mm, join_style="mitre", mitre_limit=_MITRE) if by_mm else shape


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons a shape is made of, debris left out."""
    if isinstance(shape, Polygon):
        return [shape] if shape.area > _DEBRIS_MM2 else []
    return [p for part in getattr(shape, "geoms", ()) for p in polygons(part)]


def corners(polygon: Polygon) -> tuple[Point, ...]:
    """Corners of a polygon's outer ring, counter-clockwise."""
    ring = polygon.exterior
    points = list(ring.coords)[:-1]
    if not ring.is_ccw:
        points.reverse()
    return tuple((float(x), float(y)) for x, y in points)


def convex_parts(shape: BaseGeometry) -> list[tuple[Point, ...]]:
    """The shape, holes allowed, as convex polygons that tile it, counter-clockwise.

    >>> len(convex_parts(Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])))
    2
    >>> convex_parts(Polygon([(0, 2), (2, 2), (2, 0), (0, 0)]))
    [((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))]
    """
    out: list[tuple[Point, ...]] = []
    for polygon in polygons(shape):
        if _is_convex(polygon):
            out.append(_lowest_first(polygon))
            continue
        triangles = polygons(constrained_delaunay_triangles(polygon))
        out += [_lowest_first(part) for part in _merged(triangles)]
    return out


def _merged(parts: list[Polygon]) -> list[Polygon]:
    """Neighbours joined, greedily, wherever that leaves them convex."""
    merged = True
    while merged:
        merged = False
        for i, a in enumerate(parts):
            for j in range(i + 1, len(parts)):
                both = a.union(parts[j])
                if isinstance(both, Polygon) and _is_convex(both):
                    parts[i] = both
                    del parts[j]
                    merged = True
                    break
            if merged:
                break
    return parts


def _is_convex(polygon: Polygon) -> bool:
    spare = polygon.convex_hull.area - polygon.area
    return not polygon.interiors and spare <= _STRAIGHT * polygon.area


def _lowest_first(polygon: Polygon) -> tuple[Point, ...]:
    """Corners of a convex polygon, from the lowest left one, so that equal shapes read equal."""
    points = corners(polygon.convex_hull)
    first = points.index(min(points))
    return points[first:] + points[:first]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    """An upright rectangle, counter-clockwise."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
