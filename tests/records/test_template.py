"""The blank row sheet can be filled and reads back."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

import zoo
from sillway.errors import BadInput
from sillway.records import rows
from sillway.records.fields import Takes, fields_of
from sillway.records.read import read_rider, read_van
from sillway.records.template import template

RECORDS = {"van": zoo.given_vans()["heron"], "rider": zoo.given_riders()["marit"]}
READ = {"van": read_van, "rider": read_rider}


def filled(kind: str) -> str:
    """The template with every cell filled that the record has an entry for, rows added at need."""
    reader = csv.reader(io.StringIO(zoo.sheet(RECORDS[kind], zoo.MODELS[kind])))
    entries = {cells[0]: cells[1:] for cells in reader}
    lines = [cells for cells in csv.reader(io.StringIO(template(kind))) if cells]
    for cells in lines:
        if cells[0] in entries and cells[0] != "field":
            cells[1:4] = entries.pop(cells[0])
    lines.extend([path, *cells, ""] for path, cells in entries.items() if path != "field")
    out = io.StringIO(newline="")
    csv.writer(out).writerows(lines)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_a_filled_template_reads_back(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"{kind}.csv"
    path.write_text(filled(kind), encoding="utf-8", newline="")
    direct = tmp_path / "direct.csv"
    direct.write_text(zoo.sheet(RECORDS[kind], zoo.MODELS[kind]), encoding="utf-8", newline="")
    assert READ[kind](path) == READ[kind](direct)


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_every_field_has_a_row_and_a_note(kind: str) -> None:
    lines = [cells for cells in csv.reader(io.StringIO(template(kind))) if cells]
    noted = {cells[0]: cells[4] for cells in lines if len(cells) == 5}
    for field in fields_of(zoo.MODELS[kind]):
        if field.takes is Takes.PART or field.path.startswith("other_chairs."):
            continue
        note = noted[field.path.replace("*", "1")]
        assert note.startswith("Required" if field.required else "Optional")


@pytest.mark.parametrize("kind", ["van", "rider"])
def test_an_unfilled_template_asks_for_the_first_missing_field(kind: str, tmp_path: Path) -> None:
    assert rows.parse(template(kind), zoo.MODELS[kind]).record == {"kind": kind}
    path = tmp_path / "blank.csv"
    path.write_text(template(kind), encoding="utf-8", newline="")
    with pytest.raises(BadInput, match="nothing given"):
        READ[kind](path)


def test_there_is_no_template_of_a_boat() -> None:
    with pytest.raises(BadInput, match="van or rider"):
        template("boat")
