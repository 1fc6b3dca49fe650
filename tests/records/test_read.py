"""Whatever file is given, a record is read or refused with one line."""

from __future__ import annotations

import json
import math
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import zoo
from sillway.errors import BadInput
from sillway.records.read import (
    MOST_BYTES,
    read_record,
    read_rider,
    read_van,
    rider_from,
    van_from,
)
from sillway.records.rider import Rider
from sillway.records.van import Van

VANS, RIDERS = zoo.given_vans(), zoo.given_riders()
READ = {"van": van_from, "rider": rider_from}
SLOW = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def one_line(error: BadInput | None) -> bool:
    return error is not None and str(error).isprintable() and len(str(error)) < 1200


def wrong(kind: str, record: object) -> str:
    """The sentence with which a record is refused."""
    found, error = zoo.outcome(READ[kind], record, "it.json")
    assert found is None
    assert one_line(error)
    return str(error)


@pytest.mark.parametrize("name", sorted(VANS))
def test_demo_vans_read_and_are_written_back_as_they_came(name: str) -> None:
    record = VANS[name]
    van = van_from(record)
    again = van.model_dump(mode="json", exclude_unset=True)
    assert van_from(again) == van
    # Measures are written as they came; a row sheet has words where JSON has yes, no and numbers.
    for key in ("ratings", "door"):
        assert again[key] == record[key]


@pytest.mark.parametrize("name", sorted(RIDERS))
def test_demo_riders_read_and_read_again(name: str) -> None:
    rider = rider_from(RIDERS[name])
    assert rider_from(rider.model_dump(mode="json", exclude_unset=True)) == rider


@SLOW
@given(record=zoo.JSON_VALUES)
def test_any_json_is_refused_with_one_line(record: object) -> None:
    for kind in READ:
        wrong(kind, record)


@SLOW
@given(data=st.data(), kind=st.sampled_from(["van", "rider"]))
def test_a_bent_record_is_a_record_or_one_line(data: st.DataObject, kind: str) -> None:
    record = data.draw(zoo.bent_records(kind))
    found, error = zoo.outcome(READ[kind], record, "it.json")
    assert isinstance(found, Van | Rider) or one_line(error)


@pytest.mark.parametrize(
    "value",
    [math.nan, math.inf, -1, "-3 in", True, None, [], {}, "x", pytest.param(10**5000, id="huge")],
)
@pytest.mark.parametrize(
    "steps",
    [("ramp", "length"), ("door", "width"), ("cabin", "floor"), ("ratings", "gvwr"),
     ("outside", "height"), ("year",), ("make",), ("places",), ("seats", 0, "in_use", "outline")],
)  # fmt: skip
def test_a_wrong_value_is_told_with_its_place(steps: zoo.Steps, value: object) -> None:
    if steps == ("make",) and value in ("x", "-3 in"):
        value = "\n"  # any words make a make
    sentence = wrong("van", zoo.put(VANS["heron"], steps, value))
    assert sentence.startswith("it.json: " + str(steps[0]))
    assert str(steps[-1]) in sentence


def test_every_required_place_dropped_is_told_by_name() -> None:
    for steps in (("ramp", "length"), ("door",), ("places",), ("seats", 1, "in_use", "outline")):
        sentence = wrong("van", zoo.without(VANS["heron"], steps))
        assert "nothing given" in sentence
    assert "seats[1].in_use.outline" in sentence


def test_a_misspelt_field_is_told_before_the_missing_one() -> None:
    record = zoo.put(zoo.without(VANS["heron"], ("ramp", "length")), ("ramp", "lenght"), 57)
    assert "ramp.lenght" in wrong("van", record)
    assert "did you mean length?" in wrong("van", record)


def test_outlines_that_cross_themselves_are_refused() -> None:
    bow_tie = "0, -30; 100, 30; 100, -30; 0, 30"
    assert "cross itself" in wrong("van", zoo.put(VANS["heron"], ("cabin", "floor"), bow_tie))


def test_a_nine_metre_chair_is_refused() -> None:
    assert "chair.length" in wrong("rider", zoo.put(RIDERS["marit"], ("chair", "length"), "9 m"))


def test_units_and_ways_of_a_record_hold_for_its_bare_numbers() -> None:
    rider = rider_from(RIDERS["joost"])
    assert rider.chair.length.value == 1165.0
    assert rider.chair.length.way == "tape"
    assert rider_from(RIDERS["oona"]).chair.length.way == "reported"
    assert van_from(VANS["heron"]).ramp.length.way == "tape"
    assert van_from(VANS["heron"]).ramp.length.value == 57 * 25.4


def put_file(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def refused(path: Path) -> str:
    for read in (read_van, read_rider, read_record):
        found, error = zoo.outcome(read, path)
        assert found is None
        assert one_line(error)
    return str(error)


HERON = json.dumps(VANS["heron"]).encode()


def test_every_truncation_of_a_record_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "cut.json"
    for end in range(0, len(HERON) - 1, 7):
        path.write_bytes(HERON[:end])
        found, error = zoo.outcome(read_van, path)
        assert found is None
        assert one_line(error)


def test_truncated_row_sheets_are_records_or_one_line(tmp_path: Path) -> None:
    sheet = zoo.sheet(VANS["heron"], Van).encode()
    path = tmp_path / "cut.csv"
    for end in range(0, len(sheet), 97):
        path.write_bytes(sheet[:end])
        found, error = zoo.outcome(read_van, path)
        assert found is not None or one_line(error)


@pytest.mark.parametrize(
    ("data", "tells"),
    [
        (b"", "an empty file"),
        (b" \n\t ", "an empty file"),
        (b"\x89PNG\r\n\x1a\n\x00\xff", "UTF-8"),
        (b"[]", "one object"),
        (b"3", "one object"),
        (b'{"kind": "van", "kind": "van"}', "twice"),
        (b'{"kind": "boat"}', "van or rider"),
        (b"[" * 200_000, "deep"),
        (b'{"a":' * 200_000, "deep"),
        (b'{"kind": "van", "year": ' + b"9" * 5000 + b"}", "digits"),
        (b'{"kind": "van"} trailing', "whole JSON"),
    ],
)
def test_files_that_are_no_record(tmp_path: Path, data: bytes, tells: str) -> None:
    assert tells in refused(put_file(tmp_path, "x.json", data))


def test_deep_nesting_where_a_measure_is_expected_is_refused(tmp_path: Path) -> None:
    for depth in (50, 400, 900):
        deep = b"[" * depth + b"]" * depth
        data = HERON.replace(b'"floor": ', b'"floor": ' + deep + b', "x": ')
        refused(put_file(tmp_path, "deep.json", data))


def test_a_large_file_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.json"
    with path.open("wb") as file:
        file.truncate(100_000_000)  # sparse: no bytes on disk
    assert f"at most {MOST_BYTES / 1e6:.0f} MB" in refused(path)


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "van.json"
    folder.mkdir()
    assert "a folder" in refused(folder)
    assert "No such file" in refused(tmp_path / "none.json")
    assert ".json or a .csv" in refused(put_file(tmp_path, "van.txt", HERON))
    refused(tmp_path / "a\x00b.json")
    refused(tmp_path / ("long" * 200 + ".json"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    assert "plain file" in refused(pipe)


def test_record_kinds_are_kept_apart(tmp_path: Path) -> None:
    heron = put_file(tmp_path, "heron.json", HERON)
    assert isinstance(read_record(heron), Van)
    assert isinstance(read_record(zoo.DEMO / "riders" / "tobin.csv"), Rider)
    with pytest.raises(BadInput, match="kind"):
        read_rider(heron)


@SLOW
@given(data=st.binary(max_size=200))
def test_any_bytes_are_refused_with_one_line(tmp_path_factory: Any, data: bytes) -> None:
    for ending in ("json", "csv"):
        refused(put_file(tmp_path_factory.getbasetemp(), f"any.{ending}", data))


def test_half_a_letter_is_refused_in_one_line() -> None:
    """JSON can spell one half of a surrogate pair; no text file can hold it."""
    with pytest.raises(BadInput, match="whole letters only"):
        van_from({"kind": "van", "ratings": {"gvwr": "\ud800"}}, "van.json")
