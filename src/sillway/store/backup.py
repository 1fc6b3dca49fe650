"""``sillway backup``, while the lot is in use.

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
DATABASE: Final = "lot.sqlite3"
ABOUT: Final = "about.json"
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


def add_parser(subparsers: Any) -> None:
    """Add ``backup`` to the command line."""
    says = "copy database and photos into one encrypted file, while in use"
    add(subparsers.add_parser("backup", help=says, description=says))


def add(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``backup``."""
    add_shared(parser)
    parser.set_defaults(run=run)


def add_shared(parser: argparse.ArgumentParser) -> None:
    """The arguments that ``backup`` and ``restore`` have in common."""
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--data", type=Path, default=Path(os.environ.get(VARIABLE, DEFAULT)))
    parser.add_argument(
        "--keys",
        type=Path,
        metavar="FILE",
        help=f"where the keys of persons are copied to; default {RING_NAME} beside FILE",
    )
    parser.add_argument(
        "--passphrase-file",
        type=Path,
        metavar="FILE",
        help=f"read the passphrase from here; else from {PASSPHRASE}, else it is asked for",
    )


def run(args: argparse.Namespace) -> int:
    """``sillway backup FILE``."""
    ring = args.keys or args.file.absolute().parent / RING_NAME
    told = backup(args.data, args.file, ring, passphrase_from(args, again=True))
    size = f"{args.file.stat().st_size:,}"
    print(f"{args.file}: {told['records']} records, {told['photos']} photos, {size} bytes")
    print(f"{ring}: keys of {told['persons']} persons. Keep it too, and only its newest copy.")
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
        copy = Path(scratch) / DATABASE
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
                _add_bytes(tar, ABOUT, json.dumps(told).encode())
                tar.add(copy, DATABASE)
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


def passphrase_from(args: argparse.Namespace, *, again: bool) -> str:
    """The passphrase, from file, environment or person. Raises BadInput."""
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
