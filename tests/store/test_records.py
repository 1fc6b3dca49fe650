"""Keeping, changing, undoing."""

import copy
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.find import find
from sillway.store.models import Figure, Record, Revision
from sillway.store.pack import Content
from sillway.store.records import (
    Conflict,
    NoSuchRecord,
    chain_holds,
    create_record,
    history,
    read_record,
    save_record,
    undo_to,
)
from workbench_help import demo

ANA, BEN = By("Ana", "page", 1), By("Ben", "phone", 2)


def changed(record, **fields):
    """The content at hand, with top-level fields of the document changed."""
    content = read_record(record).content
    return Content({**copy.deepcopy(content.doc), **fields}, content.card)


def test_a_record_comes_back_as_it_was_given(van):
    read = read_record(van)
    assert read.content.doc == demo("van")
    assert read.content.card["stage"] == "checking"
    assert (read.revision.number, read.revision.by_name, read.revision.origin) == (1, "Ana", "page")


def test_columns_follow_the_document(van):
    row = Record.objects.get(pk=van)
    assert (row.stage, row.complete, row.invented) == ("checking", True, True)
    assert demo("van")["stock_number"] in row.title
    assert Figure.objects.filter(record=van, name="door.height").exists()


def test_every_change_is_a_revision_with_who_when_and_from_where(van):
    save_record(van, changed(van, note="one"), BEN, base=1)
    newest, first = history(van)
    assert (newest.revision.by_name, newest.revision.origin) == ("Ben", "phone")
    assert newest.revision.at > first.revision.at
    assert newest.revision.at.tzinfo is not None
    assert (first.content.doc.get("note", ""), newest.content.doc["note"]) != ("one", "one")


def test_saving_nothing_new_makes_no_revision(van):
    saved = save_record(van, changed(van), ANA, base=1)
    assert (saved.revision, saved.changed) == (1, False)


def test_two_people_on_different_fields_are_joined(van):
    mine, theirs = changed(van, note="mine"), changed(van, measured_by="theirs")
    save_record(van, theirs, BEN, base=1)
    saved = save_record(van, mine, ANA, base=1)
    assert saved.merged
    doc = read_record(van).content.doc
    assert (doc["note"], doc["measured_by"]) == ("mine", "theirs")


def test_two_people_on_one_field_conflict_and_nothing_is_written(van):
    mine = changed(van, note="mine")
    save_record(van, changed(van, note="theirs"), BEN, base=1)
    with pytest.raises(Conflict) as told:
        save_record(van, mine, ANA, base=1)
    (clash,) = told.value.clashes
    assert (clash.field, clash.mine, clash.theirs) == ("doc.note", "mine", "theirs")
    assert read_record(van).row.version == 2


@pytest.mark.parametrize(("side", "holds"), [("mine", "mine"), ("theirs", "theirs")])
def test_a_choice_settles_a_conflict(van, side, holds):
    mine = changed(van, note="mine", measured_by="Ana")
    save_record(van, changed(van, note="theirs"), BEN, base=1)
    save_record(van, mine, ANA, base=1, choices={"doc.note": side}, against=2)
    doc = read_record(van).content.doc
    assert (doc["note"], doc["measured_by"]) == (holds, "Ana")


def test_a_choice_against_what_was_not_shown_is_asked_again(van):
    mine = changed(van, note="mine")
    save_record(van, changed(van, note="theirs"), BEN, base=1)
    save_record(van, changed(van, note="newer"), BEN, base=2)
    with pytest.raises(Conflict):
        save_record(van, mine, ANA, base=1, choices={"doc.note": "mine"}, against=2)
    assert read_record(van).content.doc["note"] == "newer"


def test_undo_to_any_revision_is_itself_a_revision(van):
    for note in ("one", "two", "three"):
        save_record(van, changed(van, note=note), ANA, base=read_record(van).row.version)
    saved = undo_to(van, 2, BEN, base=4)
    assert saved.revision == 5
    read = read_record(van)
    assert (read.content.doc["note"], read.revision.undo_of) == ("one", 2)
    undo_to(van, 4, BEN, base=5)
    assert read_record(van).content.doc["note"] == "three"


def test_undo_refuses_when_somebody_saved_meanwhile(van):
    save_record(van, changed(van, note="one"), ANA, base=1)
    save_record(van, changed(van, note="two"), BEN, base=2)
    with pytest.raises(Conflict):
        undo_to(van, 1, ANA, base=2)
    assert read_record(van).content.doc["note"] == "two"


def test_the_same_entry_twice_is_kept_once(van):
    entry = uuid4()
    one = save_record(van, changed(van, note="from the yard"), ANA, base=1, entry=entry)
    again = save_record(van, changed(van, note="from the yard"), ANA, base=1, entry=entry)
    assert (one.revision, again.revision, again.changed) == (2, 2, False)
    new = uuid4()
    first = create_record("van", Content(demo("van", 1)), ANA, entry=new)
    second = create_record("van", Content(demo("van", 1)), ANA, entry=new)
    assert first.record == second.record


def test_a_draft_may_lack_fields_but_not_hold_wrong_ones(db):
    saved = create_record("van", Content({"kind": "van", "stock_number": "N-1"}), ANA)
    assert not Record.objects.get(pk=saved.record).complete
    with pytest.raises(BadInput, match=r"ramp\.length"):
        create_record("van", Content({"kind": "van", "ramp": {"length": "34 furlongs"}}), ANA)
    with pytest.raises(BadInput, match="colour"):
        create_record("van", Content({"kind": "van", "colour": "blue"}), ANA)


def test_a_wrong_card_or_kind_is_refused(db):
    with pytest.raises(BadInput, match="stage"):
        create_record("van", Content(demo("van"), {"stage": "lost"}), ANA)
    with pytest.raises(BadInput, match="kind"):
        create_record("boat", Content({}), ANA)


def test_a_record_that_is_not_there_is_named(db):
    with pytest.raises(NoSuchRecord, match="4711"):
        read_record(4711)


@pytest.mark.parametrize("table", ["store_revision", "store_trace"])
@pytest.mark.parametrize("verb", ["DELETE FROM {}", "UPDATE {} SET by_name = 'x'"])
def test_sqlite_refuses_to_alter_what_was_kept(van, table, verb):
    from sillway.store.by import trace

    trace("test.act", ANA)
    with pytest.raises(IntegrityError, match="append-only"), connection.cursor() as cursor:
        cursor.execute(verb.format(table))


def test_the_chain_shows_an_altered_revision(van):
    save_record(van, changed(van, note="one"), ANA, base=1)
    row = Record.objects.get(pk=van)
    assert chain_holds(row)
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER store_revision_no_update")
    Revision.objects.filter(record=van, number=1).update(by_name="Nobody")
    assert not chain_holds(row)


def test_a_sealed_record_shows_nothing_in_the_database(rider):
    doc = demo("rider")
    row = Record.objects.get(pk=rider)
    assert row.title == ""
    assert row.person
    body = bytes(Revision.objects.get(record=rider).body)
    assert doc["name"].encode() not in body
    assert read_record(rider).content.doc == doc


def test_finding_by_name_phone_and_number(van, rider):
    doc = demo("rider")
    last = doc["name"].split()[-1]
    for text in (last, last.upper(), doc["name"], "7788", "010-7788", "someone@example.org"):
        assert [row.pk for row in find(text, ("rider",))] == [rider], text
    assert find("somebody else", ("rider",)) == []
    stock = demo("van")["stock_number"]
    for text in (stock, stock.lower(), demo("van")["make"][:4]):
        assert van in [row.pk for row in find(text, ("van",))], text
    assert find(last, ("van",)) == []
    assert find("", ("van", "rider")) == []


def test_an_offer_joins_the_rider_s_key(rider):
    person = Record.objects.get(pk=rider).person
    saved = create_record("offer", Content({"lines": []}), ANA, person=person, about=rider)
    assert Record.objects.get(pk=saved.record).person == person
    with pytest.raises(BadInput, match="about no person"):
        create_record("van", Content(demo("van")), ANA, person=person)
