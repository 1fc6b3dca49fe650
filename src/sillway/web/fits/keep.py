"""Keeping answers and reading them again, as long as records and rules are what they were."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import zlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final

from django.db import transaction

from sillway import rules
from sillway.store import keys
from sillway.store.clock import now
from sillway.store.models import Record
from sillway.store.records import Read
from sillway.web.fits.models import Fitted

# So much of the rules' digest tells two books apart.
_DIGEST_CHARS: Final = 16


def today() -> dt.date:
    """The day whose rules hold."""
    return now().date()


@cache
def rules_of(on: dt.date) -> dt.date:
    """The last day up to ``on`` on which any rule changed: until the next, answers stay."""
    return max(rule.in_force for rule in rules.all_rules() if rule.in_force <= on)


@cache
def made_with() -> str:
    """Version and rules an answer rests on; another one is worked out anew."""
    said = repr([(rule.id, rule.value, rule.in_force) for rule in rules.all_rules()])
    digest = hashlib.sha256(said.encode()).hexdigest()[:_DIGEST_CHARS]
    try:
        return f"{version('sillway')} {digest}"
    except PackageNotFoundError:
        return f"source {digest}"


def keep(
    van: Read, rider: Read, on: dt.date, row: dict[str, Any], sheet: dict[str, Any] | None, *,
    in_time: bool,
) -> Fitted:  # fmt: skip
    """Keep the answer of a pair in place of an older one.

    Raises:
        Destroyed: the rider's data was deleted meanwhile.
    """
    values = {
        "van_revision": van.revision.number,
        "rider_revision": rider.revision.number,
        "on": on,
        "rules_of": rules_of(on),
        "made_with": made_with(),
        "in_time": in_time,
        "row": _sealed(van.row, rider.row, "row", row),
        "sheet": None if sheet is None else _sealed(van.row, rider.row, "sheet", sheet),
        "made_at": now(),
    }
    with transaction.atomic():
        kept, _made = Fitted.objects.update_or_create(van=van.row, rider=rider.row, defaults=values)
    return kept


def holds(fitted: Fitted, van: Record, rider: Record, on: dt.date) -> bool:
    """Whether an answer is still that of these records and rules."""
    return (
        fitted.van_revision == van.version
        and fitted.rider_revision == rider.version
        and fitted.rules_of == rules_of(on)
        and fitted.made_with == made_with()
    )


def answer_for(van: Record, rider: Record, on: dt.date) -> Fitted | None:
    """The answer of a pair, if it still holds."""
    found = Fitted.objects.filter(van=van, rider=rider).first()
    return found if found is not None and holds(found, van, rider, on) else None


def row_of(fitted: Fitted, rider: Record) -> dict[str, Any]:
    """What a list needs of an answer. Raises Destroyed."""
    found = _opened(fitted.van_id, rider, "row", bytes(fitted.row))
    assert isinstance(found, dict)
    return found


def sheet_of(fitted: Fitted, rider: Record) -> dict[str, Any] | None:
    """The whole sheet, if it was wanted. Raises Destroyed."""
    if fitted.sheet is None:
        return None
    found = _opened(fitted.van_id, rider, "sheet", bytes(fitted.sheet))
    assert isinstance(found, dict)
    return found


def _about(van: int, rider: int, what: str) -> str:
    return f"fit {van} {rider} {what}"


def _sealed(van: Record, rider: Record, what: str, said: dict[str, Any]) -> bytes:
    packed = zlib.compress(json.dumps(said, separators=(",", ":")).encode())
    return keys.seal(keys.person_key(rider.person), packed, _about(van.pk, rider.pk, what))


def _opened(van: int, rider: Record, what: str, body: bytes) -> Any:
    packed = keys.unseal(keys.person_key(rider.person), body, _about(van, rider.pk, what))
    return json.loads(zlib.decompress(packed))
