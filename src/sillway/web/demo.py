"""The demo lot: invented vans and riders out of the ``demo`` folder, each loaded once."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Final
from uuid import UUID, uuid5

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.kinds import KINDS
from sillway.store.pack import Content
from sillway.store.records import create_record

HERE: Final = Path(__file__).resolve().parents[3] / "demo"
_SPACE: Final = UUID("6b0d3a52-2f4c-5a7e-9d11-5a11a7de3000")
_STAGES: Final = ("for sale", "checking", "mending", "for sale", "held", "arriving")


def load(folder: Path = HERE) -> dict[str, int]:
    """Keep every van and rider of the folder; answers how many of each are new.

    Raises:
        BadInput: there is no demo folder, or a record in it is not marked as invented.
    """
    if not folder.is_dir():
        raise BadInput("demo", folder, "a folder with the demo records")
    by = By("demo", "command")
    found = {"van": 0, "rider": 0}
    today = now().date()
    for place, path in enumerate(sorted(folder.rglob("*.json"))):
        given = json.loads(path.read_text("utf-8"))
        kind = given.get("kind") if isinstance(given, dict) else None
        if kind not in found:
            continue
        if given.get("invented") is not True:
            raise BadInput("invented", given.get("invented"), "true for demo data", path.name)
        card: dict[str, object] = {}
        if kind == "van":
            came = today - dt.timedelta(days=7 * place + 3)
            card = {"stage": _STAGES[place % len(_STAGES)], "came_on": came.isoformat()}
        else:
            card = {"stage": KINDS["rider"].stages[place % 3]}
        entry = uuid5(_SPACE, path.relative_to(folder).as_posix())
        saved = create_record(kind, Content(given, card), by, entry=entry)
        found[kind] += saved.changed
    return found
