"""JSON Schemas of the records. ``python -m sillway.records.schema [FOLDER]`` writes them."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel

from sillway.records.fields import fields_of
from sillway.records.measure import MeasureOf
from sillway.records.outline import outline_schema
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.records.words import meaning
from sillway.units import Kind

MODELS: Final[dict[str, type[BaseModel]]] = {"van": Van, "rider": Rider}
_FOLDER: Final = Path("docs/schema")


def schema_of(kind: str) -> dict[str, Any]:
    """The JSON Schema (2020-12) of a van or a rider, each field with its meaning.

    Raises:
        KeyError: for any other kind.
    """
    model = MODELS[kind]
    schema = model.model_json_schema(mode="validation")
    parts: dict[str, Any] = {model.__name__: schema, **schema.get("$defs", {})}
    for field in fields_of(model):
        parts[field.part]["properties"][field.name]["description"] = meaning(field)
    shared = {
        "Measure": {"anyOf": MeasureOf(Kind.LENGTH).json_schema()["anyOf"]},
        "Outline": outline_schema(),
    }
    whole = _refer(schema, {name: one["anyOf"] for name, one in shared.items()})
    text = json.dumps(whole)
    used = {name: one for name, one in shared.items() if f"#/$defs/{name}" in text}
    whole["$defs"] = {**whole["$defs"], **used}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **whole}


def _refer(node: Any, shared: dict[str, Any]) -> Any:
    """The same schema, with what is written out again and again said once."""
    if isinstance(node, list):
        return [_refer(one, shared) for one in node]
    if not isinstance(node, dict):
        return node
    for name, any_of in shared.items():
        if node.get("anyOf") == any_of:
            rest = {key: value for key, value in node.items() if key != "anyOf"}
            return {"$ref": f"#/$defs/{name}", **rest}
    return {key: _refer(value, shared) for key, value in node.items()}


def text_of(kind: str) -> str:
    """The schema as it is written to disk."""
    return json.dumps(schema_of(kind), indent=2, ensure_ascii=False) + "\n"


def write(folder: Path = _FOLDER) -> list[Path]:
    """Write both schemas, and say where."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for kind in MODELS:
        path = folder / f"{kind}.schema.json"
        path.write_text(text_of(kind), encoding="utf-8")
        written.append(path)
    return written


if __name__ == "__main__":
    for path in write(*(Path(given) for given in sys.argv[1:2])):
        sys.stdout.write(f"{path}\n")
