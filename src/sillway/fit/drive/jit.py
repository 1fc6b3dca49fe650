"""One way to compile: numba with fixed signatures and a cache that a second process finds.

numba stamps a cached function with its own source file only, though it holds the code of the
functions it calls in other files. So what is compiled here is cached in a folder named after the
text of all those files: a change in any of them is compiled anew.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numba

# The five arrays of a packed scene, as every signature begins.
SCENE = "float64[:,::1],int64[:,::1],float64[:,::1],int64[:,::1],float64[::1]"


def compiled(signature: str) -> Callable[[Callable[..., object]], Any]:
    """Compile for one signature, cached, with IEEE arithmetic kept (no fast-math)."""

    def wrap(function: Callable[..., object]) -> Any:
        config: Any = numba.config
        before = config.CACHE_DIR
        config.CACHE_DIR = _folder(_stamp(function), before)
        try:
            return numba.njit(signature, cache=True, error_model="numpy", fastmath=False)(function)
        finally:
            config.CACHE_DIR = before

    return wrap


def _stamp(function: Callable[..., object]) -> str:
    """Of the texts of the files whose code the function may hold."""
    files = {__file__, function.__code__.co_filename}
    work: list[Any] = [function]
    while work:
        for value in list(work.pop().__globals__.values()):
            called = getattr(value, "py_func", None)
            if called is not None and called.__code__.co_filename not in files:
                files.add(called.__code__.co_filename)
                work.append(called)
    return hashlib.sha256("".join(_text(name) for name in sorted(files)).encode()).hexdigest()[:12]


@cache
def _text(file: str) -> str:
    return Path(file).read_text(encoding="utf-8")


@cache
def _folder(stamp: str, wanted: str) -> str:
    """The first place that can be written: the user's, beside the source, in the environment."""
    beside = Path(__file__).parent / "__pycache__"
    places = [beside, Path(sys.prefix) / "var" / "sillway", Path(tempfile.gettempdir()) / "sillway"]
    for place in [Path(wanted), *places] if wanted else places:
        folder = place / f"numba-{stamp}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return str(folder)
    return tempfile.mkdtemp()
