"""Read a record from a JSON file or a CSV row sheet. Whatever is wrong is one `BadInput`."""

from __future__ import annotations

import json
import stat
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from sillway.errors import MISSING, BadInput, shorten
from sillway.records import rows
from sillway.records.base import Record
from sillway.records.complaint import complaint
from sillway.records.contradictions import contradictions
from sillway.records.measure import Way
from sillway.records.rider import Rider
from sillway.records.van import Van

# A full van record is some 20 kB; the bound only keeps a mistaken file out of memory.
MOST_BYTES: Final = 5_000_000
_KINDS: Final = ("van", "rider")
_R = TypeVar("_R", Van, Rider)


def read_van(path: str | Path) -> Van:
    """Read a van record. Raises BadInput for anything that is not one, or contradicts itself."""
    return _read(path, Van)


def read_rider(path: str | Path) -> Rider:
    """Read a rider record. Raises as `read_van`."""
    return _read(path, Rider)


def read_record(path: str | Path) -> Van | Rider:
    """Read a record of whichever kind it says it is.

    Raises:
        BadInput: if it does not say, and as `read_van`.
    """
    source = str(path)
    text = _text(Path(path), source)
    if _kind_of(path, text, source) == "van":
        return _parse(path, text, source, Van)
    return _parse(path, text, source, Rider)


def van_from(given: object, source: str = "") -> Van:
    """A van record from an object as JSON gives it. Raises BadInput naming field and source."""
    return _model(given, source, Van)


def rider_from(given: object, source: str = "") -> Rider:
    """A rider record from an object as JSON gives it. Raises BadInput."""
    return _model(given, source, Rider)


def json_from_file(path: str | Path, most_bytes: int = MOST_BYTES) -> dict[str, Any]:
    """One JSON object that is not a record (a scene, a certificate), read with the same care.

    Raises:
        BadInput: as `read_van`; a file of more than ``most_bytes`` is refused unread.
    """
    source = str(path)
    given = _told(source, _json, _text(Path(path), source, (), most_bytes))
    if not isinstance(given, dict):
        raise BadInput("file", given, "one object in braces", source)
    return given


def _read(path: str | Path, model: type[_R]) -> _R:
    source = str(path)
    return _parse(path, _text(Path(path), source), source, model)


def _parse(path: str | Path, text: str, source: str, model: type[_R]) -> _R:
    if _is_sheet(path):
        sheet = _told(source, rows.parse, text, model)
        try:
            return _model(sheet.record, source, model)
        except BadInput as error:
            where = sheet.where(error.field)
            raise BadInput(where, error.given, error.wanted, source) from None
    return _model(_told(source, _json, text), source, model)


def _model(given: object, source: str, model: type[_R]) -> _R:
    if not isinstance(given, dict):
        raise BadInput("record", given, 'one object in braces, { "kind": … }', source)
    _refuse_half_letters(given, source)
    default = model.model_fields["way"].default
    way = given.get("way", default)
    known = isinstance(way, str) and way in set(Way)
    context = {
        "metric": given.get("units") == "metric",
        # A wrong way is refused by the model; until then any will do.
        "way": Way(way) if known else default,
    }
    try:
        record = model.model_validate(given, context=context)
        wrong = contradictions(record)
    except ValidationError as error:
        raise complaint(error, model).at(source) from None
    except RecursionError:
        raise BadInput("record", "entries nested too deep", _WHOLE_JSON, source) from None
    if wrong:
        raise _with_rest(wrong).at(source)
    return record


def _refuse_half_letters(given: object, source: str) -> None:
    """Half of a letter, which JSON can spell, is in no text that can be stored or printed."""
    try:
        json.dumps(given, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError as error:
        half = repr(error.object[error.start])
        raise BadInput("record", half, "whole letters only, no half of one", source) from None
    except (TypeError, ValueError, RecursionError):
        return  # the model says what is wrong


def _with_rest(wrong: list[BadInput]) -> BadInput:
    first = wrong[0]
    if len(wrong) == 1:
        return first
    return BadInput(first.field, first.given, f"{first.wanted} (and {len(wrong) - 1} more)")


_WHOLE_JSON: Final = "whole JSON"


def _json(text: str) -> object:
    try:
        return json.loads(text, object_pairs_hook=_once)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        rest = text[error.pos : error.pos + 20].strip() or "the end of the file"
        raise BadInput(where, rest, f"{_WHOLE_JSON} ({error.msg})") from None
    except RecursionError:
        raise BadInput("file", "entries nested too deep", _WHOLE_JSON) from None
    except BadInput:
        raise
    except ValueError:
        # Python refuses to read a whole number of more than some 4,000 digits.
        raise BadInput("file", "a number of thousands of digits", "measured numbers") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise BadInput(shorten(repr(key)), value, "this field once; it stands here twice")
        found[key] = value
    return found


def _kind_of(path: str | Path, text: str, source: str) -> str:
    if _is_sheet(path):
        kind = _told(source, rows.kind_of, text)
    else:
        given = _told(source, _json, text)
        if not isinstance(given, dict):
            raise BadInput("record", given, 'one object in braces, { "kind": … }', source)
        kind = given.get("kind", MISSING)
    if not isinstance(kind, str) or kind not in _KINDS:
        raise BadInput("kind", kind, "van or rider", source)
    return kind


def _told(source: str, job: Any, *args: Any) -> Any:
    try:
        return job(*args)
    except BadInput as error:
        raise error.at(source) from None


def _is_sheet(path: str | Path) -> bool:
    return Path(path).suffix.lower() == ".csv"


def _text(
    path: Path,
    source: str,
    endings: tuple[str, ...] = (".json", ".csv"),
    most_bytes: int = MOST_BYTES,
) -> str:
    try:
        about = path.stat()
        if stat.S_ISDIR(about.st_mode):
            raise BadInput("file", "a folder", "a .json or a .csv file", source)
        if not stat.S_ISREG(about.st_mode):
            raise BadInput("file", "not a plain file", "a .json or a .csv file", source)
        if endings and path.suffix.lower() not in endings:
            raise BadInput("file", path.suffix or "no ending", "a .json or a .csv file", source)
        if about.st_size > most_bytes:
            size = f"{about.st_size / 1e6:.0f} MB"
            raise BadInput("file", size, f"at most {most_bytes / 1e6:.0f} MB", source)
        with path.open("rb") as file:
            data = file.read(most_bytes)
    except (OSError, ValueError) as error:
        if isinstance(error, BadInput):
            raise
        says = error.strerror if isinstance(error, OSError) else str(error)
        raise BadInput("file", says or "unreadable", "a file that can be read", source) from None
    if not data.strip():
        raise BadInput("file", "an empty file", "a van or rider record", source)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        given = f"byte {data[error.start]:#04x} at {error.start}"
        raise BadInput("file", given, "text in UTF-8", source) from None


__all__ = [
    "MOST_BYTES",
    "Record",
    "json_from_file",
    "read_record",
    "read_rider",
    "read_van",
    "rider_from",
    "van_from",
]
