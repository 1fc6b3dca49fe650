"""The doctor names each harm done to a lot, and nothing on a sound one."""

import json
import shutil
import sqlite3
import subprocess
import sys

import pytest

from workbench_help import in_lot, lot_env

MAKE = """
from workbench_help import demo
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.records import create_record
create_record("rider", Content(demo("rider")), By("Ana", "page", 1))
create_record("van", Content(demo("van")), By("Ana", "page", 1))
from sillway.web.accounts.models import Account
from sillway.store.clock import now
Account.objects.create(name="Olga", role="owner", made_at=now())
"""


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A sound lot, to copy."""
    data = tmp_path_factory.mktemp("lot") / "data"
    in_lot(data, MAKE)
    return data


@pytest.fixture
def lot(sound, tmp_path):
    """A lot to harm."""
    return shutil.copytree(sound, tmp_path / "lot")


def doctor(data, *more):
    code = """
import argparse, sys
from sillway.store import doctor
parser = argparse.ArgumentParser()
doctor.add_parser(parser.add_subparsers())
args = parser.parse_args(["doctor", *sys.argv[1:]])
sys.exit(args.run(args))
"""
    command = [sys.executable, "-c", code, "--data", str(data), "--json", *more]
    done = subprocess.run(command, env=lot_env(data), capture_output=True, text=True, check=False)
    assert done.stderr == ""
    found = json.loads(done.stdout)["findings"]
    ill = {one["id"] for one in found if one["grade"] == "ill"}
    assert done.returncode == bool(ill)
    assert all(one["hint"] for one in found if one["grade"] != "well")
    return ill, {one["id"] for one in found if one["grade"] == "mind"}


def test_a_sound_lot_only_wants_a_backup(lot):
    assert doctor(lot, "--deep") == (set(), {"backup"})


def test_no_lot_at_all(tmp_path):
    assert doctor(tmp_path / "nowhere")[0] == {"folder"}


def _alter(lot, *lines):
    with sqlite3.connect(lot / "lot.sqlite3") as database:
        for line in lines:
            database.execute(line)


HARMS = {
    "permissions": lambda lot: (lot / "lot.sqlite3").chmod(0o644),
    "master key": lambda lot: (lot / "lot.key").unlink(),
    "persons": lambda lot: next(lot.glob("keys/*/*.key")).unlink(),
    "database": lambda lot: (lot / "lot.sqlite3").write_bytes(b"SQLite no more" * 1000),
    "append-only": lambda lot: _alter(lot, "DROP TRIGGER store_trace_no_delete"),
    "tables": lambda lot: _alter(lot, "DELETE FROM django_migrations WHERE app = 'store'"),
    "deletions": lambda lot: _alter(
        lot, "INSERT INTO store_destroyedperson (person, at) VALUES ('a', '2026-01-01')"
    ),
    "photos": lambda lot: _alter(
        lot,
        "INSERT INTO store_photo (digest, person, width_px, height_px, size_bytes, made_at) "
        "VALUES ('ab', '', 1, 1, 1, '2026-01-01')",
    ),
    "history": lambda lot: _alter(
        lot,
        "DROP TRIGGER store_revision_no_update",
        "UPDATE store_revision SET by_name = 'Nobody' WHERE id = 1",
        "CREATE TRIGGER store_revision_no_update BEFORE UPDATE ON store_revision "
        "BEGIN SELECT RAISE(ABORT, 'kept'); END",
    ),
}


@pytest.mark.parametrize("harm", HARMS)
def test_each_harm_is_named(lot, harm):
    for path in lot.glob("*-wal"):
        path.unlink() if harm == "database" else None
    HARMS[harm](lot)
    ill, _mind = doctor(lot, "--deep")
    assert ill == {harm}


def test_a_certificate_that_has_run_out_is_named(lot, monkeypatch):
    from datetime import UTC, datetime

    from sillway.store.folder import Folder
    from sillway.web import tls

    monkeypatch.setattr(tls, "now", lambda: datetime(2020, 1, 1, tzinfo=UTC))
    tls.own_certificate(Folder(lot), ["lot.local"], ["192.168.1.2"])
    assert doctor(lot)[0] == {"certificate"}
