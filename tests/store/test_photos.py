"""Photos: only pictures come in, and nothing but the picture stays."""

import io
import struct
import zlib

import pytest
from PIL import Image

from sillway.errors import BadInput
from sillway.store.by import By
from sillway.store.limits import limit
from sillway.store.models import Photo, PhotoUse, Record
from sillway.store.photos import add_photo, cleaned, hide_photo, path_of, read_photo

ANA = By("Ana", "phone", 1)


def picture(kind="JPEG", size=(640, 480), **more):
    image = Image.effect_mandelbrot(size, (-2, -1, 1, 1), 20).convert("RGB")
    out = io.BytesIO()
    image.save(out, kind, **more)
    out.seek(0)
    return out


def with_location():
    exif = Image.Exif()
    exif[0x010F] = "Camera of Quillfeather"
    exif[0x0112] = 6  # lie on the side
    exif.get_ifd(0x8825)[2] = (41.0, 24.0, 12.2)  # GPS latitude
    return picture(exif=exif, comment=b"at home")


def test_place_camera_and_comment_are_gone_and_the_picture_stands_upright():
    made = cleaned(with_location())
    with Image.open(io.BytesIO(made.content)) as image:
        assert not image.getexif()
        assert image.size == (480, 640)
    for word in (b"Quillfeather", b"at home", b"Exif"):
        assert word not in made.content
        assert word not in made.thumb


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_three_types_come_in_as_jpeg(kind):
    made = cleaned(picture(kind))
    with Image.open(io.BytesIO(made.content)) as image:
        assert (image.format, image.size) == ("JPEG", (640, 480))
    with Image.open(io.BytesIO(made.thumb)) as image:
        assert max(image.size) == limit("photo.thumb_edge")


def test_a_large_one_is_kept_at_the_edge_we_keep():
    made = cleaned(picture(size=(4000, 3000)))
    assert max(made.width_px, made.height_px) == limit("photo.edge")


@pytest.mark.parametrize(
    "content",
    [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a\1\0\1\0\0\0\0;", b"MZ" * 50],
    ids=["empty", "svg", "gif", "program"],
)
def test_another_kind_of_file_is_refused(content):
    with pytest.raises(BadInput, match="photo"):
        cleaned(io.BytesIO(content))


def test_a_cut_one_is_refused():
    whole = picture().getvalue()
    with pytest.raises(BadInput, match="damaged"):
        cleaned(io.BytesIO(whole[: len(whole) // 2]))


@pytest.mark.parametrize("edge_px", [8_000, 30_000])
def test_a_picture_that_would_unpack_to_gigabytes_is_refused_by_its_header(edge_px):
    """PNG files of a hundred bytes that say they are huge."""

    def chunk(name, data):
        sum_ = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + sum_

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", edge_px, edge_px, 8, 2, 0, 0, 0))
    rest = chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    with pytest.raises(BadInput, match="million pixels"):
        cleaned(io.BytesIO(b"\x89PNG\r\n\x1a\n" + head + rest))


def test_too_many_bytes_are_refused():
    with pytest.raises(BadInput, match="bytes"):
        cleaned(io.BytesIO(b"\0" * (limit("upload.bytes") + 1)))


def test_the_same_picture_twice_is_one_file(van):
    one, other = (add_photo(van, picture(), ANA) for _ in range(2))
    assert one.pk != other.pk
    assert Photo.objects.count() == 1
    assert path_of(one.photo).name.startswith(one.photo.digest)
    assert read_photo(one.photo)[:2] == b"\xff\xd8"
    assert len(read_photo(one.photo, thumb=True)) < len(read_photo(one.photo))


def test_a_rider_s_photo_is_sealed(rider):
    use = add_photo(rider, picture(), ANA)
    kept = path_of(use.photo).read_bytes()
    assert b"JFIF" not in kept
    assert read_photo(use.photo)[:2] == b"\xff\xd8"
    assert use.photo.person == Record.objects.get(pk=rider).person


def test_the_same_entry_twice_is_kept_once(van):
    from uuid import uuid4

    entry = uuid4()
    one = add_photo(van, picture(), ANA, entry=entry)
    assert add_photo(van, picture(), ANA, entry=entry).pk == one.pk


def test_a_hidden_photo_is_not_lost(van):
    use = add_photo(van, picture(), ANA)
    hide_photo(use)
    assert PhotoUse.objects.get(pk=use.pk).hidden_at
    assert path_of(use.photo).exists()
