"""``sillway restore``: a backup brought back into a new place, or into a lot in use."""

from __future__ import annotations

import argparse
import base64
import contextlib
import io
import os
import re
import sqlite3
import tarfile
import tempfile
from pathlib import Path
from typing import Any, Final

from sillway.errors import BadInput
from sillway.store import archive, keys
from sillway.store.backup import ABOUT, DATABASE, RING_NAME, add_shared, passphrase_from
from sillway.store.folder import VARIABLE, Folder, write_whole

_PHOTO: Final = re.compile(r"photos/[0-9a-f]{2}/[0-9a-f]{64}(\.thumb)?\.(jpg|sealed)")
# A server beside us may be writing; the copy of pages waits this long for it.
_WAIT_S: Final = 60


def add_parser(subparsers: Any) -> None:
    """Add ``restore`` to the command line."""
    says = "bring a backup back; what is there now is kept beside it"
    add(subparsers.add_parser("restore", help=says, description=says))


def add(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``restore``."""
    add_shared(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """``sillway restore FILE``."""
    ring = args.keys or args.file.absolute().parent / RING_NAME
    told = restore(args.data, args.file, ring, passphrase_from(args, again=False))
    print(f"{args.data}: {told['records']} records, {told['photos']} photos are back")
    if told["before"]:
        print(f"what was there before: {told['before']}")
    if told["unreadable"]:
        print(f"{told['unreadable']} sealed records have no key here and cannot be read")
    return 0


def restore(data: Path, file: Path, ring_file: Path, passphrase: str) -> dict[str, Any]:
    """Bring a backup into a data folder, new or in use; what was there is kept beside it.

    Persons deleted since the backup stay deleted.

    Raises:
        BadInput: no backup, a wrong passphrase, an altered or broken file. Nothing is changed.
    """
    folder = Folder(data.resolve())
    folder.make()
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=folder.root) as scratch:
        unpacked = Path(scratch)
        try:
            with file.open("rb") as sealed:
                _unpack(archive.Reader(sealed, passphrase), unpacked)
        except OSError as error:
            raise BadInput("backup", f"{file} ({error.strerror})", "a backup") from None
        source = unpacked / DATABASE
        _sound(source)
        gone = _destroyed_in(folder.database)
        before = _kept_aside(folder)
        _take_keys(folder, ring_file, passphrase, gone)
        for path in sorted(unpacked.glob("photos/*/*")):
            target = folder.root / path.relative_to(unpacked)
            if not target.exists():
                write_whole(target, path.read_bytes())
        _pages_into(source, folder.database)
    return {**_settle(folder, gone), "before": before}


def _unpack(sealed: archive.Reader, into: Path) -> None:
    try:
        with tarfile.open(fileobj=io.BufferedReader(sealed), mode="r|") as tar:
            for member in tar:
                known = member.name in (ABOUT, DATABASE) or _PHOTO.fullmatch(member.name)
                content = tar.extractfile(member) if member.isreg() and known else None
                if content is None:
                    raise BadInput("backup", member.name, "only a database and photos")
                path = into / member.name
                path.parent.mkdir(parents=True, exist_ok=True)
                with path.open("wb") as out:
                    while block := content.read(archive.CHUNK):
                        out.write(block)
        while sealed.read(archive.CHUNK):  # to the marked end
            pass
    except tarfile.TarError:
        raise BadInput("backup", "a damaged archive", "a whole backup") from None


def _sound(database: Path) -> None:
    try:
        with contextlib.closing(sqlite3.connect(database)) as one:
            (says,) = one.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as error:
        says = str(error)
    if says != "ok":
        raise BadInput("backup", says, "a sound database")


def _destroyed_in(database: Path) -> set[str]:
    if not database.exists():
        return set()
    with contextlib.closing(sqlite3.connect(database)) as one:
        try:
            return {person for (person,) in one.execute("SELECT person FROM store_destroyedperson")}
        except sqlite3.OperationalError:
            return set()


def _kept_aside(folder: Folder) -> str:
    from sillway.store.clock import now

    if not folder.database.exists():
        return ""
    path = folder.root / f"before-restore-{now():%Y%m%d-%H%M%S}.sqlite3"
    write_whole(path, b"")
    _pages_into(folder.database, path)
    return str(path)


def _pages_into(source: Path, target: Path) -> None:
    """Copy whole pages as one transaction; whoever has the target open sees it all at once."""
    with contextlib.closing(sqlite3.connect(source)) as one, \
            contextlib.closing(sqlite3.connect(target, timeout=_WAIT_S)) as other:  # fmt: skip
        one.backup(other)
    if os.name == "posix":
        target.chmod(0o600)


def _take_keys(folder: Folder, ring_file: Path, passphrase: str, gone: set[str]) -> None:
    from sillway.store import ring

    try:
        given = ring.read_copy(ring_file)
    except (OSError, ValueError):
        keys.make_master(folder)
        return
    sealed = base64.b64decode(given["master"])
    theirs = keys.unseal(archive.key_from(passphrase, given["key"]), sealed, ring.FORMAT)
    if not folder.master_key.exists() and not os.environ.get(keys.MASTER_VARIABLE):
        write_whole(folder.master_key, base64.b64encode(theirs) + b"\n")
    os.environ[VARIABLE] = str(folder.root)
    old, new = keys.wrapping(theirs), keys.wrapping(keys.master(folder))
    for person, wrapped in given["keys"].items():
        path = keys.path_of(person)
        if person not in gone and not path.exists():
            about = f"person {person}"
            plain = keys.unseal(old, base64.b64decode(wrapped), about)
            write_whole(path, keys.seal(new, plain, about))


def _settle(folder: Folder, gone: set[str]) -> dict[str, int]:
    from sillway.store.opening import open_store

    open_store(folder.root)
    from sillway.store.clock import now
    from sillway.store.index import reindex
    from sillway.store.models import DestroyedPerson, Photo, Record
    from sillway.store.persons import finish_destroying
    from sillway.store.records import read_many

    for person in gone:
        Record.objects.filter(person=person).update(gone_at=now())
        DestroyedPerson.objects.update_or_create(
            person=person, defaults={"at": now(), "done_at": None}
        )
    # Also persons deleted when the backup was made: an old copy of keys may have brought one.
    DestroyedPerson.objects.update(done_at=None)
    finish_destroying()
    rows = list(Record.objects.filter(gone_at=None))
    said = read_many(rows)
    for row in rows:
        if row.pk in said:
            reindex(row, said[row.pk])
            row.save()
    return {
        "records": Record.objects.count(),
        "photos": Photo.objects.count(),
        "unreadable": len(rows) - len(said),
    }
