"""One way to compile: numba with fixed signatures and a cache that a second process finds.

A cached function is stamped with its own source file only, while it may call functions of another
file; so the cache folder also carries a stamp of everything here that others call.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

_HERE = Path(__file__).parent
_CALLED = ("jit.py", "kernel.py")


def _cache_folder() -> Path:
    stamp = hashlib.sha256(b"".join((_HERE / name).read_bytes() for name in _CALLED)).hexdigest()
    places = (
        _HERE / "__pycache__",
        Path(sys.prefix) / "var" / "sillway",
        Path(tempfile.gettempdir()),
    )
    for place in places:
        folder = place / f"numba-{stamp[:12]}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp())


if "numba" not in sys.modules:
    os.environ.setdefault("NUMBA_CACHE_DIR", str(_cache_folder()))

import numba  # noqa: E402 - the cache folder has to be set before

# The five arrays of a packed scene, as every signature begins.
SCENE = "float64[:,::1],int64[:,::1],float64[:,::1],int64[:,::1],float64[::1]"


def compiled(signature: str) -> Callable[[Callable[..., object]], Any]:
    """Compile for one signature, cached, with IEEE arithmetic kept (no fast-math)."""

    def wrap(function: Callable[..., object]) -> Any:
        return numba.njit(signature, cache=True, error_model="numpy", fastmath=False)(function)

    return wrap
