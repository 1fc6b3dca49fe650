"""Reading a CSV or XLSX file as a table of text, however hostile; a failure is one sentence."""

from __future__ import annotations

import csv
import datetime as dt
import io
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import IO, Any, Final

from sillway.errors import BadInput
from sillway.store.limits import limit

_WANTED: Final = "a CSV file in UTF-8, or an XLSX sheet"
_SAVE_AS: Final = "CSV saved as UTF-8 (in a spreadsheet: save as, CSV UTF-8)"
_ZIP: Final = b"PK\x03\x04"
_OLD_EXCEL: Final = b"\xd0\xcf\x11\xe0"
# Parts of a workbook: an honest one has some dozens; more is a bomb of entries.
_MOST_PARTS: Final = 5000


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet as text.

    Attributes:
        header: names of the columns, as written.
        rows: number in the file (the header being 1 in a plain file) and cells, one a column.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_table(file: IO[bytes], size_bytes: int) -> Table:
    """Read a file of whichever of the two kinds it is by its content.

    Raises:
        BadInput: too large, another kind, damaged, or no rows below a header.
    """
    most = limit("import.bytes")
    if size_bytes > most:
        given = f"{size_bytes / 1e6:,.0f} MB"
        raise BadInput("file", given, f"at most {most / 1e6:,.0f} MB; split the sheet")
    file.seek(0)
    head = file.read(4)
    file.seek(0)
    if not head:
        raise BadInput("file", "an empty file", _WANTED)
    if head == _OLD_EXCEL:
        raise BadInput("file", "an old or locked workbook", f"{_WANTED}, without a password")
    return _table(_xlsx(file) if head == _ZIP else _csv(file.read(most + 1)))


def _table(lines: Iterable[tuple[int, list[str]]]) -> Table:
    header: tuple[str, ...] = ()
    rows: list[tuple[int, tuple[str, ...]]] = []
    most, widest = limit("import.rows"), limit("import.columns")
    for number, cells in lines:
        while cells and not cells[-1]:
            cells.pop()
        if not cells:
            continue
        if len(cells) > widest:
            raise BadInput(f"row {number}", f"{len(cells)} cells", f"at most {widest} columns")
        if not header:
            header = tuple(" ".join(cell.split()) for cell in cells)
            continue
        if len(cells) > len(header):
            wanted = f"{len(header)} cells, as the header has; quote a cell that holds a comma"
            raise BadInput(f"row {number}", f"{len(cells)} cells", wanted)
        if len(rows) == most:
            raise BadInput("file", f"more than {most:,} rows", "fewer; split the sheet")
        cells += [""] * (len(header) - len(cells))
        rows.append((number, tuple(cells)))
    if not rows:
        raise BadInput("file", "no row below a header", "a header and one record a row")
    return Table(header, tuple(rows))


def _csv(data: bytes) -> Iterator[tuple[int, list[str]]]:
    text = _decoded(data)
    first = text.lstrip("\r\n").split("\n", 1)[0]
    # The header decides: names of columns hold none of these themselves.
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            yield reader.line_num, [_plain(cell, reader.line_num) for cell in cells]
    except csv.Error as error:
        raise BadInput(f"row {reader.line_num}", str(error), "whole CSV") from None


def _decoded(data: bytes) -> str:
    utf_16 = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = data.decode("utf-16" if utf_16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        where = data.count(b"\n", 0, error.start) + 1
        raise BadInput("file", f"row {where} is not in UTF-8", _SAVE_AS) from None
    if "\0" in text:
        raise BadInput("file", "zero bytes, so no text", _WANTED)
    return text


def _xlsx(file: IO[bytes]) -> Iterator[tuple[int, list[str]]]:
    import openpyxl  # type: ignore[import-untyped]

    _safe_to_unpack(file)
    try:
        with warnings.catch_warnings():
            # It warns of styles and drawings it leaves out; none of that is read here.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(file, read_only=True, data_only=False, keep_links=False)
            sheet = book.worksheets[0]
            rows = sheet.iter_rows(
                max_row=limit("import.rows") + 2, max_col=limit("import.columns") + 1
            )
            for number, row in enumerate(rows, start=1):
                yield number, [_plain(_text(cell.value), number) for cell in row]
    except BadInput:
        raise
    except Exception:
        # The library raises whatever a hostile part makes it raise, from KeyError to ParseError.
        raise BadInput("file", "a damaged or unusual workbook", _WANTED) from None


def _safe_to_unpack(file: IO[bytes]) -> None:
    """Refuse what would unpack to more than we take; each part is held to the size it tells."""
    try:
        with zipfile.ZipFile(file) as parts:
            found = parts.infolist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        raise BadInput("file", "a damaged workbook", _WANTED) from None
    file.seek(0)
    most, size = limit("import.unpacked"), sum(part.file_size for part in found)
    if size > most or len(found) > _MOST_PARTS:
        given = f"{size / 1e6:,.0f} MB in {len(found):,} parts once unpacked"
        raise BadInput("file", given, f"at most {most / 1e6:,.0f} MB; split the sheet")
    if any(part.flag_bits & 1 for part in found):
        raise BadInput("file", "a workbook with a password", "one without")
    if "xl/workbook.xml" not in {part.filename for part in found}:
        raise BadInput("file", "another kind of file", _WANTED)


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        whole_day = value.time() == dt.time.min
        return value.date().isoformat() if whole_day else value.isoformat(sep=" ")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.10g}" if value.is_integer() or abs(value) < 1e9 else repr(value)
    if isinstance(value, int | str):
        return str(value)
    # An array formula and its like.
    return f"={getattr(value, 'text', '') or ''}"


def _plain(cell: str, number: int) -> str:
    most = limit("import.cell")
    if len(cell) > most:
        raise BadInput(f"row {number}", cell, f"cells of at most {most:,} characters")
    return cell.strip()
