"""The kinds of entry that may come from a phone. A desk adds one with ``@takes``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest

from sillway.errors import BadInput

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Sent:
    """One entry as it came.

    Attributes:
        request: who brings it.
        key: its id; a handler hands it to the store with its effect.
        payload: what it says; made of JSON, not checked yet.
        file: what came along, or None.
        earlier: the answer to the entry before it in the same place, if it followed one.
    """

    request: HttpRequest
    key: UUID
    payload: Mapping[str, Any]
    file: UploadedFile[Any] | None
    earlier: Answer


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of entry.

    Attributes:
        act: what one must be allowed to do to send it (see ``policy``).
        handle: takes effect and answers; raises BadInput, Conflict, Http404, PermissionDenied.
        keeps_key: the store keeps the key with the effect itself, so slow work may come first.
    """

    act: str
    handle: Callable[[Sent], Answer]
    keeps_key: bool


KINDS: Final[dict[str, Kind]] = {}


def takes(
    name: str, act: str, *, keeps_key: bool = False
) -> Callable[[Callable[[Sent], Answer]], Callable[[Sent], Answer]]:
    """Let phones send entries of this kind.

    Args:
        name: the kind, such as ``van.measure``; for ever, since entries may wait for weeks.
        act: what the sender must be allowed to do.
        keeps_key: whether the handler hands ``key`` to the store, which keeps it with the effect
            in one transaction of its own; otherwise handler and key share one made here.
    """

    def add(handle: Callable[[Sent], Answer]) -> Callable[[Sent], Answer]:
        KINDS[name] = Kind(act, handle, keeps_key)
        return handle

    return add


class Refused(BadInput):
    """An entry that will not do, with the whole sentence to show."""

    def __init__(self, field: str, given: object, says: str, source: str = "") -> None:
        self.says = says
        super().__init__(field, given, says, source)

    def sentence(self) -> str:
        """What the person is told."""
        return self.says
