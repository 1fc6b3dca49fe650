"""Deleting a person: nothing readable is left anywhere."""

import sqlite3

import pytest

from sillway.store import keys
from sillway.store.by import By
from sillway.store.find import find
from sillway.store.models import DestroyedPerson, Record, Term, Trace
from sillway.store.pack import Content
from sillway.store.persons import destroy_person, finish_destroying
from sillway.store.records import read_many, read_record, save_record
from workbench_help import demo, in_lot

ANA = By("Ana", "page", 1)


def test_a_destroyed_person_can_be_neither_read_nor_found(rider):
    row = Record.objects.get(pk=rider)
    assert destroy_person(row.person, ANA) == 1
    with pytest.raises(keys.Destroyed):
        read_record(rider)
    with pytest.raises(keys.Destroyed):
        save_record(rider, Content(demo("rider")), ANA, base=1)
    row.refresh_from_db()
    assert row.gone_at is not None
    assert read_many([row]) == {}
    assert find("7788", ("rider",)) == []
    assert not Term.objects.filter(record=rider).exists()
    assert Trace.objects.filter(verb="person.destroyed", by_name="Ana").exists()


def test_a_crash_between_the_decision_and_the_key_is_ended_at_the_next_start(rider, monkeypatch):
    person = Record.objects.get(pk=rider).person
    monkeypatch.setattr("sillway.store.persons.finish_destroying", lambda: None)
    destroy_person(person, ANA)
    assert keys.path_of(person).exists()
    monkeypatch.undo()
    finish_destroying()
    assert not keys.path_of(person).exists()
    assert DestroyedPerson.objects.get(person=person).done_at


def test_one_person_s_key_opens_no_other(rider, db):
    sealed = keys.seal(keys.person_key(Record.objects.get(pk=rider).person), b"x", "here")
    with pytest.raises(keys.KeyTrouble):
        keys.unseal(keys.person_key(keys.new_person()), sealed, "here")
    with pytest.raises(keys.KeyTrouble):
        keys.unseal(keys.person_key(Record.objects.get(pk=rider).person), sealed, "elsewhere")


def test_a_key_file_is_for_its_owner_only(rider):
    person = Record.objects.get(pk=rider).person
    assert keys.path_of(person).stat().st_mode & 0o077 == 0


PLAIN = [
    "Zebedia Quillfeather",
    "Quillfeather",
    "5550109944",
    "(555) 010-9944",
    "quill@example.org",
]
MAKE = """
from io import BytesIO
from PIL import Image
from workbench_help import demo
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.photos import add_photo
from sillway.store.records import create_record, read_record, save_record
ana = By("Ana", "page", 1)
doc = {**demo("rider"), "name": "Zebedia Quillfeather", "story": "Quillfeather of the mill"}
card = {"phone": "(555) 010-9944", "email": "quill@example.org"}
saved = create_record("rider", Content(doc, card, "Quillfeather called"), ana)
person = read_record(saved.record).row.person
create_record("offer", Content({"for": "Zebedia Quillfeather"}), ana, person=person)
save_record(saved.record, Content({**doc, "note": "Quillfeather again"}, card), ana, base=1)
out = BytesIO()
Image.new("RGB", (40, 30), "navy").save(out, "JPEG", comment=b"Quillfeather")
out.seek(0)
use = add_photo(saved.record, out, ana)
print(person, saved.record)
"""


def test_the_plain_text_is_nowhere_neither_before_nor_after(tmp_path):
    """In database, write-ahead log, keys, photos, backup and copy of keys."""
    data, away = tmp_path / "lot", tmp_path / "away"
    # os._exit leaves the write-ahead log as a crash would.
    backup = f"""
from sillway.store.backup import backup
away = Path({str(away)!r})
backup(Path({str(data)!r}), away / "lot.backup", away / "keys.json", "pass")
import os, sys; sys.stdout.flush(); os._exit(0)
"""
    person, record = in_lot(data, MAKE + backup).split()
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert any(path.name.endswith("-wal") for path in files)
    assert {"lot.backup", "keys.json", f"{person}.key", "lot.sqlite3"} <= {p.name for p in files}
    _nowhere(files)

    destroy = f"""
from sillway.store.by import By
from sillway.store.persons import destroy_person
destroy_person({person!r}, By("Ana", "page", 1))
"""
    in_lot(data, destroy)
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    _nowhere(files)
    assert not any(path.name == f"{person}.key" for path in files)
    assert not any(path.suffix == ".sealed" for path in files)
    assert person not in (away / "keys.json").read_text()
    with sqlite3.connect(data / "lot.sqlite3") as database:
        count = "SELECT count(*) FROM store_term WHERE record_id = ?"
        assert database.execute(count, [record]).fetchone() == (0,)
        assert database.execute("SELECT count(*) FROM store_revision").fetchone() == (3,)


def test_an_old_backup_cannot_bring_a_destroyed_person_back(tmp_path):
    data, away, new = tmp_path / "lot", tmp_path / "away", tmp_path / "new"
    files = f"Path({str(away / 'lot.backup')!r}), Path({str(away / 'keys.json')!r}), 'pass'"
    backup = f"\nfrom sillway.store.backup import backup\nbackup(Path({str(data)!r}), {files})\n"
    person, record = in_lot(data, MAKE + backup).split()
    destroy = f"""
from sillway.store.by import By
from sillway.store.persons import destroy_person
destroy_person({person!r}, By("Ana", "page", 1))
"""
    in_lot(data, destroy)
    for target in (data, new):
        said = in_lot(target, f"""
            from sillway.store.restore import restore
            told = restore(Path({str(target)!r}), {files})
            from sillway.store import keys
            from sillway.store.records import read_record
            try:
                read_record({record})
            except keys.Destroyed:
                print("unreadable")
        """)  # fmt: skip
        assert said.strip() == "unreadable"


def _nowhere(files):
    for path in files:
        content = path.read_bytes()
        for text in PLAIN:
            for form in (text.encode(), text.lower().encode(), text.encode("utf-16-le")):
                assert form not in content, f"{text!r} stands in {path}"
