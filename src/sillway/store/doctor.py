"""``sillway doctor``: names what is wrong with an installation, and what to do about it."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import shutil
import sqlite3
import stat
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, Literal

from sillway.store import keys
from sillway.store.folder import DEFAULT, VARIABLE, Folder
from sillway.store.limits import limit

Grade = Literal["well", "mind", "ill"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at.

    Attributes:
        id: its name for ever.
        grade: ``well``, ``mind`` (works, see to it) or ``ill`` (must be mended).
        says: what was found.
        hint: what to do.
    """

    id: str
    grade: Grade
    says: str
    hint: str = ""


def add_parser(subparsers: Any) -> None:
    """Add ``doctor`` to the command line."""
    says = "name what is wrong with an installation"
    add(subparsers.add_parser("doctor", help=says, description=says))


def add(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``doctor``."""
    parser.add_argument("--data", type=Path, default=Path(os.environ.get(VARIABLE, DEFAULT)))
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--deep", action="store_true", help="also re-compute every revision's hash")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """``sillway doctor``; 1 if anything is ill."""
    found = list(examine(args.data, deep=args.deep))
    if args.json:
        print(json.dumps({"findings": [asdict(one) for one in found]}, indent=2))
    else:
        for one in found:
            print(f"{one.grade:<5}{one.id}: {one.says}" + (f" -> {one.hint}" if one.hint else ""))
    return int(any(one.grade == "ill" for one in found))


def examine(data: Path, *, deep: bool = False) -> Iterator[Finding]:
    """Look at everything; later looks are left out where an earlier one makes them senseless."""
    folder = Folder(data.resolve())
    if not folder.database.exists():
        hint = "python3 run.py serve begins one"
        yield Finding("folder", "ill", f"{folder.root} holds no lot", hint)
        return
    yield from _private(folder)
    yield from _master(folder)
    yield from _disk(folder)
    whole = True
    for one in _database(folder):
        whole = whole and one.grade != "ill"
        yield one
    yield from _certificate(folder)
    if not whole:
        return
    from sillway.store.opening import use_folder

    if not folder.master_key.exists() and not os.environ.get(keys.MASTER_VARIABLE):
        return  # opening it would make a new key, and hide that the old one is lost
    use_folder(data)
    for look in (*_LOOKS, *((_chains,) if deep else ())):
        yield from look(folder)


def _private(folder: Folder) -> Iterator[Finding]:
    if os.name != "posix":
        return
    secret = [folder.root, folder.ring, folder.database, folder.master_key, folder.tls / "lot.key",
              folder.tls / "authority.key"]  # fmt: skip
    bad = [path for path in secret if path.exists() and stat.S_IMODE(path.stat().st_mode) & 0o077]
    for path in bad:
        mode = f"{stat.S_IMODE(path.stat().st_mode):o}"
        hint = f"chmod go= {path}"
        yield Finding("permissions", "ill", f"{path} is open to others (mode {mode})", hint)
    if not bad:
        yield Finding("permissions", "well", "only this account reads the data")


def _master(folder: Folder) -> Iterator[Finding]:
    try:
        keys.master(folder)
    except keys.KeyTrouble as error:
        hint = f"put lot.key back, or restore it from the keys file of a backup into {folder.root}"
        yield Finding("master key", "ill", str(error), hint)
    else:
        yield Finding("master key", "well", "it is there and whole")


def _disk(folder: Folder) -> Iterator[Finding]:
    free, wanted = shutil.disk_usage(folder.root).free, limit("disk.free")
    says = f"{free / 1e9:.1f} GB free"
    if free < wanted:
        yield Finding("disk", "mind", says, f"make room; {wanted / 1e9:.0f} GB should be free")
    else:
        yield Finding("disk", "well", says)


def _database(folder: Folder) -> Iterator[Finding]:
    try:
        with contextlib.closing(sqlite3.connect(folder.database)) as one:
            (check,) = one.execute("PRAGMA integrity_check").fetchone()
            (mode,) = one.execute("PRAGMA journal_mode").fetchone()
            names = {name for (name,) in one.execute("SELECT name FROM sqlite_master")}
    except sqlite3.DatabaseError as error:
        check, mode, names = str(error), "", set()
    if check != "ok":
        yield Finding("database", "ill", check, "stop sillway and restore the newest backup")
        return
    yield Finding("database", "well", "integrity_check says ok")
    if mode != "wal":
        yield Finding(
            "journal", "mind", f"journal mode is {mode}", "start sillway once; it sets wal"
        )
    triggers = {f"store_{table}_no_{verb}" for table in ("revision", "trace")
                for verb in ("update", "delete")}  # fmt: skip
    lost = sorted(triggers - names)
    if lost and "store_revision" in names:
        hint = "somebody took them out; restore a backup"
        yield Finding("append-only", "ill", f"missing triggers: {', '.join(lost)}", hint)


def _certificate(folder: Folder) -> Iterator[Finding]:
    path = folder.tls / "lot.pem"
    if not path.exists():
        return
    from cryptography import x509

    try:
        until = x509.load_pem_x509_certificate(path.read_bytes()).not_valid_after_utc
    except ValueError:
        yield Finding("certificate", "ill", f"{path} is no certificate", "remove it, serve again")
        return
    days = (until - datetime.now(UTC)).days
    says = f"holds until {until:%Y-%m-%d}"
    if days < 0:
        yield Finding("certificate", "ill", f"ran out on {until:%Y-%m-%d}", "serve --lan again")
    elif days < limit("certificate.renew"):
        yield Finding("certificate", "mind", says, "the next start renews it")
    else:
        yield Finding("certificate", "well", says)


def missing_tables() -> int:
    """How many steps the tables are behind this version. Django must be set up."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def _migrations(folder: Folder) -> Iterator[Finding]:
    behind = missing_tables()
    if behind:
        says = f"{behind} steps of tables are missing"
        yield Finding("tables", "ill", says, "start sillway once; it makes them")
    else:
        yield Finding("tables", "well", "up to date")


def _persons(folder: Folder) -> Iterator[Finding]:
    from sillway.store.models import DestroyedPerson, Record, RingCopy

    kept = Record.objects.filter(gone_at=None).exclude(person="")
    persons = set(kept.values_list("person", flat=True))
    lost = [person for person in persons if not keys.path_of(person).exists()]
    if lost:
        hint = "restore the keys file of the newest backup"
        yield Finding("persons", "ill", f"keys of {len(lost)} persons are missing", hint)
    else:
        yield Finding("persons", "well", f"{len(persons)} persons, each with a key")
    open_ = DestroyedPerson.objects.filter(done_at=None).count()
    if open_:
        hint = "start sillway once; it ends them"
        yield Finding("deletions", "ill", f"{open_} deletions are not ended", hint)
    for copy in RingCopy.objects.filter(owes=True):
        hint = "make it reachable and run backup with the same --keys"
        says = f"{copy.path} may still hold keys of deleted persons"
        yield Finding("deletions", "ill", says, hint)


def _backups(folder: Folder) -> Iterator[Finding]:
    from sillway.store.models import RingCopy

    newest = RingCopy.objects.order_by("-written_at").first()
    if newest is None:
        yield Finding("backup", "mind", "there never was one", "sillway backup FILE")
        return
    days = (datetime.now(UTC) - newest.written_at).days
    grade: Grade = "mind" if days > limit("backup.age") else "well"
    hint = "sillway backup FILE" if grade == "mind" else ""
    yield Finding("backup", grade, f"the newest is {days} days old ({newest.data_path})", hint)


def _photos(folder: Folder) -> Iterator[Finding]:
    from sillway.store.models import DestroyedPerson, Photo
    from sillway.store.photos import path_of

    gone = DestroyedPerson.objects.values("person")
    lost = [one for one in Photo.objects.exclude(person__in=gone) if not path_of(one).exists()]
    if lost:
        says = f"{len(lost)} photos are missing, first {lost[0].digest[:12]}"
        yield Finding("photos", "ill", says, "restore the newest backup; it adds what is missing")


def _owners(folder: Folder) -> Iterator[Finding]:
    from django.contrib.auth import get_user_model

    if not get_user_model().objects.filter(role="owner", is_active=True).exists():
        yield Finding("owner", "mind", "there is no owner", "serve prints a link for one")


def _chains(folder: Folder) -> Iterator[Finding]:
    from sillway.store.models import Record
    from sillway.store.records import chain_holds

    bad = [str(row.pk) for row in Record.objects.order_by("pk").iterator() if not chain_holds(row)]
    if bad:
        says = f"revisions of records {', '.join(bad[:20])} are not what was kept"
        yield Finding("history", "ill", says, "somebody altered the file; restore a backup")
    else:
        yield Finding("history", "well", "every revision is what was kept")


_LOOKS: Final[tuple[Callable[[Folder], Iterator[Finding]], ...]] = (
    _migrations,
    _persons,
    _backups,
    _photos,
    _owners,
)
