"""Row sheets say the same as JSON, and errors name the row."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import zoo
from sillway.errors import BadInput
from sillway.records import rows
from sillway.records.read import read_van, rider_from, van_from
from sillway.records.rider import Rider
from sillway.records.van import Van

HEAD = "field,value,way,tolerance,note\n"
VANS, RIDERS = zoo.given_vans(), zoo.given_riders()


def same(one: Any, other: Any) -> bool:
    """Equal but for how the entries were spelt."""
    if hasattr(one, "model_fields_set"):
        names = type(one).model_fields
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if hasattr(one, "raw"):
        names = [name for name in type(one).__slots__ if name not in ("raw", "typed")]
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    return bool(one == other)


@pytest.mark.parametrize("name", sorted(VANS))
def test_a_van_reads_the_same_from_rows(name: str) -> None:
    record = rows.parse(zoo.sheet(VANS[name], Van), Van).record
    assert same(van_from(record), van_from(VANS[name]))


@pytest.mark.parametrize("name", sorted(RIDERS))
def test_a_rider_reads_the_same_from_rows(name: str) -> None:
    record = rows.parse(zoo.sheet(RIDERS[name], Rider), Rider).record
    assert same(rider_from(record), rider_from(RIDERS[name]))


@pytest.mark.parametrize(
    ("line", "entry"),
    [
        ("ramp.length,34 to 35,,,", {"low": "34", "high": "35"}),
        ("ramp.length,57,Tape,1/4 in,", {"value": "57", "way": "tape", "tolerance": "1/4 in"}),
        ("ramp.length,57,,,from the hinge", "57"),
        ("ramp.spans,28 1/2; 28 1/2,,,", ["28 1/2", "28 1/2"]),
    ],
)
def test_measures_in_rows(line: str, entry: object) -> None:
    field = line.split(",")[0].split(".")[1]
    assert rows.parse(HEAD + line + "\n", Van).record["ramp"] == {field: entry}


def test_one_entry_of_a_plain_list_has_its_own_row() -> None:
    record = rows.parse(HEAD + "ramp.spans.1,28,,,\nramp.spans.2,29,,,\n", Van).record
    assert record == {"ramp": {"spans": ["28", "29"]}}


def test_outlines_in_rows() -> None:
    text = HEAD + 'cabin.floor,"0, -30; 100, -30; 100, 30; 0, 30",,,\n'
    assert rows.parse(text, Van).record["cabin"]["floor"].startswith("0, -30")
    text = HEAD + "cabin.floor,x 0 to 100; y -30 to 30,tape,,\n"
    assert rows.parse(text, Van).record["cabin"]["floor"] == {
        "x": ["0", "100"], "y": ["-30", "30"], "way": "tape",
    }  # fmt: skip


def test_blank_values_and_remarks_are_passed_over() -> None:
    text = HEAD + "# a remark\n\nramp.length,,,,not measured\nmake,Tarnwick,,,\n"
    assert rows.parse(text, Van).record == {"make": "Tarnwick"}


@pytest.mark.parametrize(
    ("text", "tells"),
    [
        ("", "no row"),
        ("ramp.length,57\n", "the columns"),
        ("field,value,colour\n", "the columns"),
        ("field,field,value\n", "the columns"),
        (HEAD + "ramp.lenght,57,,,\n", "row 2 (ramp.lenght)"),
        (HEAD + "ramp.lenght,57,,,\n", "did you mean ramp.length?"),
        (HEAD + "ramp.length,57,,,\nramp.length,58,,,\n", "see row 2"),
        (HEAD + "seats.0.id,a,,,\n", "counted from 1"),
        (HEAD + "seats.2.id,a,,,\n", "without a gap"),
        (HEAD + "seats,a,,,\n", "row 2 (seats)"),
        (HEAD + "make,Tarnwick,tape,,\n", "for measures only"),
        (HEAD + "ramp.length,34 to 35,,1/4,\n", "not both"),
        (HEAD + "ramp.length,1,2,3,4,5,6\n", "quotes"),
        (HEAD + 'ramp.length,"57\n', "whole CSV"),
        (HEAD + "ramp.spans,28,,,\nramp.spans.1,28,,,\n", "whole or entry by entry"),
        (HEAD + "ramp.spans.1,28,,,\nramp.spans,28,,,\n", "whole or entry by entry"),
    ],
)
def test_what_is_wrong_with_a_sheet_is_told(text: str, tells: str) -> None:
    with pytest.raises(BadInput) as caught:
        rows.parse(text, Van)
    assert tells in str(caught.value)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("field", "value"),
    [("ramp.length", "9 furlongs"), ("ramp.length", "3 in"), ("seats.1.in_use.outline", "1, 2"),
     ("door.height", "-3"), ("year", "soon"), ("seats.2.row", "9")],
)  # fmt: skip
def test_a_wrong_value_is_told_with_its_row(tmp_path: Any, field: str, value: str) -> None:
    lines = zoo.sheet(VANS["heron"], Van).splitlines()
    number = next(i for i, line in enumerate(lines) if line.startswith(field + ","))
    lines[number] = f'{field},"{value}",,'
    path = tmp_path / "van.csv"
    path.write_text("\n".join(lines), encoding="utf-8-sig")
    with pytest.raises(BadInput) as caught:
        read_van(path)
    assert f"row {number + 1} ({field})" in str(caught.value)


@settings(max_examples=100, deadline=None)
@given(text=st.text(max_size=80) | st.text(alphabet='fieldvalu,."\n1; to', max_size=120))
def test_any_text_is_rows_or_one_line(text: str) -> None:
    for sheet in (text, HEAD + text):
        found, error = zoo.outcome(rows.parse, sheet, Van)
        assert found is not None or str(error).isprintable()
