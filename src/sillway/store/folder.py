"""The lot's data folder: what lies where."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

DEFAULT: Final = "lot-data"
VARIABLE: Final = "SILLWAY_DATA"


@dataclass(frozen=True, slots=True)
class Folder:
    """Where one lot is kept.

    Attributes:
        root: the data folder itself.
    """

    root: Path

    @property
    def database(self) -> Path:
        """The SQLite file."""
        return self.root / "lot.sqlite3"

    @property
    def master_key(self) -> Path:
        """The lot's master key, unless the environment gives it."""
        return self.root / "lot.key"

    @property
    def ring(self) -> Path:
        """One small file per person: the person's key, wrapped under the master key."""
        return self.root / "keys"

    @property
    def photos(self) -> Path:
        """Photos by content hash."""
        return self.root / "photos"

    @property
    def tls(self) -> Path:
        """The lot's own certificate."""
        return self.root / "tls"

    @property
    def static(self) -> Path:
        """Style sheets and scripts with hashed names, made at start."""
        return self.root / "static"

    @property
    def words(self) -> Path:
        """Translations, compiled at start."""
        return self.root / "words"

    def make(self) -> None:
        """Create what is missing, open to nobody else."""
        for path in (self.root, self.ring, self.photos, self.static, self.words):
            path.mkdir(parents=True, exist_ok=True)
            if os.name == "posix":
                path.chmod(0o700)


def data_folder() -> Folder:
    """The folder the environment names, else ``lot-data`` here."""
    return Folder(Path(os.environ.get(VARIABLE, DEFAULT)).resolve())


def sync(path: Path) -> None:
    """Make a new or removed name in a folder survive a power cut (nothing to do on Windows)."""
    if os.name != "posix":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, content: bytes, mode: int = 0o600) -> None:
    """Write a file so that after a crash it is there whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
    sync(path.parent)
