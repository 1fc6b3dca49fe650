"""The van's plan for its page: light and dark, and drawn once for each revision."""

from __future__ import annotations

import datetime as dt
import json
from functools import lru_cache
from typing import Final

from sillway.records.read import van_from
from sillway.show.draw.alone import van_plan

# The paper and ink of sheet.css; a picture does not see the page's own.
_STYLE: Final = (
    "<style>svg{color:#16181a}.paper{fill:#fcfbf7}"
    "@media (prefers-color-scheme: dark){svg{color:#f0eee8}.paper{fill:#14171a}}</style>"
)


@lru_cache(maxsize=64)
def plan_svg(doc: str, on: dt.date) -> str:
    """The plan as one SVG file.

    Args:
        doc: the van's document as JSON.
        on: the day written on it.
    Raises:
        BadInput: the document is not whole.
    """
    text = van_plan(van_from(json.loads(doc)), on).svg(standalone=False)
    head, rest = text.split(">", 1)
    if "xmlns=" not in head:
        head += ' xmlns="http://www.w3.org/2000/svg"'
    return f"{head}>{_STYLE}{rest}"
