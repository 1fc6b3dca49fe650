"""Costs of a van: amounts, lines, sealed, and two people at once."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.costs import add_line, ledgers, take_line
from sillway.store.ledger import cents_from, costs_from, show_cents
from sillway.store.models import Record, Revision, Term
from sillway.store.pack import Content
from sillway.store.records import chain_holds, create_record, history

ANA, BEN = By("Ana", "page"), By("Ben", "page")
DAY = dt.date(2026, 11, 20)


@pytest.fixture
def van(db):
    return create_record("van", Content({"kind": "van", "stock_number": "D-1"}), ANA).record


@given(st.integers(-99_999_999_999, 99_999_999_999))
def test_an_amount_shown_is_read_back(cents):
    assert cents_from(show_cents(cents), "amount") == cents


@pytest.mark.parametrize(
    ("text", "cents"),
    [("1", 100), ("1.5", 150), ("$ 1,240.50", 124050), ("-80", -8000), ("−80.05", -8005)],
)
def test_amounts_as_people_write_them(text, cents):
    assert cents_from(text, "amount") == cents


@pytest.mark.parametrize("text", ["", "1.005", "1,24", "ten", "1e3", "--1", "$", "1 2", "٣"])
def test_what_is_no_amount_is_refused(text):
    with pytest.raises(BadInput):
        cents_from(text, "amount")


def test_lines_add_up_by_day_and_one_can_be_taken_out(van):
    add_line(van, DAY, "tires", 52_000, ANA)
    add_line(van, DAY - dt.timedelta(days=3), "auction", 1_200_000, BEN)
    add_line(van, DAY, "core returned", -8_000, ANA)
    found = ledgers([van])[van]
    assert [line.what for line in found.lines] == ["auction", "tires", "core returned"]
    assert found.total_cents == 1_244_000
    take_line(van, found.lines[1].id, BEN)
    take_line(van, found.lines[1].id, BEN)
    assert ledgers([van])[van].total_cents == 1_192_000
    row = Record.objects.get(kind="costs")
    assert (row.about_id, row.version) == (van, 4)
    assert chain_holds(row)
    assert len(history(row.pk)[1].content.doc["lines"]) == 3


def test_what_was_paid_is_not_readable_in_the_database(van):
    add_line(van, DAY, "gearbox by Hollin", 123_456, ANA)
    row = Record.objects.get(kind="costs")
    body = bytes(Revision.objects.get(record=row).body)
    assert body[:1] == b"S"
    assert row.title == ""
    assert not Term.objects.filter(record=row).exists()


def test_nothing_is_kept_for_a_line_that_was_never_there(van):
    take_line(van, "nothing", ANA)
    assert ledgers([van]) == {}


@pytest.mark.parametrize(
    "doc",
    [
        {"lines": [{"id": "1", "day": "2026-11-20", "what": "", "cents": 1}]},
        {"lines": [{"id": "1", "day": "soon", "what": "x", "cents": 1}]},
        {"lines": [{"id": "1", "day": "2026-11-20", "what": "x", "cents": 1.5}]},
        {"lines": [], "more": 1},
        [],
    ],
)
def test_what_is_no_costs_document_is_refused(doc):
    with pytest.raises(BadInput):
        costs_from(doc)
