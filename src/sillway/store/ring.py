"""Copies of the persons' keys that a backup put somewhere, and keeping them current.

A ring copy is one JSON file: the master key sealed under the backup's key, and every person's key
as wrapped under the master key. A person can be dropped from it without the passphrase.
"""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any, Final

from sillway.store.clock import now
from sillway.store.folder import Folder, write_whole
from sillway.store.models import RingCopy

FORMAT: Final = "sillway keys 1"


def entries(folder: Folder) -> dict[str, str]:
    """Every person's wrapped key, in base64, by person."""
    found = {}
    for path in sorted(folder.ring.glob("*/*.key")):
        try:
            found[path.stem] = base64.b64encode(path.read_bytes()).decode()
        except FileNotFoundError:
            continue
    return found


def read_copy(path: Path) -> dict[str, Any]:
    """A ring copy as it stands. Raises ValueError if it is none, OSError if unreadable."""
    given = json.loads(path.read_text("ascii"))
    if not isinstance(given, dict) or given.get("format") != FORMAT:
        raise ValueError(f"{path} is not a key file of sillway")
    return given


def note_copy(path: Path, data_path: Path) -> None:
    """Remember where a copy lies."""
    RingCopy.objects.update_or_create(
        path=str(path), defaults={"written_at": now(), "data_path": str(data_path), "owes": False}
    )


def drop_from_copies(person: str) -> None:
    """Take a destroyed person out of every copy that can be reached; the others owe it."""
    for copy in RingCopy.objects.all():
        path = Path(copy.path)
        try:
            given = read_copy(path)
            if given["keys"].pop(person, None) is not None:
                write_whole(path, json.dumps(given).encode("ascii"))
        except (OSError, ValueError):
            copy.owes = True
            copy.save()
