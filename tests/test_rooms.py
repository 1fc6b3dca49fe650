"""The direction in which data flows: each room imports only what lies below it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SRC = Path(__file__).resolve().parent.parent / "src" / "sillway"
# Room → the rooms it may import, besides itself and errors.
BELOW = {
    "errors": set(),
    "units": set(),
    "rules": {"units"},
    "records": {"rules", "units"},
    "fit": {"records", "rules", "units"},
    "check": {"records", "rules", "units", "fit"},
    "price": {"records", "rules", "units"},
    "show": {"fit", "check", "price", "records", "rules", "units"},
    "store": {"records", "rules", "units", "fit", "check", "price", "show"},
    "web": {"store", "show", "fit", "check", "price", "records", "rules", "units"},
    "cli": {"web", "store", "show", "fit", "check", "price", "records", "rules", "units"},
}
# Modules of the standard library and packages that give a computing room a clock, files, a network
# or a database.
OUTSIDE = {"django", "os", "pathlib", "socket", "urllib", "http", "time", "sqlite3", "requests"}
COMPUTING = {"fit", "price"}
# The compiler's cache folder and the warm-up are about the machine, not about a fit.
MAY_SEE_FILES = {"fit/drive/jit.py", "fit/drive/warm.py"}


def modules() -> list[Path]:
    return sorted(SRC.rglob("*.py"))


def room_of(path: Path) -> str:
    first = path.relative_to(SRC).parts[0]
    return first.removesuffix(".py")


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(SRC)))
def test_a_room_imports_only_what_lies_below_it(path: Path) -> None:
    room = room_of(path)
    if room in ("__init__", "__main__"):
        return
    assert room in BELOW, f"{path}: a room that docs and this test do not know"
    seen = {n.split(".")[1] for n in imported(path) if n.startswith("sillway.")}
    assert seen - {room, "errors"} <= BELOW[room]


@pytest.mark.parametrize(
    "path",
    [p for p in modules() if room_of(p) in COMPUTING],
    ids=lambda p: str(p.relative_to(SRC)),
)
def test_computing_rooms_know_no_files_clock_or_network(path: Path) -> None:
    if path.relative_to(SRC).as_posix() in MAY_SEE_FILES:
        return
    assert not {n.split(".")[0] for n in imported(path)} & OUTSIDE
    assert ".today(" not in path.read_text(encoding="utf-8")
    assert ".now(" not in path.read_text(encoding="utf-8")


def test_the_test_itself_sees_an_import() -> None:
    assert "sillway.records.van" in imported(SRC / "records" / "read.py")
