"""Keys: one master key for the lot, one key per person, wrapped under it.

A person's key lies in its own small file outside the database, so that no copy of the database
ever holds it, and removing the file is what makes the person's records unreadable everywhere.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import os
import secrets
from functools import lru_cache
from pathlib import Path
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from sillway.store.folder import Folder, data_folder, sync, write_whole

MASTER_VARIABLE: Final = "SILLWAY_MASTER_KEY"
# AES-256; the nonce length GCM is defined for (NIST SP 800-38D 5.2.1.1).
KEY_BYTES: Final = 32
NONCE_BYTES: Final = 12


class KeyTrouble(RuntimeError):  # noqa: N818 - named for what it tells the reader
    """A key is missing or does not open what it should."""


class Destroyed(KeyTrouble):
    """This person's key is gone, and with it all that was kept under it."""


def make_master(folder: Folder) -> None:
    """Make the lot's master key unless there is one. Its file is readable by its owner only."""
    if os.environ.get(MASTER_VARIABLE) or folder.master_key.exists():
        return
    write_whole(folder.master_key, base64.b64encode(secrets.token_bytes(KEY_BYTES)) + b"\n")


def master(folder: Folder | None = None) -> bytes:
    """The master key.

    Raises:
        KeyTrouble: it is nowhere, or not 32 bytes in base64.
    """
    folder = folder or data_folder()
    given = os.environ.get(MASTER_VARIABLE, "")
    if not given:
        try:
            given = folder.master_key.read_text("ascii")
        except OSError as error:
            raise KeyTrouble(
                f"the lot's master key {folder.master_key} cannot be read ({error.strerror}); "
                f"put it back from your copy, or give it in {MASTER_VARIABLE}"
            ) from None
    try:
        key = base64.b64decode(given.strip(), validate=True)
    except ValueError:
        key = b""
    if len(key) != KEY_BYTES:
        raise KeyTrouble("the lot's master key is not 32 bytes in base64")
    return key


def derived(purpose: str, folder: Folder | None = None) -> bytes:
    """A key for one purpose, out of the master key (HKDF, RFC 5869)."""
    return _derived(master(folder), purpose)


def wrapping(master_key: bytes) -> bytes:
    """The key that wraps persons' keys under this master key."""
    return _derived(master_key, "wrap persons")


@lru_cache(maxsize=32)
def _derived(master_key: bytes, purpose: str) -> bytes:
    info = f"sillway {purpose}".encode()
    return HKDF(algorithm=SHA256(), length=KEY_BYTES, salt=None, info=info).derive(master_key)


def seal(key: bytes, plain: bytes, about: str) -> bytes:
    """Encrypt and bind to ``about``, without which it does not open (AES-256-GCM)."""
    nonce = secrets.token_bytes(NONCE_BYTES)
    return nonce + AESGCM(key).encrypt(nonce, plain, about.encode())


def unseal(key: bytes, sealed: bytes, about: str) -> bytes:
    """What was sealed.

    Raises:
        KeyTrouble: another key, another ``about``, or one bit changed.
    """
    try:
        return AESGCM(key).decrypt(sealed[:NONCE_BYTES], sealed[NONCE_BYTES:], about.encode())
    except InvalidTag:
        raise KeyTrouble(f"{about} does not open: another key, or altered") from None


def new_person() -> str:
    """A key for a new person; the answer is the person's id. On disk before this returns."""
    person = secrets.token_hex(16)
    wrapped = seal(wrapping(master()), secrets.token_bytes(KEY_BYTES), f"person {person}")
    write_whole(path_of(person), wrapped)
    return person


def person_key(person: str) -> bytes:
    """A person's key, read anew each time so that a destroyed one is gone at once.

    Raises:
        Destroyed: there is none (any more).
    """
    try:
        wrapped = path_of(person).read_bytes()
    except FileNotFoundError:
        raise Destroyed("this person's key was destroyed") from None
    return unseal(wrapping(master()), wrapped, f"person {person}")


def forget(person: str) -> None:
    """Overwrite and remove a person's key. Doing it twice is no error."""
    path = path_of(person)
    try:
        size = path.stat().st_size
        with path.open("r+b") as file:
            file.write(b"\0" * size)
            file.flush()
            os.fsync(file.fileno())
        path.unlink()
    except FileNotFoundError:
        return
    sync(path.parent)


def path_of(person: str) -> Path:
    """Where a person's wrapped key lies."""
    if len(person) != 32 or not person.isalnum():
        raise KeyTrouble("this is not the id of a person")
    return data_folder().ring / person[:2] / f"{person}.key"


def hashed(word: str) -> bytes:
    """A word as the index of sealed records knows it: keyed, so that it tells nothing."""
    return hmac.digest(derived("index"), word.encode(), hashlib.sha256)[:16]
