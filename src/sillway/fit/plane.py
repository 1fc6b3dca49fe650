"""Plane geometry on outlines, by shapely: grow, shrink, and cut into convex parts."""

from __future__ import annotations

from shapely import Polygon, constrained_delaunay_triangles
from shapely.geometry.base import BaseGeometry

from sillway.fit.drive.scene import Point

# Parts smaller than this are rounding debris of the cutting, far below any tolerance. [mm²]
_DEBRIS_MM2 = 1e-3
# How far a mitred corner may run out, in edge moves: right angles need 1.42.
_MITRE = 4.0


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
    """Cut a shape, holes allowed, into convex polygons that tile it: triangles, merged greedily."""
    parts: list[Polygon] = []
    for polygon in polygons(shape):
        triangles = polygons(constrained_delaunay_triangles(polygon))
        parts.extend(_merged(triangles))
    return [corners(part) for part in parts]


def _merged(parts: list[Polygon]) -> list[Polygon]:
    parts = sorted(parts, key=lambda p: -p.area)
    merged = True
    while merged:
        merged = False
        for i, a in enumerate(parts):
            for j in range(i + 1, len(parts)):
                union = a.union(parts[j])
                if isinstance(union, Polygon) and _is_convex(union):
                    parts[i] = union.normalize()
                    del parts[j]
                    merged = True
                    break
            if merged:
                break
    return parts


def _is_convex(polygon: Polygon) -> bool:
    return not polygon.interiors and polygon.convex_hull.area - polygon.area <= _DEBRIS_MM2


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    """An upright rectangle, counter-clockwise."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
