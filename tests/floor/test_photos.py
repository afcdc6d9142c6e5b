"""Pictures as they are kept: upright, small enough, with nothing in them but the picture.

What the values of the Exif orientation tag mean is CIPA DC-008 (JEITA CP-3451), 4.6.4 A,
"Orientation", from memory: 1 as it is, 3 upside down, 6 and 8 lying on a side.
"""

from __future__ import annotations

import hashlib
import io
import os
import struct
import tracemalloc
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import ExifTags, Image, ImageFile

from shop.floor.photos import KEPT_PX, MAX_BYTES, Picture, Unreadable, keep, kept, prepared, where

RED, WHITE = (200, 30, 30), (255, 255, 255)
# Which corner of the stored picture is the upper left of the scene, by the tag's value.
TURNED = {1: "upper left", 3: "lower right", 6: "lower left", 8: "upper right"}
CORNERS = {
    "upper left": (0, 0),
    "upper right": (280, 0),
    "lower left": (0, 180),
    "lower right": (280, 180),
}


def flagged(corner: str, size: tuple[int, int] = (400, 260)) -> Image.Image:
    """White, with one corner red."""
    picture = Image.new("RGB", size, WHITE)
    picture.paste(RED, (*CORNERS[corner], CORNERS[corner][0] + 120, CORNERS[corner][1] + 80))
    return picture


def sent(picture: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    into = io.BytesIO()
    picture.save(into, kind, **options)
    return into.getvalue()


def opened(picture: Picture) -> Image.Image:
    return Image.open(io.BytesIO(picture.jpeg))


def is_red(pixel: Any) -> bool:
    red, green, blue = pixel
    return bool(red > 150 and green < 90 and blue < 90)


def png(width: int, height: int, rows: bytes, *more: tuple[bytes, bytes]) -> bytes:
    """A PNG put together by hand (W3C Portable Network Graphics, 5.3 and 11.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        crc = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), *more, (b"IDAT", rows), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(kind, data) for kind, data in chunks)


# --- what is kept ---


@pytest.mark.parametrize(("orientation", "corner"), TURNED.items(), ids=TURNED.values())
def test_a_photo_stands_upright_however_the_phone_was_held(orientation: int, corner: str) -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    upright = opened(prepared(sent(flagged(corner), exif=exif, quality=95)))
    assert upright.size == ((400, 260) if orientation < 5 else (260, 400))
    assert is_red(upright.getpixel((30, 30)))
    assert not is_red(upright.getpixel((upright.width - 30, upright.height - 30)))


def test_where_and_when_and_on_what_a_photo_was_taken_is_not_kept() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "A phone"
    exif[ExifTags.Base.DateTime] = "2031:03:03 09:30:00"
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    place[ExifTags.GPS.GPSLatitudeRef] = "N"
    place[ExifTags.GPS.GPSLatitude] = (56.0, 30.0, 15.0)
    with_place = sent(
        flagged("upper left"),
        exif=exif,
        comment=b"taken by P-11",
        xmp=b"<x:xmpmeta>whose</x:xmpmeta>",
    )
    told = Image.open(io.BytesIO(with_place)).getexif()
    assert told.get_ifd(ExifTags.IFD.GPSInfo), "the photo sent says where it was taken"
    picture = prepared(with_place)
    clean = opened(picture)
    assert dict(clean.getexif()) == {}
    assert clean.getexif().get_ifd(ExifTags.IFD.GPSInfo) == {}
    assert {"exif", "comment", "xmp", "icc_profile"}.isdisjoint(clean.info)
    for trace in (b"Exif", b"A phone", b"2031:03:03", b"taken by", b"xmpmeta"):
        assert trace not in picture.jpeg


def test_a_large_photo_is_kept_small_and_a_small_one_as_it_is() -> None:
    large = opened(prepared(sent(Image.new("RGB", (4000, 3000), WHITE))))
    assert large.size == (KEPT_PX, KEPT_PX * 3 // 4)
    assert opened(prepared(sent(flagged("upper left")))).size == (400, 260)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_what_phones_send_is_kept_as_jpeg(kind: str) -> None:
    picture = prepared(sent(flagged("upper left"), kind))
    assert opened(picture).format == "JPEG"
    assert is_red(opened(picture).getpixel((30, 30)))


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "CMYK", "1"])
def test_a_photo_in_any_colours_is_kept(mode: str) -> None:
    kind = "JPEG" if mode == "CMYK" else "PNG"
    assert opened(prepared(sent(flagged("upper left").convert(mode), kind))).mode == "RGB"


def test_the_same_photo_hashes_alike_and_another_does_not() -> None:
    photo = sent(flagged("upper left"))
    first, again = prepared(photo), prepared(photo)
    assert first == again
    assert first.sha256 == hashlib.sha256(first.jpeg).hexdigest()
    assert prepared(sent(flagged("lower right"))).sha256 != first.sha256


# --- what is not taken ---


def refused(photo: bytes) -> str:
    with pytest.raises(Unreadable) as told:
        prepared(photo)
    return str(told.value)


def test_what_is_no_photo_is_told_so() -> None:
    assert refused(b"<svg xmlns='http://www.w3.org/2000/svg'/>").startswith("This is no photo.")
    assert refused(sent(flagged("upper left"), "GIF")).startswith("This is no photo.")


def test_an_empty_file_is_told_so() -> None:
    assert refused(b"") == "The photo is empty. Take it again."


def padded(size: int) -> bytes:
    """A photo of this many bytes, made long behind its end as some phones do."""
    photo = sent(flagged("upper left"))
    return photo + b"\0" * (size - len(photo))


def test_a_photo_of_12_mb_is_taken_and_one_byte_more_is_told_so() -> None:
    assert opened(prepared(padded(MAX_BYTES))).size == (400, 260)
    assert refused(padded(MAX_BYTES + 1)).startswith("This photo is over 12 MB.")


@pytest.mark.parametrize(
    ("width", "height"), [(8001, 8000), (10_000, 10_000), (60_000, 60_000)], ids=str
)
def test_too_many_pixels_are_refused_before_one_is_unpacked(
    width: int, height: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unpacked(*_: Any) -> None:
        pytest.fail("a pixel was unpacked")

    monkeypatch.setattr(ImageFile.ImageFile, "load", unpacked)
    bomb = png(width, height, zlib.compress(b""))
    assert len(bomb) < 100
    assert refused(bomb) == "This photo has too many pixels. Take it again smaller."


@pytest.mark.parametrize("lenient", [False, True], ids=["alone", "beside printing"])
def test_words_packed_to_swell_in_a_png_are_never_unpacked(
    lenient: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A text of 300 MB in 300 kB (zTXt: W3C Portable Network Graphics, 11.3.3.3). Refused;
    or, where printing made Pillow lenient, passed over and not kept."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    packer = zlib.compressobj(9)
    swelling = b"".join(packer.compress(b"\0" * 1_000_000) for _ in range(300)) + packer.flush()
    pixels = zlib.compress(b"\0" + b"\xff" * 3)
    assert prepared(png(1, 1, pixels)).jpeg
    bomb = png(1, 1, pixels, (b"zTXt", b"Comment\0\0" + swelling))
    tracemalloc.start()
    if lenient:
        assert prepared(bomb) == prepared(png(1, 1, pixels))
    else:
        assert refused(bomb).startswith("The photo arrived damaged.")
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 32 * 1024 * 1024


@pytest.mark.parametrize("lenient", [False, True], ids=["alone", "beside printing"])
def test_a_photo_cut_short_is_told_so(lenient: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Printing tells Pillow, for the whole process, to show what there is of a picture."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    preview = Image.Exif()
    preview[ExifTags.Base.ImageDescription] = "\xff\xd9 looks like an end"
    photo = sent(flagged("upper left"), exif=preview, quality=95)
    assert prepared(photo).jpeg
    assert refused(photo[: len(photo) * 2 // 3]).startswith("The photo arrived damaged.")


# --- on the disk ---


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path / "photos"


def test_a_picture_is_kept_once_under_its_hash(folder: Path) -> None:
    picture = prepared(sent(flagged("upper left")))
    keep(picture)
    keep(picture)
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert files == [where(picture.sha256)]
    assert hashlib.sha256(files[0].read_bytes()).hexdigest() == picture.sha256


def test_of_a_picture_that_is_not_whole_nothing_is_left(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        keep(prepared(sent(flagged("upper left"))))
    assert [path for path in folder.rglob("*") if path.is_file()] == []


@pytest.mark.parametrize("name", ["", "../../secret-key", "A" * 64, "ab" * 32 + "/..", "ab" * 31])
def test_what_is_no_hash_leads_to_no_file(name: str) -> None:
    with pytest.raises(ValueError, match="no hash"):
        where(name)


@pytest.mark.django_db
def test_a_picture_no_row_names_is_shown_to_nobody(folder: Path) -> None:
    picture = prepared(sent(flagged("upper left")))
    keep(picture)
    assert kept(picture.sha256) is None
