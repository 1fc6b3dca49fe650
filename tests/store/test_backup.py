"""A backup rehearsed: made while in use, carried away, brought back elsewhere."""

import io
import json
import shutil
from pathlib import Path

import pytest

from sillway.errors import BadInput
from sillway.store import archive
from workbench_help import in_lot

MAKE = """
from io import BytesIO
from PIL import Image
from workbench_help import demo
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.photos import add_photo
from sillway.store.records import create_record, read_record, save_record
ana = By("Ana", "page", 1)
van = create_record("van", Content(demo("van"), {"stage": "held"}), ana).record
rider = create_record("rider", Content(demo("rider"), {"phone": "555-010-7788"}), ana).record
out = BytesIO(); Image.new("RGB", (40, 30), "navy").save(out, "JPEG"); out.seek(0)
add_photo(van, out, ana); out.seek(0); add_photo(rider, out, ana)
"""
LOOK = """
from workbench_help import demo
from sillway.store.find import find
from sillway.store.models import PhotoUse, Record
from sillway.store.photos import read_photo
from sillway.store.records import chain_holds, read_record
assert read_record(1).content.doc == demo("van")
assert read_record(2).content.doc == demo("rider")
assert [row.pk for row in find("7788", ("rider",))] == [2]
assert all(read_photo(use.photo)[:2] == b"\\xff\\xd8" for use in PhotoUse.objects.all())
assert all(chain_holds(row) for row in Record.objects.all())
print(Record.objects.count(), PhotoUse.objects.count())
"""


def files(tmp_path):
    away = tmp_path / "away"
    return f"Path({str(away / 'lot.backup')!r}), Path({str(away / 'keys.json')!r})"


@pytest.fixture(scope="module")
def original(tmp_path_factory):
    """A lot with a van and a rider, and its backup; to copy."""
    where = tmp_path_factory.mktemp("original")
    call = f"backup(Path({str(where / 'lot')!r}), {files(where)}, 'pass')"
    in_lot(where / "lot", f"{MAKE}from sillway.store.backup import backup\n{call}")
    return where


@pytest.fixture
def made(original, tmp_path):
    """A lot and its backup, to do with as one likes."""
    shutil.copytree(original / "away", tmp_path / "away")
    return Path(shutil.copytree(original / "lot", tmp_path / "lot"))


def back(tmp_path, target, passphrase="pass"):
    call = f"""
from sillway.store.restore import restore
told = restore(Path({str(target)!r}), {files(tmp_path)}, {passphrase!r})
"""
    return in_lot(target, call + LOOK)


def test_a_backup_comes_back_whole_in_a_new_place(tmp_path, made):
    assert back(tmp_path, tmp_path / "new").split() == ["2", "2"]


def test_a_lot_in_use_is_brought_back_and_what_was_there_is_kept(tmp_path, made):
    in_lot(made, """
        from sillway.store.by import By
        from sillway.store.pack import Content
        from sillway.store.records import create_record
        create_record("inspection", Content({}), By("Ana", "page", 1))
    """)  # fmt: skip
    # The process that restores has the database open, as a server beside it would.
    assert back(tmp_path, made).split() == ["2", "2"]
    (before,) = made.glob("before-restore-*.sqlite3")
    assert before.stat().st_mode & 0o077 == 0


def test_a_backup_is_one_moment_while_others_write(tmp_path):
    data = tmp_path / "lot"
    said = in_lot(data, MAKE + f"""
import subprocess, sys, threading
from sillway.store.backup import backup
stop = threading.Event()
def write():
    from django.db import connection
    base = 1
    while not stop.is_set():
        doc = dict(demo("van"), note=str(base))
        base = save_record(van, Content(doc, dict(stage="held")), ana, base=base).revision
    connection.close()
    print(base > 3)
writer = threading.Thread(target=write); writer.start()
for _count in range(2):
    backup(Path({str(data)!r}), {files(tmp_path)}, "pass")
stop.set(); writer.join()
""")  # fmt: skip
    assert said.split() == ["True"]
    in_lot(tmp_path / "new", f"""
        from sillway.store.restore import restore
        restore(Path({str(tmp_path / "new")!r}), {files(tmp_path)}, "pass")
        from sillway.store.models import Record
        from sillway.store.records import chain_holds, read_record
        assert all(chain_holds(row) for row in Record.objects.all())
        assert read_record(1).row.version >= 1
    """)  # fmt: skip


def test_without_the_keys_file_the_rest_still_comes_back(tmp_path, made):
    (tmp_path / "away" / "keys.json").unlink()
    said = in_lot(tmp_path / "new", f"""
        from sillway.store.restore import restore
        told = restore(Path({str(tmp_path / "new")!r}), {files(tmp_path)}, "pass")
        print(told["records"], told["unreadable"])
    """)  # fmt: skip
    assert said.split() == ["2", "1"]


def test_a_wrong_passphrase_changes_nothing(tmp_path, made):
    from sillway.store.restore import restore

    where = tmp_path / "new"
    with pytest.raises(BadInput, match="passphrase"):
        restore(where, tmp_path / "away" / "lot.backup", Path("none"), "wrong")
    assert not (where / "lot.sqlite3").exists()


def test_the_copy_of_keys_needs_the_passphrase_too(tmp_path, made):
    given = json.loads((tmp_path / "away" / "keys.json").read_text())
    master = (made / "lot.key").read_text().strip()
    assert master not in json.dumps(given)
    assert len(given["keys"]) == 1


def sealed(content: bytes) -> bytes:
    out = io.BytesIO()
    writer = archive.Writer(out, "pass")
    writer.write(content)
    writer.close()
    return out.getvalue()


@pytest.mark.parametrize(
    "size", [0, 1, archive.CHUNK - 1, archive.CHUNK, archive.CHUNK + 1, 2 * archive.CHUNK]
)
def test_an_archive_of_any_length_comes_back(size):
    content = bytes(range(256)) * (size // 256 + 1)
    whole = sealed(content[:size])
    assert io.BufferedReader(archive.Reader(io.BytesIO(whole), "pass")).read() == content[:size]


@pytest.mark.parametrize("harm", ["bit", "cut", "cut at a chunk", "swapped", "more"])
def test_an_altered_archive_is_refused(harm):
    whole = sealed(bytes(3 * archive.CHUNK))
    head = whole.index(b"\n", len(archive.MAGIC)) + 1
    step = archive.CHUNK + archive.TAG
    bad = {
        "bit": whole[:-9] + bytes([whole[-9] ^ 1]) + whole[-8:],
        "cut": whole[:-100],
        "cut at a chunk": whole[: head + 2 * step],
        "swapped": whole[:head] + whole[head + step : head + 2 * step] + whole[head : head + step]
        + whole[head + 2 * step :],
        "more": whole + bytes(40),
    }[harm]  # fmt: skip
    with pytest.raises(BadInput):
        io.BufferedReader(archive.Reader(io.BytesIO(bad), "pass")).read()
