"""A measured value: a number with a tolerance and the way it was measured."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from sillway import units
from sillway.errors import BadInput, shorten
from sillway.units import Kind


class Way(StrEnum):
    """How a value was come by. The default tolerance of each is rule data."""

    TAPE = "tape"
    REPORTED = "reported"
    SCALE = "scale ticket"
    DRAWING = "maker's drawing"
    LABEL = "label"
    ASSUMED = "assumed"


@dataclass(frozen=True, slots=True)
class Measure:
    """A value in the inside unit of its kind (mm, kg, km, N, rad).

    Attributes:
        value: the value, or the middle of a range.
        way: how it was measured.
        typed: what the person wrote, kept as written.
        raw: the whole entry as JSON, so that it is written back as it came.
        tolerance: half width in the same unit; None leaves it to the rule of the way.
    """

    value: float
    way: Way
    typed: str
    raw: str
    tolerance: float | None = None


@dataclass(frozen=True, slots=True)
class MeasureOf:
    """Pydantic annotation of a field that holds a measure.

    Attributes:
        kind: what is measured.
        signed: whether it may be negative (places, not sizes).
        usual: how it is always come by (a rating is read off a label), over the record's own way.
    """

    kind: Kind
    signed: bool = False
    usual: Way | None = None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            self._read,
            serialization=core_schema.plain_serializer_function_ser_schema(_as_given),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return self.json_schema()

    def json_schema(self) -> dict[str, Any]:
        """The JSON Schema of a measure of this kind."""
        plain: list[dict[str, Any]] = [{"type": "string"}, {"type": "number"}]
        way = {"enum": [str(way) for way in Way]}
        return {
            "description": f"{units.WANTED[self.kind]}; a bare number is in the record's units",
            "anyOf": [
                *plain,
                {
                    "type": "object",
                    "properties": {
                        "value": {"anyOf": plain},
                        "tolerance": {"anyOf": plain},
                        "way": way,
                    },
                    "required": ["value"],
                    "additionalProperties": False,
                },
                {
                    "type": "object",
                    "properties": {"low": {"anyOf": plain}, "high": {"anyOf": plain}, "way": way},
                    "required": ["low", "high"],
                    "additionalProperties": False,
                },
            ],
        }

    def _read(self, given: Any, info: core_schema.ValidationInfo) -> Measure:
        if isinstance(given, Measure):
            return given
        context: dict[str, Any] = info.context or {}
        metric = bool(context.get("metric"))
        way = self.usual or Way(context.get("way", Way.TAPE))
        if not isinstance(given, dict):
            return Measure(self.number(given, metric), way, str(given), json.dumps(given))
        keys = set(given)
        if "way" in given:
            try:
                way = Way(given["way"])
            except ValueError:
                raise refused(given["way"], "a way: " + ", ".join(Way)) from None
        if keys - {"way"} == {"low", "high"}:
            low, high = (self.number(given[key], metric) for key in ("low", "high"))
            if low > high:
                raise refused(given, "a low end that is not above the high end")
            typed = f"{given['low']} to {given['high']}"
            return Measure((low + high) / 2, way, typed, json.dumps(given), (high - low) / 2)
        if "value" in keys and keys <= {"value", "way", "tolerance"}:
            tolerance = given.get("tolerance")
            return Measure(
                self.number(given["value"], metric),
                way,
                str(given["value"]),
                json.dumps(given),
                None if tolerance is None else MeasureOf(self.kind).number(tolerance, metric),
            )
        raise refused(given, 'a value, or {"value", "tolerance", "way"}, or {"low", "high", "way"}')

    def number(self, given: Any, metric: bool) -> float:
        if isinstance(given, bool) or not isinstance(given, str | int | float):
            raise refused(given, units.WANTED[self.kind])
        if isinstance(given, float) and not math.isfinite(given):
            raise refused(given, units.WANTED[self.kind])
        try:
            text = given if isinstance(given, str) else format(given, "f")
            if self.kind is Kind.SLOPE:
                return units.parse_slope_rad(text, "")
            return float(units.parse(text, self.kind, "", metric=metric, signed=self.signed))
        except BadInput as error:
            raise refused(given, error.wanted) from None
        except (OverflowError, ValueError):
            raise refused(given, units.WANTED[self.kind]) from None


def refused(given: Any, wanted: str) -> PydanticCustomError:
    return PydanticCustomError("measure", "{wanted}", {"wanted": wanted, "given": shorten(given)})


def _as_given(measure: Measure) -> Any:
    return json.loads(measure.raw)


Length = Annotated[Measure, MeasureOf(Kind.LENGTH)]
Position = Annotated[Measure, MeasureOf(Kind.LENGTH, signed=True)]
Mass = Annotated[Measure, MeasureOf(Kind.MASS)]
RatedMass = Annotated[Measure, MeasureOf(Kind.MASS, usual=Way.LABEL)]
RatedForce = Annotated[Measure, MeasureOf(Kind.FORCE, usual=Way.LABEL)]
Force = Annotated[Measure, MeasureOf(Kind.FORCE)]
Distance = Annotated[Measure, MeasureOf(Kind.DISTANCE)]
Tread = Annotated[Measure, MeasureOf(Kind.TREAD)]
Slope = Annotated[Measure, MeasureOf(Kind.SLOPE)]
