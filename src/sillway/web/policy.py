"""Who may see and do what. The one table; every view on the server is checked against it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from sillway.store.kinds import KINDS


class Role(StrEnum):
    """What somebody is at this lot."""

    OWNER = "owner"
    SELLER = "seller"
    MECHANIC = "mechanic"
    BOOKKEEPER = "book-keeper"
    VIEWER = "viewer"


#: For acts open to everybody, signed in or not; such a view guards itself (a link's secret).
ANYONE: Final = "anyone"
#: For acts of anybody who is signed in, on what is their own.
OWN: Final = "own"

_ALL: Final = frozenset({Role.OWNER, Role.SELLER, Role.MECHANIC, Role.BOOKKEEPER})
_OWNER: Final = frozenset({Role.OWNER})
_SALES: Final = frozenset({Role.OWNER, Role.SELLER})
_MONEY: Final = frozenset({Role.OWNER, Role.SELLER, Role.BOOKKEEPER})
_YARD: Final = frozenset({Role.OWNER, Role.SELLER, Role.MECHANIC})

#: Act → roles. An act that is not here is allowed to nobody.
POLICY: Final[Mapping[str, frozenset[Role]]] = MappingProxyType(
    {
        "lot.see": _ALL,
        "van.see": _ALL,
        "van.edit": _YARD,
        "van.undo": _YARD,
        "van.photo": _YARD,
        "van.costs": frozenset({Role.OWNER, Role.BOOKKEEPER}),
        "costs.see": frozenset({Role.OWNER, Role.BOOKKEEPER}),
        "inspection.see": _ALL,
        "inspection.edit": _YARD,
        "inspection.undo": _YARD,
        "inspection.photo": _YARD,
        "rider.see": _SALES,
        "rider.edit": _SALES,
        "rider.undo": _SALES,
        "rider.photo": _SALES,
        "rider.destroy": _OWNER,
        "offer.see": _MONEY,
        "offer.edit": _SALES,
        "offer.undo": _SALES,
        "offer.photo": _SALES,
        "sale.see": _MONEY,
        "sale.edit": frozenset({Role.OWNER, Role.BOOKKEEPER}),
        "sale.undo": frozenset({Role.OWNER, Role.BOOKKEEPER}),
        "sale.photo": frozenset({Role.OWNER, Role.BOOKKEEPER}),
        "link.make": _SALES,
        "import.run": _OWNER,
        "export.lot": _ALL,
        "export.run": _OWNER,
        "job.see": _ALL,
        "job.cancel": _ALL,
        "account.manage": _OWNER,
    }
)
#: Acts whose holders must sign in with a second factor: riders and money.
GUARDED: Final = frozenset(
    act for act in POLICY if KINDS.get(act.split(".")[0]) and KINDS[act.split(".")[0]].sealed
) | {"van.costs", "export.run", "account.manage"}


def may(role: str, act: str) -> bool:
    """Whether a role may do this.

    >>> may("mechanic", "van.edit"), may("mechanic", "rider.see"), may("viewer", "van.see")
    (True, False, False)
    """
    return role in POLICY.get(act, frozenset())


def needs_second_factor(role: str) -> bool:
    """Whether a role reaches riders or money, and so needs a second factor for everything.

    >>> [role.value for role in Role if needs_second_factor(role)]
    ['owner', 'seller', 'book-keeper']
    """
    return any(may(role, act) for act in GUARDED)
