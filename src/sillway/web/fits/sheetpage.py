"""A kept sheet as part of a page of the workbench, and as PDF."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from sillway.show.sheet.content import Content, Figure, Group, Row
from sillway.show.sheet.html import fit_page
from sillway.show.sheet.pdf import fit_pdf
from sillway.show.sheet.playback import Playback

_BEGIN, _END = '<main id="main">', "</main>"


def content_of(plain: dict[str, Any]) -> Content:
    """A sheet's content out of its plain form."""
    given = {name: _tuples(plain[name]) for name in (one.name for one in fields(Content))}
    for name in ("drawings", "key_frames"):
        given[name] = tuple(Figure(**one) for one in plain[name])
    given["groups"] = tuple(
        Group(one["name"], one["says"], tuple(Row(**row) for row in one["rows"]))
        for one in plain["groups"]
    )
    return Content(**given)


def inner_page(sheet: dict[str, Any]) -> SafeString:
    """What the sheet's own page has between its header and its footer, to stand in ours.

    Raises:
        ValueError: the sheet's template has no such part any more.
    """
    roll = None if sheet["roll"] is None else Playback(**sheet["roll"])
    page = fit_page(content_of(sheet["content"]), roll, style_href="-", script_src="-")
    before, found, rest = page.partition(_BEGIN)
    inner, ended, after = rest.rpartition(_END)
    if not (before and found and ended and after):
        raise ValueError("the fit sheet has no main part")
    # Safe: the sheet's template escapes all it is given.
    return mark_safe(inner)


def pdf_of(sheet: dict[str, Any]) -> bytes:
    """The sheet as PDF. Raises SheetError if it cannot be set."""
    return fit_pdf(content_of(sheet["content"]))


def _tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(_tuples(one) for one in value)
    return value
