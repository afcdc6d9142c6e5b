"""Photos of tags. The squares are made by qrcode and read by zxing-cpp, two independent
implementations of ISO/IEC 18004.
"""

from __future__ import annotations

import struct
import zlib
from typing import Any

import pytest
import zxingcpp
from PIL import Image, ImageFile

from shop.phone.decoding import MAX_BYTES, Unreadable, read_photo
from tests.phone.tags import TAG, as_bytes, photo


@pytest.mark.parametrize("turn", [0, 37, 90, 143, 180, 270])
def test_a_tag_is_read_however_it_lies(turn: float) -> None:
    assert read_photo(as_bytes(photo(TAG, turn=turn))) == TAG


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_each_format_that_phones_send_is_read(kind: str) -> None:
    assert read_photo(as_bytes(photo(TAG), kind)) == TAG


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_that_a_phone_stored_sideways_is_read(orientation: int) -> None:
    """The orientations are the eight of the Exif tag 274 (CIPA DC-008)."""
    exif = Image.Exif()
    exif[274] = orientation
    assert read_photo(as_bytes(photo(TAG), exif=exif)) == TAG


def test_a_photo_of_twelve_megapixels_is_read() -> None:
    assert read_photo(as_bytes(photo(TAG, size=(1280, 960)).resize((4032, 3024)))) == TAG


def test_a_good_photo_without_a_tag_holds_nothing() -> None:
    assert read_photo(as_bytes(photo())) is None


def test_a_dark_photo_without_a_tag_asks_for_light() -> None:
    with pytest.raises(Unreadable, match=r"too dark.*lamp"):
        read_photo(as_bytes(photo(ground=12)))


def test_a_photo_of_two_tags_asks_for_one() -> None:
    with pytest.raises(Unreadable, match=r"2 tags.*one tag alone"):
        read_photo(as_bytes(photo(TAG, TAG.replace("B7M49Q2", "T3K8V1D"))))


def test_the_same_tag_printed_twice_is_one_tag() -> None:
    assert read_photo(as_bytes(photo(TAG, TAG))) == TAG


def test_another_kind_of_barcode_is_no_tag() -> None:
    other = zxingcpp.create_barcode("B7M49Q2", zxingcpp.BarcodeFormat.DataMatrix)
    drawn: Any = other.to_image(scale=8)  # its buffer is not in its stubs
    picture = photo()
    picture.paste(Image.frombytes("L", drawn.shape, memoryview(drawn).tobytes()), (400, 300))
    assert zxingcpp.read_barcodes(picture), "the picture shows what this test is about"
    assert read_photo(as_bytes(picture)) is None


def test_a_tiny_picture_asks_for_a_closer_one() -> None:
    with pytest.raises(Unreadable, match=r"96 by 96 pixels.*closer"):
        read_photo(as_bytes(photo(size=(96, 96))))


def test_a_file_that_is_no_picture_is_said_to_be_none() -> None:
    with pytest.raises(Unreadable, match=r"no JPEG, PNG or WebP"):
        read_photo(b"%PDF-1.7 a traveller")


def test_an_animation_is_not_looked_into() -> None:
    with pytest.raises(Unreadable, match=r"no JPEG, PNG or WebP"):
        read_photo(as_bytes(photo(TAG), "GIF"))


def test_an_empty_file_is_said_to_be_empty() -> None:
    with pytest.raises(Unreadable, match=r"empty"):
        read_photo(b"")


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("lenient", [False, True], ids=["strict", "with printing loaded"])
def test_a_photo_cut_short_on_its_way_is_said_to_be_damaged(
    kind: str, lenient: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Printing loads WeasyPrint, which tells Pillow to show pictures that lack their end."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    whole = as_bytes(photo(TAG), kind)
    with pytest.raises(Unreadable, match=r"damaged"):
        read_photo(whole[: len(whole) // 3])


def test_a_file_over_the_limit_is_refused_with_both_sizes() -> None:
    with pytest.raises(Unreadable, match=r"13 MB; 12 MB is the most"):
        read_photo(b"\xff\xd8" + bytes(MAX_BYTES + 1024**2))


@pytest.mark.parametrize("side", [9_000, 30_000])
def test_a_small_file_that_unpacks_to_too_many_pixels_is_refused_unopened(side: int) -> None:
    """The header is that of a PNG as W3C's PNG specification, 11.2.1, lays it down."""
    with pytest.raises(Unreadable, match=r"pixels"):
        read_photo(_png_that_claims(side, side))


def _png_that_claims(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        check = zlib.crc32(kind + body)
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    rows = chunk(b"IDAT", zlib.compress(bytes(1000)))
    return b"\x89PNG\r\n\x1a\n" + header + rows + chunk(b"IEND", b"")
