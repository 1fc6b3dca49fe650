"""The page of words is whole and true."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from sillway.records import words
from sillway.records.base import Record
from sillway.records.fields import fields_of
from sillway.records.rider import Rider
from sillway.records.van import Van

DOCS = Path(__file__).parent.parent.parent / "docs"


def test_the_page_has_not_drifted() -> None:
    published = (DOCS / "words.md").read_text(encoding="utf-8")
    assert published == words.page(), "run: python -m sillway.records.words > docs/words.md"


def test_every_field_has_its_word_and_no_word_is_left_over() -> None:
    text = files("sillway.records").joinpath("words.toml").read_text(encoding="utf-8")
    given = {(part, name) for part, names in tomllib.loads(text).items() for name in names}
    fields = [field for model in (Van, Rider) for field in fields_of(model)]
    needed = {("Record" if f.name in Record.model_fields else f.part, f.name) for f in fields}
    assert given == needed


@pytest.mark.parametrize("model", [Van, Rider])
def test_every_measure_on_the_page_has_its_unit(model: type[Record]) -> None:
    lines = words.page().splitlines()
    for field in fields_of(model):
        if field.unit:
            mine = [line for line in lines if line.startswith(f"| `{field.name}`")]
            assert any(line.endswith(f"{field.unit} |") for line in mine), field.path


def test_meanings_are_sentences() -> None:
    for model in (Van, Rider):
        for field in fields_of(model):
            says = words.meaning(field)
            assert says[0].isupper(), field.path
            assert says.endswith((".", "]")), field.path
            assert "\n" not in says
