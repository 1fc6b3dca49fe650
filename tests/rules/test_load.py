"""The loader: a day looked up, a bad file refused."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

import sillway.rules as rules
from sillway.errors import BadInput
from sillway.rules.load import read_file

BAD = Path(__file__).parent / "bad"
TODAY = date(2026, 11, 25)

# File -> words its refusal must hold. The folder is the catalogue of mistakes.
MISTAKES = {
    "unit_missing": ["ramp.width", "has no unit", "line 1"],
    "source_missing": ["ramp.width", "has no source"],
    "in_force_missing": ["ramp.width", "has no in_force date"],
    "provenance_missing": ["ramp.width", "has no provenance"],
    "checked_missing": ["ramp.width", "has no checked date"],
    "value_missing": ["ramp.width", "has no value."],
    "question_missing": ["ramp.width", "has no question"],
    "kind_missing": ["ramp.width", "has no kind"],
    "values_missing": ["ramp.width", "has no values"],
    "unit_unknown": ["ramp.width", "unknown unit 'furlong'", "lbf"],
    "kind_unknown": ["ramp.width", "unknown kind 'law'", "yardstick"],
    "provenance_unknown": ["ramp.width", "unknown provenance 'heard'", "from memory"],
    "key_unknown_value": ["ramp.width", "unknown key 'force'", "in_force"],
    "key_unknown_rule": ["ramp.width", "unknown key 'binds'", "question"],
    "key_unknown_file": ["unknown key 'title'"],
    "two_values_one_day": ["ramp.width", "two values for one day", "1991-10-07"],
    "id_twice": ["not TOML", "ramp.width"],
    "range_backwards": ["ramp.width", "runs backwards", "60 to 30"],
    "range_of_three": ["ramp.width", "not [low, high]"],
    "value_true": ["ramp.width", "True", "no number"],
    "value_nan": ["ramp.width", "not finite"],
    "value_huge": ["ramp.width", "not finite"],
    "value_infinite": ["ramp.width", "not finite"],
    "value_words_with_unit": ["ramp.width", "does not go with the unit 'in'"],
    "value_figure_as_text": ["ramp.width", "does not go with the unit 'text'"],
    "value_empty_words": ["ramp.width", "empty words"],
    "value_empty_table": ["ramp.width", "empty table"],
    "value_si_other_shape": ["ramp.width", "another shape"],
    "day_with_hour": ["ramp.width", "in_force", "not a day"],
    "day_as_words": ["ramp.width", "checked", "not a day"],
    "source_empty": ["ramp.width", "source", "not words"],
    "note_number": ["ramp.width", "note", "not words"],
    "id_unquoted": ["ramp", "quote its whole id"],
    "row_not_table": ["ramp.width", "not a table"],
    "no_rule": ["no rule in this file"],
    "not_toml": ["not TOML"],
    "not_utf8": ["UTF-8"],
}


@pytest.mark.parametrize("name", sorted(MISTAKES))
def test_a_bad_file_is_refused_with_rule_and_file(name: str) -> None:
    with pytest.raises(rules.RuleError) as caught:
        read_file(BAD / f"{name}.toml")
    sentence = str(caught.value)
    assert "\n" not in sentence
    for words in [f"{name}.toml: ", *MISTAKES[name]]:
        assert words in sentence, sentence


def test_every_bad_file_is_in_the_catalogue() -> None:
    assert {path.stem for path in BAD.glob("*.toml")} == set(MISTAKES)


GOOD = """
[rule."ramp.width"]
question = "Is the ramp wide enough?"
kind = "yardstick"
"""
VALUE = """
[[rule."ramp.width".values]]
value = {value}
unit = "in"
in_force = {day}
source = "somewhere"
provenance = "from memory"
checked = 2026-11-25
"""


def test_the_same_id_in_two_files_is_refused(tmp_path: Path) -> None:
    text = GOOD + VALUE.format(value=30, day="1991-10-07")
    (tmp_path / "a.toml").write_text(text, encoding="utf-8")
    (tmp_path / "b.toml").write_text(text, encoding="utf-8")
    with pytest.raises(rules.RuleError, match=r"b\.toml: ramp\.width stands in a\.toml already"):
        rules.read_folder(tmp_path)


def test_a_day_picks_the_value_then_in_force(tmp_path: Path) -> None:
    """n-1, n, n+1 round both days; the file may list the values in any order."""
    text = (
        GOOD + VALUE.format(value=32, day="2017-01-13") + VALUE.format(value=30, day="1991-10-07")
    )
    (tmp_path / "a.toml").write_text(text, encoding="utf-8")
    book = rules.read_folder(tmp_path)
    first, second, one = date(1991, 10, 7), date(2017, 1, 13), timedelta(days=1)
    with pytest.raises(rules.RuleError) as caught:
        book.rule("ramp.width", first - one)
    assert str(caught.value) == (
        "ramp.width has no value in force on 1991-10-06 (first: 1991-10-07, somewhere)."
    )
    on = {day: book.rule("ramp.width", day).value for day in (first, first + one)}
    assert set(on.values()) == {30.0}
    assert book.rule("ramp.width", second - one).value == 30.0
    assert book.rule("ramp.width", second).value == 32.0
    assert book.rule("ramp.width", second + one).value == 32.0
    assert [one.value for one in book.values_of("ramp.width")] == [30.0, 32.0]


def test_printed_metric_figures_follow_the_day() -> None:
    """The text of 1991 prints pounds only; that of 2016 prints 273 kg, not the exact 272.2."""
    assert rules.number("ramp.load.long", date(2017, 1, 12)) == 272.155422
    assert rules.number("ramp.load.long", date(2017, 1, 13)) == 273.0
    assert len(rules.values_of("ramp.load.long")) == 2


@pytest.mark.parametrize(
    ("ask", "rule_id", "words"),
    [
        (rules.number, "strap.angle.rear", "is not one figure"),
        (rules.interval, "ramp.width.clear", "is not a range"),
        (rules.table, "ramp.width.clear", "is not a table"),
        (rules.text, "ramp.width.clear", "is not words"),
        (rules.number, "caution.aid", "is not one figure"),
        (rules.number, "no.such", "There is no rule named no.such"),
    ],
)
def test_asking_for_another_shape_or_name_is_refused(ask, rule_id: str, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(rules.RuleError, match=words) as caught:
        ask(rule_id, TODAY)
    assert caught.value.rule_id == rule_id
    assert isinstance(caught.value, BadInput)
    assert "here.toml: " in str(caught.value.at("here.toml"))


def test_an_unreadable_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(rules.RuleError, match=r"folder\.toml"):
        rules.read_folder(tmp_path)


def test_the_book_is_read_once_and_cannot_be_changed() -> None:
    assert rules.book() is rules.book()
    with pytest.raises(TypeError):
        rules.book().history["x"] = ()  # type: ignore[index]
    with pytest.raises(TypeError):
        rules.table("tolerance.length", TODAY)["tape"] = 0  # type: ignore[index]


def test_a_row_of_a_table_is_named_like_a_rule() -> None:
    assert rules.number("tolerance.length.makers_drawing", TODAY) == 6.0
    assert rules.number("tolerance.mass.scale ticket", TODAY) == 10.0
    assert rules.number("people.seat.mean.power", TODAY) == 538.0  # the printed metric figure
    row = rules.rule("assumed.chair.mass.mid-wheel_drive", TODAY)
    assert row.value == rules.table("assumed.chair.mass", TODAY)["mid-wheel drive"]
    assert row.source == rules.rule("assumed.chair.mass", TODAY).source
    for unknown in ("tolerance.length.ear", "strap.count.tape", "tape"):
        with pytest.raises(rules.RuleError, match="There is no rule named"):
            rules.number(unknown, TODAY)


def test_rows_by_kind_of_chair_are_those_of_the_records() -> None:
    from typing import get_args

    from sillway.records.rider import DriveKind

    kinds = set(get_args(DriveKind))
    tables = [
        rule
        for rule in rules.all_rules()
        if rule.id.startswith("assumed.") and not isinstance(rule.value, tuple)
    ]
    assert len(tables) > 5
    for rule in tables:
        assert set(rules.table(rule.id, TODAY)) == kinds, rule.id
