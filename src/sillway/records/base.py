"""What all records share: frozen, nothing unknown accepted."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from sillway.records.measure import Way

# Words on one line: control characters would break a sheet or forge a line of output.
_ONE_LINE = r"^[^\x00-\x1f\x7f]*[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$"
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=_ONE_LINE)]
Note = Annotated[str, Field(max_length=2000)]
Units = Literal["inch-pound", "metric"]


class Part(BaseModel):
    """A part of a record. Unknown fields are refused, so a misspelt one cannot be lost."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Record(Part):
    """A document kept.

    Attributes:
        units: what bare numbers mean: inches and pounds, or millimetres and kilograms.
        way: how its measures were taken unless one says otherwise.
        invented: true for demo data.
    """

    units: Units = "inch-pound"
    way: Way = Way.TAPE
    invented: bool = False
    note: Note = ""
