"""The fit sheet as one page: nothing is fetched, style and script are inside."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from sillway.show.sheet.content import Content
from sillway.show.sheet.playback import Playback

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_ROOM = "sillway.show.sheet"


def fit_page(
    content: Content, roll: Playback | None, *, style_href: str = "", script_src: str = ""
) -> str:
    """The page.

    Args:
        style_href, script_src: where a server has ``fit.css`` and ``playback.js``; without them
            both are written into the page.
    """
    return (
        _environment()
        .get_template("fit.html")
        .render(
            c=content,
            roll=roll,
            roll_data=script_json(roll.data) if roll else "",
            style=asset("fit.css"),
            script=asset("playback.js"),
            style_href=style_href,
            script_src=script_src,
        )
    )


def asset(name: str) -> str:
    """A template, style or script of the sheets."""
    return files(_ROOM).joinpath(name).read_text(encoding="utf-8")


def script_json(data: object) -> str:
    """JSON that cannot end the script element it stands in.

    >>> script_json("</script>")
    '"\\\\u003c/script\\\\u003e"'
    """
    text = json.dumps(data, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def breaking(name: str) -> Markup:
    """A name such as ramp.length, escaped, that may break after a full stop or a low line.

    >>> breaking("ramp.length<")
    Markup('ramp.<wbr>length&lt;')
    """
    from markupsafe import Markup, escape

    return Markup(re.sub(r"([a-z][._])", r"\1<wbr>", str(escape(name))))


@cache
def _environment() -> Environment:
    # Imported here: `sillway --help` sets no page.
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    environment = Environment(
        autoescape=True,
        loader=FunctionLoader(asset),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["breaking"] = breaking
    return environment
