"""A process killed while it writes loses nothing it said it had kept."""

import signal
import sqlite3
import subprocess
import sys

from workbench_help import in_lot, lot_env

WRITES = 500
# Writes and says each number only once it is kept; one record in ten is somebody's, sealed.
WRITER = """
import sys
from pathlib import Path
from sillway.store.opening import open_store
open_store(Path(sys.argv[1]))
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.records import create_record, save_record
ana = By("Ana", "page", 1)
name, count = sys.argv[2], 0
record = create_record("inspection", Content({"number": "0"}), ana).record
base = 1
while True:
    count += 1
    if count % 10:
        base = save_record(record, Content({"number": f"{name}.{count}"}), ana, base=base).revision
        print(record, base, f"{name}.{count}", flush=True)
    else:
        saved = create_record("sale", Content({"number": f"{name}.{count}"}), ana)
        print(saved.record, 1, f"{name}.{count}", flush=True)
"""


def test_no_acknowledged_write_is_lost_to_kill_9(tmp_path):
    """Two writers at once, both killed in full flight after 500 writes together."""
    in_lot(tmp_path, "")
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path), name],
                         env=lot_env(tmp_path), stdout=subprocess.PIPE, text=True)
        for name in ("a", "b")
    ]  # fmt: skip
    told: list[list[str]] = []
    for writer in writers:
        assert writer.stdout
        for _count in range(WRITES // len(writers)):
            told.append(writer.stdout.readline().split())
    for writer in writers:
        writer.send_signal(signal.SIGKILL)
    for writer in writers:
        assert writer.stdout
        rest = writer.stdout.read().splitlines()
        # A line cut by the kill was not said to the end.
        told.extend(line.split() for line in rest if len(line.split()) == 3)
        writer.wait()
        writer.stdout.close()
    assert len(told) >= WRITES
    with sqlite3.connect(tmp_path / "lot.sqlite3") as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    listing = tmp_path / "told"
    listing.write_text("\n".join(" ".join(one) for one in told))
    said = in_lot(tmp_path, f"""
        from sillway.store.models import Record
        from sillway.store.records import chain_holds, read_record
        lost = 0
        for line in Path({str(listing)!r}).read_text().splitlines():
            record, revision, text = line.split()
            lost += read_record(int(record), int(revision)).content.doc["number"] != text
        print(lost, all(chain_holds(row) for row in Record.objects.all()))
    """)  # fmt: skip
    assert said.split() == ["0", "True"]


def test_the_database_is_opened_to_survive_a_power_cut(tmp_path):
    said = in_lot(tmp_path, """
        from django.db import connection
        with connection.cursor() as cursor:
            for name in ("journal_mode", "synchronous", "secure_delete"):
                cursor.execute(f"PRAGMA {name}")
                print(cursor.fetchone()[0])
    """)  # fmt: skip
    # https://www.sqlite.org/pragma.html#pragma_synchronous: 2 is FULL
    assert said.split() == ["wal", "2", "1"]
