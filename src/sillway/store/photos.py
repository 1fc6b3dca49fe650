"""Photos: checked when they come, stripped of all they tell beside the picture, kept by hash."""

from __future__ import annotations

import hashlib
import hmac
import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol
from uuid import UUID

from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.folder import data_folder, write_whole
from sillway.store.limits import limit
from sillway.store.models import Photo, PhotoUse, Record
from sillway.store.records import NoSuchRecord

_TYPES: Final = ("JPEG", "PNG", "WEBP")
_WANTED: Final = "a JPEG, PNG or WebP picture"
_THUMB: Final = ".thumb"


class Readable(Protocol):
    """What photos are read from: a file, or what a browser sent."""

    def read(self, size: int, /) -> bytes:
        """At most ``size`` bytes."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A cleaned picture: JPEG bytes of it and of its thumbnail. [px]"""

    content: bytes
    thumb: bytes
    width_px: int
    height_px: int


def cleaned(file: Readable) -> Picture:
    """A picture with nothing in it but the picture.

    The size is read from the header before anything is unpacked, and a JPEG is unpacked at a
    reduced scale where it is larger than kept, so memory stays near the kept size.

    Raises:
        BadInput: too many bytes or pixels, or no picture of a type we take.
    """
    most = limit("upload.bytes")
    data = file.read(most + 1)
    if len(data) > most:
        raise BadInput("photo", "more bytes than that", f"at most {most // 1_000_000} MB")
    edge = limit("photo.edge")
    try:
        with warnings.catch_warnings():
            # Pillow warns of large pictures; the limit below is ours and stricter.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=_TYPES) as image:
                return _made(image, edge)
    except UnidentifiedImageError:
        raise BadInput("photo", "another kind of file", _WANTED) from None
    except Image.DecompressionBombError:
        raise _too_large("more pixels than that") from None
    except (OSError, ValueError, SyntaxError) as error:
        if isinstance(error, BadInput):
            raise
        raise BadInput("photo", "a damaged picture", _WANTED) from None


def _too_large(given: str) -> BadInput:
    return BadInput("photo", given, f"at most {limit('upload.pixels') // 1_000_000} million pixels")


def _made(image: Image.Image, edge: int) -> Picture:
    if image.width * image.height > limit("upload.pixels"):
        raise _too_large(f"{image.width} by {image.height} pixels")
    image.draft("RGB", (edge, edge))
    upright = ImageOps.exif_transpose(image)
    if upright.mode != "RGB":
        # Transparent parts on white, like paper.
        paper = Image.new("RGB", upright.size, "white")
        rgba = upright.convert("RGBA")
        paper.paste(rgba, mask=rgba.getchannel("A"))
        upright = paper
    # Comments and XMP ride along in here and would be written again.
    upright.info = {}
    upright.thumbnail((edge, edge))
    width_px, height_px = upright.size
    content = _jpeg(upright)
    small = limit("photo.thumb_edge")
    upright.thumbnail((small, small))
    return Picture(content, _jpeg(upright), width_px, height_px)


def _jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=limit("photo.quality"), exif=b"", icc_profile=None)
    return out.getvalue()


def add_photo(
    record: int, file: Readable, by: By, *, shows: str = "", entry: UUID | None = None
) -> PhotoUse:
    """Keep a photo with a record; the same picture twice is one file, the same entry one row.

    Raises:
        BadInput, NoSuchRecord, Destroyed.
    """
    if entry is not None and (known := PhotoUse.objects.filter(entry=entry).first()):
        return known
    try:
        row = Record.objects.get(pk=record)
    except Record.DoesNotExist:
        raise NoSuchRecord(f"there is no record {record}") from None
    picture = cleaned(file)
    if row.person:
        # Hashed under the person's key: the name must not tell that two people sent one picture.
        key = keys.person_key(row.person)
        digest = hmac.digest(key, picture.content, hashlib.sha256).hex()
    else:
        digest = hashlib.sha256(picture.content).hexdigest()
    photo = Photo(
        digest=digest,
        person=row.person,
        width_px=picture.width_px,
        height_px=picture.height_px,
        size_bytes=len(picture.content),
        made_at=now(),
    )
    # Files first: a row never names a file that is not there.
    for name, content in (("", picture.content), (_THUMB, picture.thumb)):
        path = path_of(photo, name)
        if not path.exists():
            if row.person:
                content = keys.seal(key, content, f"photo {digest}{name}")
            write_whole(path, content)
    with transaction.atomic():
        if entry is not None and (known := PhotoUse.objects.filter(entry=entry).first()):
            return known
        Photo.objects.bulk_create([photo], ignore_conflicts=True)
        return PhotoUse.objects.create(
            record=row,
            photo_id=digest,
            shows=shows,
            at=now(),
            account=by.account,
            by_name=by.name,
            entry=entry,
        )


def hide_photo(use: PhotoUse) -> None:
    """Take a photo away from a record; the file and the row stay."""
    with transaction.atomic():
        PhotoUse.objects.filter(pk=use.pk, hidden_at=None).update(hidden_at=now())


def read_photo(photo: Photo, *, thumb: bool = False) -> bytes:
    """The JPEG bytes. Raises Destroyed; FileNotFoundError if the file is lost."""
    name = _THUMB if thumb else ""
    content = path_of(photo, name).read_bytes()
    if photo.person:
        key = keys.person_key(photo.person)
        return keys.unseal(key, content, f"photo {photo.digest}{name}")
    return content


def path_of(photo: Photo, name: str = "") -> Path:
    """Where a photo's file lies."""
    ending = ".sealed" if photo.person else ".jpg"
    return data_folder().photos / photo.digest[:2] / f"{photo.digest}{name}{ending}"


def remove_files(photo: Photo) -> None:
    """Remove a destroyed person's photo."""
    for name in ("", _THUMB):
        path_of(photo, name).unlink(missing_ok=True)
