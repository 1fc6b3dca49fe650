"""The one box: its grammar, and what it finds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.by import By
from sillway.store.find import FIGURES, find, parse
from sillway.store.models import Figure, Term
from sillway.store.pack import Content
from sillway.store.records import create_record
from sillway.units import MM_PER_IN
from workbench_help import demo

ANA = By("Ana", "page")
ALL = ("van", "rider")


def van(**changes):
    doc = {"kind": "van", "stock_number": "D-109", "year": 2016, "make": "Brundell",
           "model": "Avocet", **changes}  # fmt: skip
    return create_record("van", Content(doc), ANA).record


def numbers(line, kinds=ALL):
    return sorted(row.pk for row in find(line, kinds))


@pytest.mark.parametrize(
    ("line", "figure", "compares", "value"),
    [
        ("door over 56 in", "door.height", "gt", 1422.4),
        ("Door width at least 4' 7-1/4\"", "door.width", "gte", 1403.35),
        ("ramp under 60 in", "ramp.length", "lt", 1524.0),
        ("ramp width<=80 cm", "ramp.width_at_hinge", "lte", 800.0),
        ("gvwr over 6500 lb", "ratings.gvwr", "gt", 2948.35),
        ("miles at most 60,000", "odometer", "lte", 96560.64),
        ("year  more   than 2015", "year", "gt", 2015.0),
    ],
)
def test_a_size_is_understood(line, figure, compares, value):
    (bound,) = parse(line).bounds
    assert (bound.figure, bound.compares) == (figure, compares)
    # 1 lb = 0.45359237 kg, 1 in = 25.4 mm, 1 mi = 1.609344 km by definition (1959 agreement).
    assert bound.value == pytest.approx(value, abs=0.01)


def test_sizes_and_words_stand_in_one_line():
    asked = parse("brundell door over 56 in, ramp under 60 in and avocet 2016")
    assert [bound.figure for bound in asked.bounds] == ["door.height", "ramp.length"]
    assert asked.words == ("brundell", "avocet", "2016")


@pytest.mark.parametrize(
    "line", ["door over", "door over blue", "gvwr over 56 in", "year over 56 in", "x" * 300]
)
def test_what_is_not_understood_is_said_in_one_sentence(line):
    with pytest.raises(BadInput) as caught:
        parse(line)
    assert "\n" not in caught.value.sentence()


def test_a_name_that_sounds_like_a_figure_is_a_word():
    assert parse("Ramp Doormann").words == ("ramp", "doormann")
    assert parse("undermeadow").words == ("undermeadow",)


@given(st.text(max_size=200))
def test_no_line_breaks_it(line):
    try:
        words = parse(line).words
    except BadInput:
        words = ()
    assert all(word == word.casefold() for word in words)


def test_a_van_is_found_by_stock_number_vin_tail_and_words(db):
    one = van(vin="1ZZ0ZINVENTED0123"[:17])
    other = van(stock_number="D-110", make="Hollin")
    assert numbers("D-109") == [one]
    assert numbers("d 110") == [other]
    for tail in ("0123", "D0123", "ed0123", "nted0123"):
        assert numbers(tail) == [one], tail
    assert numbers("brund") == [one]
    assert numbers("hollin avocet 2016") == [other]
    assert numbers("hollin D-109") == []


def test_a_van_is_found_by_its_sizes_also_while_it_is_not_whole(db):
    one = van(door={"height": "56 1/2 in"}, ramp={"length": {"low": "58 in", "high": "60 in"}})
    van(stock_number="D-110", door={"height": "55 in"}, ramp={"length": "62 in"})
    metric = van(stock_number="D-111", units="metric", door={"height": 1430})
    assert numbers("door over 56 in") == sorted([one, metric])
    assert numbers("door over 56 1/2 in") == []
    assert numbers("door at least 1435.1 mm") == [one]
    assert numbers("ramp under 60 in") == [one]
    assert numbers("door over 56 in ramp under 60 in d-109") == [one]


def test_every_figure_that_can_be_asked_for_is_indexed_of_a_whole_van(db):
    doc = demo("van")
    one = create_record("van", Content(doc), ANA).record
    indexed = set(Figure.objects.filter(record=one).values_list("name", flat=True))
    assert {name for name, _kind in FIGURES.values()} == indexed
    door = Figure.objects.get(record=one, name="door.width").value
    assert door == pytest.approx(float(37 * MM_PER_IN))


def test_a_rider_is_found_by_name_and_phone_and_nothing_readable_is_indexed(db):
    card = {"phone": "+1 (555) 010-7788", "email": "lena@example.test"}
    doc = {"kind": "rider", "name": "Lena Muñoz-Hart"}
    one = create_record("rider", Content(doc, card), ANA).record
    for line in ("lena", "MUNOZ", "muñoz hart", "7788", "0107788", "010-7788", "(555) 010-7788",
                 "1 555 010 7788", "+1 555-010-7788", "5550107788"):  # fmt: skip
        assert numbers(line) == [one], line
    # Parts of a sealed word cannot be looked for.
    assert numbers("len") == []
    assert numbers("lena", ("van",)) == []
    words = list(Term.objects.filter(record=one).values_list("word", flat=True))
    assert words
    assert all(word.startswith("#") and len(word) == 33 for word in words)
    assert not {"#" + keys.hashed("muñoz").hex()} & set(words)


def test_nobody_finds_a_rider_by_typing_the_hash(db):
    doc = {"kind": "rider", "name": "Lena"}
    create_record("rider", Content(doc), ANA)
    assert numbers(Term.objects.first().word) == []
