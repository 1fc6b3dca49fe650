"""Sheets that were sent and not brought in yet: sealed files that do not stay.

They may hold riders, so they lie outside of the database and of every backup.
"""

from __future__ import annotations

import json
import re
import secrets
import time
import zlib
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from sillway.store import keys
from sillway.store.folder import data_folder, write_whole
from sillway.store.limits import limit


@dataclass(slots=True)
class Sent:
    """One sheet.

    Attributes:
        kind: of record, one a row.
        name: of the file.
        account: who sent it.
        metric: what bare numbers mean for new records.
        header, rows: as in ``table.Table``.
        chosen: field of each column; empty until chosen.
        job: number of the work that looks it over, 0 before.
        found: what that came to, one a row; empty until then.
    """

    kind: str
    name: str
    account: int
    metric: bool
    header: list[str]
    rows: list[tuple[int, list[str]]]
    chosen: list[str] = field(default_factory=list)
    job: int = 0
    found: list[dict[str, Any]] = field(default_factory=list)


class NotThere(LookupError):  # noqa: N818 - named for what it tells the reader
    """No such sheet (any more)."""


def put(sent: Sent, token: str = "") -> str:
    """Keep a sheet; answers its token."""
    token = token or secrets.token_hex(16)
    packed = zlib.compress(json.dumps(asdict(sent)).encode())
    write_whole(_path(token), keys.seal(keys.derived("imports"), packed, f"import {token}"))
    return token


def get(token: str) -> Sent:
    """A sheet. Raises NotThere."""
    sweep()
    try:
        sealed = _path(token).read_bytes()
    except FileNotFoundError:
        raise NotThere(token) from None
    packed = keys.unseal(keys.derived("imports"), sealed, f"import {token}")
    return Sent(**json.loads(zlib.decompress(packed)))


def drop(token: str) -> None:
    """Take a sheet off the shelf. Doing it twice is no error."""
    _path(token).unlink(missing_ok=True)


def tokens() -> list[str]:
    """Every sheet on the shelf, the newest first."""
    sweep()
    found = sorted(_folder().glob("*.sealed"), key=lambda path: -path.stat().st_mtime)
    return [path.stem for path in found]


def sweep() -> None:
    """Remove what was sent too long ago."""
    end = time.time() - limit("import.kept")
    for path in _folder().glob("*.sealed"):
        try:
            if path.stat().st_mtime < end:
                path.unlink()
        except FileNotFoundError:
            continue


def _folder() -> Path:
    return data_folder().root / "imports"


def _path(token: str) -> Path:
    if not re.fullmatch(r"[0-9a-f]{32}", token):
        raise NotThere(token)
    return _folder() / f"{token}.sealed"
