"""The fit sheet as a tagged PDF (PDF/UA-1 asked of the typesetter; any warning is an error)."""

from __future__ import annotations

import json
import re
import unicodedata
from importlib.resources import as_file, files
from typing import Any, Final

from sillway.show.draw.svg import cut
from sillway.show.sheet.content import Content
from sillway.show.sheet.html import asset

# Letters that the fonts at hand can set; a test sets every one of them.
_RANGES: Final = (
    (0x20, 0x7E), (0xA0, 0xAC), (0xAE, 0x17F), (0x1E80, 0x1E85), (0x1EA0, 0x1EF9),
    (0x391, 0x3A1), (0x3A3, 0x3A9), (0x3B1, 0x3C9), (0x410, 0x44F), (0x2010, 0x2015),
    (0x2018, 0x201E), (0x2020, 0x2022), (0x2026, 0x2026), (0x2030, 0x2030), (0x2032, 0x2033),
    (0x20AC, 0x20AC), (0x2122, 0x2122), (0x215B, 0x215E), (0x2190, 0x2193), (0x2212, 0x2212),
    (0x2260, 0x2260), (0x2264, 0x2265),
)  # fmt: skip
_NOT_SETTABLE: Final = re.compile(
    "[^\\u200b" + "".join(f"\\u{a:04x}-\\u{b:04x}" for a, b in _RANGES) + "]"
)
# Stands for a letter that cannot be set.
MISSING: Final = "□"
# Letters without a space among them that may be broken after so many, lest they leave the page.
_LONG_RUN: Final = re.compile(r"[^\s._]{16}(?=[^\s._])")
_AS_IT_IS: Final = ("svg", "alt", "title")
_FOOTER_MM: Final = 120.0
_FOOTER_SIZE_MM: Final = 3.2


class SheetError(RuntimeError):
    """A sheet could not be set without a warning; it must not go out."""


def settable(text: str) -> str:
    """The text with every letter that no font at hand has replaced by a box.

    >>> settable("Zoë \U0001f690")
    'Zoë □'
    """
    text = unicodedata.normalize("NFC", text)
    return _NOT_SETTABLE.sub(lambda found: " " if found[0].isspace() else MISSING, text)


def letters() -> str:
    """Every letter that can be set."""
    return "".join(chr(i) for low, high in _RANGES for i in range(low, high + 1))


def fit_pdf(content: Content) -> bytes:
    """The sheet, byte for byte the same for the same content.

    Raises:
        SheetError: if the typesetter refuses or warns.
    """
    data = _settable(content.plain())
    data["short"] = cut(f"{data['rider']} in {data['van']}", _FOOTER_MM, _FOOTER_SIZE_MM)
    for name in ("drawings", "key_frames"):
        for figure in data[name]:
            del figure["page_svg"]
    return typeset(asset("fit.typ"), {"content": json.dumps(data)})


def typeset(source: str, inputs: dict[str, str]) -> bytes:
    """Set a document with the sheet fonts only.

    Raises:
        SheetError: if the typesetter refuses or warns.
    """
    # Imported here: it is large, and most commands set nothing.
    import typst

    with as_file(files("sillway.show").joinpath("fonts")) as fonts:
        try:
            pdf, warnings = typst.compile_with_warnings(
                source.encode(),
                format="pdf",
                sys_inputs=inputs,
                font_paths=typst.Fonts(include_system_fonts=False, font_paths=[fonts]),
                pdf_standards=["ua-1"],
            )
        except typst.TypstError as error:
            raise SheetError(f"The sheet could not be set: {error}") from error
    if warnings:
        raise SheetError(f"The sheet was set with a warning: {warnings[0].message}")
    if not isinstance(pdf, bytes):
        raise SheetError("The sheet was not set as one document.")
    return pdf


def _settable(value: Any) -> Any:
    if isinstance(value, str):
        return _LONG_RUN.sub("\\g<0>\u200b", settable(value))
    if isinstance(value, dict):
        return {
            key: settable(inner) if key in _AS_IT_IS else _settable(inner)
            for key, inner in value.items()
        }
    if isinstance(value, list | tuple):
        return [_settable(inner) for inner in value]
    return value
