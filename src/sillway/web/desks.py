"""Finding the desks: every folder here with a ``desk.py`` is one, and nothing else lists them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Desk:
    """One desk of the lot.

    Attributes:
        prefix: its first part of the address, with the slash (``vans/``); empty for the front.
        title: its name in the list of desks, translatable; empty to stand in no list.
        act: what one must be allowed to do to see it listed (see ``policy``).
        start: name of the page the list leads to, as in ``reverse``.
        order: place in the list.
        tasks: modules with background work, imported at start; they import what is heavy late.
    """

    prefix: str
    title: Any
    act: str
    start: str
    order: int
    tasks: tuple[str, ...] = ()


def names() -> list[str]:
    """The desks' folders, sorted."""
    return sorted(path.parent.name for path in HERE.glob("*/desk.py"))


def packages() -> list[str]:
    """The desks as Django apps."""
    return [f"sillway.web.{name}" for name in names()]


@cache
def desks() -> tuple[tuple[str, Desk], ...]:
    """Every desk with its folder's name, in the order of the list."""
    found = [(name, import_module(f"sillway.web.{name}.desk").DESK) for name in names()]
    return tuple(sorted(found, key=lambda one: (one[1].order, one[0])))


def load_tasks() -> None:
    """Import the desks' background work, so that its names are known."""
    for _, desk in desks():
        for module in desk.tasks:
            import_module(module)


View = Callable[..., Any]
