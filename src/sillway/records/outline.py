"""Outlines in plan: simple polygons whose corners are measured places."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from sillway.records.measure import MeasureOf, Way, refused
from sillway.units import Kind

FORMS = 'corners as "x, y; x, y; …" or [[x, y], …], or a rectangle {"x": [a, b], "y": [a, b]}'
_MOST_CORNERS = 200
_PLACE = MeasureOf(Kind.LENGTH, signed=True)


@dataclass(frozen=True, slots=True)
class Outline:
    """A simple polygon, counter-clockwise. [mm]

    Attributes:
        points_mm: its corners.
        way: how it was measured.
        tolerance_mm: how far each edge may be off; None leaves it to the rule of the way.
        raw: the entry as JSON, as it came.
    """

    points_mm: tuple[tuple[float, float], ...]
    way: Way
    raw: str
    tolerance_mm: float | None = None


class _OutlineOf:
    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            _read,
            serialization=core_schema.plain_serializer_function_ser_schema(
                lambda outline: json.loads(outline.raw)
            ),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return outline_schema()


def outline_schema() -> dict[str, Any]:
    """The JSON Schema of an outline."""
    number = {"anyOf": [{"type": "string"}, {"type": "number"}]}
    pair = {"type": "array", "items": number, "minItems": 2, "maxItems": 2}
    return {
        "description": FORMS,
        "anyOf": [
            {"type": "string"},
            {"type": "array", "items": pair, "minItems": 3},
            {
                "type": "object",
                "properties": {
                    "corners": {},
                    "x": pair,
                    "y": pair,
                    "way": {"enum": [str(way) for way in Way]},
                    "tolerance": number,
                },
            },
        ],
    }


PlanOutline = Annotated[Outline, _OutlineOf()]


def _read(given: Any, info: core_schema.ValidationInfo) -> Outline:
    if isinstance(given, Outline):
        return given
    context: dict[str, Any] = info.context or {}
    metric = bool(context.get("metric"))
    way = Way(context.get("way", Way.TAPE))
    tolerance_mm = None
    corners = given
    if isinstance(given, dict):
        known = {"corners"} if "corners" in given else {"x", "y"}
        if not known <= set(given) or set(given) - known - {"way", "tolerance"}:
            raise refused(given, FORMS)
        try:
            way = Way(given.get("way", way))
        except ValueError:
            raise refused(given["way"], "a way: " + ", ".join(Way)) from None
        if "tolerance" in given:
            tolerance_mm = MeasureOf(Kind.LENGTH).number(given["tolerance"], metric)
        corners = given["corners"] if "corners" in given else _rectangle(given)
    points = _points(corners, metric)
    return Outline(_simple(points, given), way, json.dumps(given), tolerance_mm)


def _rectangle(given: dict[str, Any]) -> list[list[Any]]:
    if not all(isinstance(given[k], list) and len(given[k]) == 2 for k in ("x", "y")):
        raise refused(given, FORMS)
    (x0, x1), (y0, y1) = given["x"], given["y"]
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def _points(corners: Any, metric: bool) -> list[tuple[float, float]]:
    if isinstance(corners, str):
        corners = [corner.split(",") for corner in corners.strip(" ;").split(";")]
    if not isinstance(corners, list) or not 3 <= len(corners) <= _MOST_CORNERS:
        raise refused(corners, f"{FORMS}, 3 to {_MOST_CORNERS} corners")
    points = []
    for corner in corners:
        if not isinstance(corner, list | tuple) or len(corner) != 2:
            raise refused(corner, FORMS)
        points.append((_PLACE.number(corner[0], metric), _PLACE.number(corner[1], metric)))
    return points


def _simple(points: list[tuple[float, float]], given: Any) -> tuple[tuple[float, float], ...]:
    # Imported here: shapely costs 0.1 s, and `sillway --help` reads no outline.
    from shapely import Polygon, is_valid_reason

    polygon = Polygon(points)
    if not polygon.is_valid:
        raise refused(given, f"an outline that does not cross itself ({is_valid_reason(polygon)})")
    if polygon.area <= 0:
        raise refused(given, "an outline that encloses an area")
    if not polygon.exterior.is_ccw:
        points = points[::-1]
    return tuple(points)
