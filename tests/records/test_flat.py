"""A record as one row, and back through the row sheet's reader."""

import csv
import io
import json
from pathlib import Path

import pytest

from sillway.records.fields import by_path
from sillway.records.flat import EXTRAS, flat
from sillway.records.read import rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.rows import parse
from sillway.records.van import Van

DEMO = Path(__file__).parents[2] / "demo"
FILES = sorted(DEMO.glob("*/*.json"))


def sheet(columns):
    """The columns as a row sheet: one field a row."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(("field", "value", "way", "tolerance"))
    for path, value in columns.items():
        if path.rpartition(".")[2] in EXTRAS and path.rpartition(".")[0] in columns:
            continue
        writer.writerow((path, value, *(columns.get(f"{path}.{name}", "") for name in EXTRAS)))
    return out.getvalue()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_record_comes_back_as_the_same_record(path):
    doc = json.loads(path.read_text("utf-8"))
    model, read = (Van, van_from) if doc["kind"] == "van" else (Rider, rider_from)
    columns = flat(doc, model)
    assert len(columns) > 20
    again = read(parse(sheet(columns), model).record)
    before = read(doc)
    assert plain(again) == plain(before)


def plain(record):
    """What is meant, without how it was written."""

    def walk(value):
        if hasattr(value, "typed"):
            return (round(value.value, 6), value.way, value.tolerance)
        if hasattr(value, "points_mm"):
            return value.points_mm
        if hasattr(type(value), "model_fields"):
            return {name: walk(getattr(value, name)) for name in type(value).model_fields}
        if isinstance(value, tuple):
            return [walk(one) for one in value]
        return value

    return walk(record)


def test_entries_with_a_semicolon_or_a_way_stand_in_columns_of_their_own():
    doc = {"ramp": {"spans": ["30 in", {"value": "28 in", "way": "tape"}]},
           "places": [{"front_anchors": ["a;b", "c"]}]}  # fmt: skip
    assert flat(doc, Van) == {
        "ramp.spans.1": "30 in",
        "ramp.spans.2": "28 in",
        "ramp.spans.2.way": "tape",
        "places.1.front_anchors.1": "a;b",
        "places.1.front_anchors.2": "c",
    }


def test_what_is_no_field_or_nothing_has_no_column():
    assert flat({"colour": "red", "vin": None, "seats": []}, Van) == {}
    assert "door.width" in by_path(Van)
