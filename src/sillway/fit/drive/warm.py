"""Compile the drive engine into its cache: ``python -m sillway.fit.drive.warm``.

Each module compiles when it is imported, since its functions carry fixed signatures.
"""

from __future__ import annotations

from importlib import import_module

COMPILED = ("kernel", "boxes", "flood", "lattice", "polish")


def warm() -> list[str]:
    """Import what compiles, so that the next process finds it done; names of the modules."""
    names = [f"sillway.fit.drive.{name}" for name in COMPILED]
    for name in names:
        import_module(name)
    return names


if __name__ == "__main__":
    warm()
