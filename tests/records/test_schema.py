"""The published schemas are those of the models, and the demo keeps to them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import zoo
from sillway.records import schema

FOLDER = Path(__file__).parent.parent.parent / "docs" / "schema"


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_the_published_schema_has_not_drifted(kind: str) -> None:
    published = (FOLDER / f"{kind}.schema.json").read_text(encoding="utf-8")
    assert published == schema.text_of(kind), "run: python -m sillway.records.schema"


def test_write_puts_both_where_told(tmp_path: Path) -> None:
    written = schema.write(tmp_path / "new")
    assert [path.name for path in written] == ["van.schema.json", "rider.schema.json"]
    assert all(json.loads(path.read_text(encoding="utf-8")) for path in written)


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_every_reference_is_kept_and_every_field_explained(kind: str) -> None:
    whole = schema.schema_of(kind)
    refs = set(re.findall(r'"#/\$defs/(\w+)"', json.dumps(whole)))
    assert refs == set(whole["$defs"])
    for name, part in {**whole["$defs"], kind: whole}.items():
        for field, about in part.get("properties", {}).items():
            assert len(about.get("description", "")) > 4, f"{name}.{field}"


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_the_demo_keeps_to_the_schema_and_bent_records_do_not(kind: str) -> None:
    whole = schema.schema_of(kind)
    records = zoo.given_vans() if kind == "van" else zoo.given_riders()
    from_json = {n: r for n, r in records.items() if (zoo.DEMO / f"{kind}s" / f"{n}.json").exists()}
    assert len(from_json) > 10
    for name, record in from_json.items():
        assert list(faults(record, whole, whole)) == [], name
    one = next(iter(from_json.values()))
    part = "ramp" if kind == "van" else "chair"
    for bent in (
        zoo.without(one, (part,)),
        zoo.without(one, (part, "length")),
        zoo.put(one, (part, "length"), [1]),
        zoo.put(one, (part, "lenght"), 1),
        zoo.put(one, ("kind",), "boat"),
        zoo.put(one, ("note",), "n" * 3000),
    ):
        assert list(faults(bent, whole, whole)) != []


TYPES: dict[str, Any] = {
    "object": dict, "array": list, "string": str, "integer": int, "number": (int, float),
    "boolean": bool, "null": type(None),
}  # fmt: skip
KNOWN = {
    "$defs", "$ref", "$schema", "additionalProperties", "anyOf", "const", "default", "description",
    "enum", "exclusiveMinimum", "format", "items", "maxItems", "maxLength", "maximum", "minItems",
    "minLength", "minimum", "pattern", "prefixItems", "properties", "required", "title", "type",
}  # fmt: skip


def faults(value: Any, rule: dict[str, Any], whole: dict[str, Any], at: str = "") -> Any:
    """What a validator of JSON Schema 2020-12 would say, for the words our schemas use."""
    assert set(rule) <= KNOWN, f"teach this validator {set(rule) - KNOWN}"
    if "$ref" in rule:
        yield from faults(value, whole["$defs"][rule["$ref"].rpartition("/")[2]], whole, at)
    if "anyOf" in rule and all(any(faults(value, one, whole, at)) for one in rule["anyOf"]):
        yield f"{at}: none of anyOf"
    if "type" in rule:
        right = isinstance(value, TYPES[rule["type"]])
        if not right or (isinstance(value, bool) and rule["type"] != "boolean"):
            yield f"{at}: not {rule['type']}"
            return
    if "enum" in rule and value not in rule["enum"]:
        yield f"{at}: not in enum"
    if "const" in rule and value != rule["const"]:
        yield f"{at}: not const"
    if isinstance(value, str):
        if not rule.get("minLength", 0) <= len(value) <= rule.get("maxLength", 10**9):
            yield f"{at}: length"
        if "pattern" in rule and not re.search(rule["pattern"], value):
            yield f"{at}: pattern"
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not rule.get("minimum", value) <= value <= rule.get("maximum", value):
            yield f"{at}: range"
        if "exclusiveMinimum" in rule and value <= rule["exclusiveMinimum"]:
            yield f"{at}: range"
    if isinstance(value, list):
        if not rule.get("minItems", 0) <= len(value) <= rule.get("maxItems", 10**9):
            yield f"{at}: count"
        first = rule.get("prefixItems", [])
        for count, entry in enumerate(value):
            inner = first[count] if count < len(first) else rule.get("items", {})
            yield from faults(entry, inner, whole, f"{at}[{count}]")
    if isinstance(value, dict):
        known = rule.get("properties", {})
        for name in rule.get("required", []):
            if name not in value:
                yield f"{at}.{name}: missing"
        for name, entry in value.items():
            if name in known:
                yield from faults(entry, known[name], whole, f"{at}.{name}")
            elif rule.get("additionalProperties") is False:
                yield f"{at}.{name}: unknown"
