"""Compile the drive engine into its cache: ``python -m sillway.fit.drive.warm``.

Each module compiles when it is imported, since its functions carry fixed signatures.
"""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec

COMPILED = ("kernel", "boxes", "subdivide", "primitives", "search", "certificate")


def warm() -> list[str]:
    """Import what compiles, so that the next process finds it done; names of the modules."""
    package = __name__.rpartition(".")[0]
    names = [f"{package}.{name}" for name in COMPILED]
    found = [name for name in names if find_spec(name) is not None]
    for name in found:
        import_module(name)
    return found


if __name__ == "__main__":
    warm()
