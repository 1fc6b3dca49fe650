"""Write a fit sheet as page and PDF: whole or not at all."""

from __future__ import annotations

import os
import re
import tempfile
import unicodedata
from pathlib import Path
from typing import Final

from sillway.fit.result import FitAnswer
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.sheet.content import fit_content
from sillway.show.sheet.html import fit_page
from sillway.show.sheet.pdf import fit_pdf
from sillway.show.sheet.playback import playback

_LONGEST_SLUG: Final = 40


def write_fit_sheet(
    answer: FitAnswer, van: Van, rider: Rider, folder: Path, *, number: str | None = None
) -> tuple[Path, Path]:
    """Write the sheet into a folder, made if need be; a sheet of the same name is replaced.

    Returns:
        the page and the PDF.
    Raises:
        SheetError: if the PDF cannot be set without a warning; nothing is written then.
        OSError: if the folder cannot be written to.
    """
    content = fit_content(answer, van, rider, number)
    page, pdf = fit_page(content, playback(answer, van)), fit_pdf(content)
    folder.mkdir(parents=True, exist_ok=True)
    stem = f"fit-{slug(van.stock_number)}-{slug(rider.name)}"
    paths = (folder / f"{stem}.html", folder / f"{stem}.pdf")
    write_whole(paths[0], page.encode("utf-8"))
    write_whole(paths[1], pdf)
    return paths


def slug(name: str) -> str:
    """A name for files: small letters, digits and hyphens.

    >>> slug("Zoë O'Rook / <b>"), slug("..")
    ('zoe-o-rook-b', 'unnamed')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:_LONGEST_SLUG].strip("-") or "unnamed"


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that nobody ever finds half of it.

    Raises:
        OSError: if it cannot be written; what stood there before stays.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # A temporary file is private; a sheet gets the rights of an ordinary new file.
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
