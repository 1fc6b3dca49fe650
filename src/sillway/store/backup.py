"""``sillway backup`` and ``sillway restore``, while the lot is in use.

The backup is one encrypted file: database and photos. The keys of persons are never in it: they
go into a second small file that every backup replaces, so that a person deleted later is gone
from all backups, also the old ones.
"""

from __future__ import annotations

import argparse
import base64
import contextlib
import getpass
import io
import json
import os
import re
import sqlite3
import sys
import tarfile
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from sillway.errors import BadInput
from sillway.store import archive, keys
from sillway.store.folder import DEFAULT, VARIABLE, Folder, sync, write_whole

PASSPHRASE: Final = "SILLWAY_BACKUP_PASSPHRASE"
RING_NAME: Final = "lot-keys.json"
# What a backup has no use for: it is made anew, or would let somebody in.
_LEFT_OUT: Final = (
    "store_term",
    "store_rate",
    "django_session",
    "accounts_signedin",
    "accounts_onetimelink",
    "axes_accessattempt",
    "axes_accesslog",
)
_PHOTO: Final = re.compile(r"photos/[0-9a-f]{2}/[0-9a-f]{64}(\.thumb)?\.(jpg|sealed)")
_DATABASE: Final = "lot.sqlite3"
_ABOUT: Final = "about.json"


def add_parser(subparsers: Any) -> None:
    """Add ``backup`` and ``restore`` to the command line."""
    for name, says, do in (
        ("backup", "copy database and photos into one encrypted file", run_backup),
        ("restore", "bring a backup back", run_restore),
    ):
        parser = subparsers.add_parser(name, help=says, description=says)
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--data", type=Path, default=Path(os.environ.get(VARIABLE, DEFAULT)))
        parser.add_argument(
            "--keys", type=Path, metavar="FILE",
            help=f"where the keys of persons are copied to; default {RING_NAME} beside FILE",
        )  # fmt: skip
        parser.add_argument(
            "--passphrase-file", type=Path, metavar="FILE",
            help=f"read the passphrase from here; else from {PASSPHRASE}, else it is asked for",
        )  # fmt: skip
        parser.set_defaults(run=do)


def run_backup(args: argparse.Namespace) -> int:
    """``sillway backup FILE``."""
    ring = args.keys or args.file.absolute().parent / RING_NAME
    told = backup(args.data, args.file, ring, _passphrase(args, again=True))
    print(
        f"{args.file}: {told['records']} records, {told['photos']} photos, "
        f"{args.file.stat().st_size:,} bytes"
    )
    print(
        f"{ring}: keys of {told['persons']} persons. Keep this file too, and only its newest copy."
    )
    return 0


def run_restore(args: argparse.Namespace) -> int:
    """``sillway restore FILE``."""
    ring = args.keys or args.file.absolute().parent / RING_NAME
    told = restore(args.data, args.file, ring, _passphrase(args, again=False))
    print(f"{args.data}: {told['records']} records, {told['photos']} photos are back")
    if told["before"]:
        print(f"what was there before: {told['before']}")
    if told["unreadable"]:
        print(f"{told['unreadable']} sealed records have no key here and cannot be read")
    return 0


def backup(data: Path, file: Path, ring_file: Path, passphrase: str) -> dict[str, int]:
    """Write the backup and replace the copy of the keys. Answers what is in it.

    Both files are there whole or not at all. The lot may be in use: the copy is of one moment.

    Raises:
        BadInput: nothing to back up, or a place that cannot be written.
    """
    from sillway.store.opening import use_folder

    if not Folder(data.resolve()).database.exists():
        raise BadInput("data", data, "a data folder with a lot in it")
    folder = use_folder(data)
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=folder.root) as scratch:
        copy = Path(scratch) / _DATABASE
        told = _copied(folder.database, copy)
        try:
            _write_archive(file, copy, folder, told, passphrase)
        except OSError as error:
            raise BadInput("backup", f"{file} ({error.strerror})", "a place to write") from None
    told["persons"] = _write_ring(folder, ring_file, file, passphrase)
    return told


def _copied(live: Path, copy: Path) -> dict[str, int]:
    with contextlib.closing(sqlite3.connect(live)) as source, \
            contextlib.closing(sqlite3.connect(copy)) as target:  # fmt: skip
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")
        there = {name for (name,) in target.execute("SELECT name FROM sqlite_master")}
        for table in _LEFT_OUT:
            if table in there:
                target.execute(f"DELETE FROM {table}")
        target.commit()
        target.execute("VACUUM")
        count = "SELECT count(*) FROM "
        return {
            "records": target.execute(count + "store_record").fetchone()[0],
            "photos": target.execute(count + "store_photo").fetchone()[0],
        }


def _write_archive(
    file: Path, copy: Path, folder: Folder, told: dict[str, int], passphrase: str
) -> None:
    file.absolute().parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            sealed = archive.Writer(out, passphrase)
            with tarfile.open(fileobj=sealed, mode="w|") as tar:
                _add_bytes(tar, _ABOUT, json.dumps(told).encode())
                tar.add(copy, _DATABASE)
                for path in _photos_of(copy, folder):
                    with contextlib.suppress(FileNotFoundError):  # a person deleted this minute
                        tar.add(path, path.relative_to(folder.root).as_posix())
            sealed.close()
            out.flush()
            os.fsync(out.fileno())
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
    sync(file.absolute().parent)


def _photos_of(copy: Path, folder: Folder) -> Iterator[Path]:
    with contextlib.closing(sqlite3.connect(copy)) as database:
        rows = database.execute("SELECT digest, person FROM store_photo").fetchall()
    for digest, person in rows:
        ending = ".sealed" if person else ".jpg"
        for name in ("", ".thumb"):
            yield folder.photos / digest[:2] / f"{digest}{name}{ending}"


def _add_bytes(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    info = tarfile.TarInfo(name)
    info.size = len(content)
    tar.addfile(info, io.BytesIO(content))


def _write_ring(folder: Folder, ring_file: Path, file: Path, passphrase: str) -> int:
    from sillway.store import ring
    from sillway.store.persons import finish_destroying

    finish_destroying()
    head = archive.key_head()
    sealed = keys.seal(archive.key_from(passphrase, head), keys.master(folder), ring.FORMAT)
    entries = ring.entries(folder)
    content = {
        "format": ring.FORMAT,
        "key": head,
        "master": base64.b64encode(sealed).decode(),
        "keys": entries,
    }
    # Noted first: a person deleted between the two steps must leave this copy as well.
    ring.note_copy(ring_file.absolute(), file.absolute())
    write_whole(ring_file.absolute(), json.dumps(content).encode("ascii"))
    return len(entries)


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
        source = unpacked / _DATABASE
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
                known = member.name in (_ABOUT, _DATABASE) or _PHOTO.fullmatch(member.name)
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
            contextlib.closing(sqlite3.connect(target, timeout=60)) as other:  # fmt: skip
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


def _passphrase(args: argparse.Namespace, *, again: bool) -> str:
    if args.passphrase_file:
        try:
            given: str = args.passphrase_file.read_text("utf-8").strip()
        except OSError as error:
            says = f"{args.passphrase_file} ({error.strerror})"
            raise BadInput("passphrase", says, "a file to read it from") from None
    else:
        given = os.environ.get(PASSPHRASE, "")
    if not given and sys.stdin.isatty():
        given = getpass.getpass("passphrase of the backup: ")
        if again and getpass.getpass("once more: ") != given:
            raise BadInput("passphrase", "two different ones", "the same twice")
    if not given:
        raise BadInput("passphrase", "", f"one in --passphrase-file or {PASSPHRASE}")
    return given
