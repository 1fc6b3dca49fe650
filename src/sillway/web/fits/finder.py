"""The sheet's own style and script as static files, so that they need not stand in the page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib.resources import files
from typing import Any, Final

from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage

PREFIX: Final = "sheet"
NAMES: Final = ("fit.css", "playback.js")


class SheetFinder(BaseFinder):
    """Finds ``sheet/fit.css`` and ``sheet/playback.js``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.storage = FileSystemStorage(location=str(files("sillway.show").joinpath("sheet")))
        self.storage.prefix = PREFIX  # type: ignore[attr-defined]

    def check(self, **kwargs: Any) -> list[Any]:
        """Nothing to set up wrongly."""
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """Where a file lies; an empty list for any other."""
        head, _slash, name = path.partition("/")
        if head != PREFIX or name not in NAMES:
            return []
        found = self.storage.path(name)
        return [found] if find_all else found

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[tuple[str, Any]]:
        """All of them."""
        for name in NAMES:
            yield name, self.storage
