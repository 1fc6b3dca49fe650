"""An encrypted archive as a stream: written and read in chunks, never whole in memory.

The file is a line of magic, a line of JSON (how the key was made), then chunks of AES-256-GCM,
each under its own count and the last one marked, so that nothing can be cut, swapped or altered.
"""

from __future__ import annotations

import base64
import io
import json
import secrets
from typing import IO, Any, Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from sillway.errors import BadInput
from sillway.store.keys import KEY_BYTES

MAGIC: Final = b"sillway backup 1\n"
CHUNK: Final = 1 << 20
TAG: Final = 16
# scrypt work of the OWASP Password Storage Cheat Sheet: 128 MiB and some 0.3 s a try.
SCRYPT: Final = {"n": 1 << 17, "r": 8, "p": 1}


def key_head() -> dict[str, Any]:
    """How a new key is made: the work and a fresh salt."""
    return {**SCRYPT, "salt": base64.b64encode(secrets.token_bytes(16)).decode()}


def key_from(passphrase: str, head: dict[str, Any]) -> bytes:
    """The key of a passphrase. Raises BadInput for a head that asks for other work than ours."""
    if {name: head.get(name) for name in SCRYPT} != SCRYPT:
        raise BadInput("backup", "another way to make the key", "a backup made by sillway")
    salt = base64.b64decode(str(head["salt"]))
    return Scrypt(salt=salt, length=KEY_BYTES, **SCRYPT).derive(passphrase.encode())


class Writer(io.RawIOBase):
    """Encrypts what is written into ``out``; ``close`` ends the archive."""

    def __init__(self, out: IO[bytes], passphrase: str) -> None:
        self._out, self._held, self._count = out, bytearray(), 0
        head = key_head()
        self._about = json.dumps(head).encode() + b"\n"
        self._aead = AESGCM(key_from(passphrase, head))
        out.write(MAGIC + self._about)

    def writable(self) -> bool:
        """Yes."""
        return True

    def write(self, data: Any) -> int:
        """Take in bytes; full chunks go out."""
        self._held += data
        while len(self._held) > CHUNK:
            self._chunk(bytes(self._held[:CHUNK]), last=False)
            del self._held[:CHUNK]
        return len(data)

    def close(self) -> None:
        """Write the last chunk; the file below stays open."""
        if not self.closed:
            self._chunk(bytes(self._held), last=True)
        super().close()

    def _chunk(self, plain: bytes, *, last: bool) -> None:
        nonce, about = _nonce(self._count), self._about + bytes([last])
        self._out.write(self._aead.encrypt(nonce, plain, about))
        self._count += 1


class Reader(io.RawIOBase):
    """Decrypts an archive.

    Raises:
        BadInput: no archive, a wrong passphrase, or one altered or cut short.
    """

    def __init__(self, file: IO[bytes], passphrase: str) -> None:
        if file.read(len(MAGIC)) != MAGIC:
            raise BadInput("backup", "another kind of file", "a backup made by sillway")
        self._file, self._count, self._ready, self._over = file, 0, b"", False
        self._about = file.readline(1000)
        try:
            head = json.loads(self._about)
        except ValueError:
            raise BadInput("backup", "a damaged head", "a whole backup") from None
        self._aead = AESGCM(key_from(passphrase, head))
        self._next = file.read(CHUNK + TAG)

    def readable(self) -> bool:
        """Yes."""
        return True

    def readinto(self, into: Any) -> int:
        """Fill with decrypted bytes; 0 only after the marked end."""
        while not self._ready and not self._over:
            self._chunk()
        count = min(len(into), len(self._ready))
        into[:count] = self._ready[:count]
        self._ready = self._ready[count:]
        return count

    def _chunk(self) -> None:
        sealed, self._next = self._next, self._file.read(CHUNK + TAG)
        last = not self._next
        try:
            plain = self._aead.decrypt(_nonce(self._count), sealed, self._about + bytes([last]))
        except InvalidTag:
            given = "a wrong passphrase, or a file that was altered or cut short"
            raise BadInput("backup", given, "the passphrase and the whole file") from None
        self._ready, self._over = plain, last
        self._count += 1


def _nonce(count: int) -> bytes:
    # The key is of this file alone (fresh salt), so a count never meets the same key twice.
    return count.to_bytes(12, "big")
