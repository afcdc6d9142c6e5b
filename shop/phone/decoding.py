"""Reading the QR tag in a photo, for phones whose browser shows no live picture.

The reading itself is zxing-cpp's, an independent reader of ISO/IEC 18004.
"""

from __future__ import annotations

import io
from typing import Final

import zxingcpp
from PIL import Image, ImageOps, ImageStat, UnidentifiedImageError

# What phones send; Pillow has many more readers, and none of those is let near a stranger's
# file.
FORMATS: Final = ("JPEG", "PNG", "WEBP")
# Looking for every kind of barcode takes more than ten times as long.
QR_ONLY: Final = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
# A photo of a good phone is 3 to 8 MB and up to 50 megapixels; common practice, no source.
MAX_BYTES: Final = 12 * 1024 * 1024
MAX_PIXELS: Final = 64_000_000
# Reading needs about 4 pixels a module: beyond this size a tag only costs more time.
READ_AT_PX: Final = 2560
# A tag of 29 modules and its margin at 4 pixels each is 148 pixels.
MIN_SIDE_PX: Final = 150
# Mean brightness of 255 under which a photo without a tag was likely taken in the dark.
DARK: Final = 40

DAMAGED: Final = "The photo arrived damaged. Take it again."


class Unreadable(Exception):
    """A photo that cannot be looked at; the text says why and what to do."""


def read_photo(photo: bytes) -> str | None:
    """The text of the one QR tag in a photo, or None when a good photo shows none.

    Raises ``Unreadable`` when it is no photo, too big, too small or too dark, or when it
    shows several tags.
    """
    picture = _opened(photo)
    found = zxingcpp.read_barcodes(picture, formats=QR_ONLY)
    texts = {one.text for one in found if one.valid and one.text}
    if len(texts) == 1:
        return texts.pop()
    if texts:
        raise Unreadable(f"{len(texts)} tags are in this photo. Take it again with one tag alone.")
    if _cut_short(photo):
        raise Unreadable(DAMAGED)
    brightness = ImageStat.Stat(picture).mean[0]
    if brightness < DARK:
        raise Unreadable(
            "No tag seen: the photo is too dark. Turn on a lamp or the flash and take it again."
        )
    return None


def _opened(photo: bytes) -> Image.Image:
    """The photo upright and in grey, no larger than reading needs."""
    if not photo:
        raise Unreadable("The photo is empty. Take it again.")
    if len(photo) > MAX_BYTES:
        raise Unreadable(
            f"The photo is {len(photo) / 1024**2:.0f} MB; {MAX_BYTES // 1024**2} MB is the most. "
            "Take it again at a smaller size."
        )
    try:
        image = Image.open(io.BytesIO(photo), formats=FORMATS)
        # Judged before a single pixel is unpacked.
        _judge_size(*image.size)
        # A JPEG can be unpacked at a half or a quarter of its size.
        image.draft("L", (READ_AT_PX, READ_AT_PX))
        upright = ImageOps.exif_transpose(image).convert("L")
    except UnidentifiedImageError as trouble:
        raise Unreadable(
            "This file is no JPEG, PNG or WebP picture. Take a photo of the tag."
        ) from trouble
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as trouble:
        raise Unreadable(
            "The photo has far too many pixels. Take it again at a smaller size."
        ) from trouble
    except (OSError, SyntaxError, ValueError) as trouble:
        # Pillow's ways to say that a picture ends early or contradicts itself.
        raise Unreadable(DAMAGED) from trouble
    upright.thumbnail((READ_AT_PX, READ_AT_PX))
    return upright


def _cut_short(photo: bytes) -> bool:
    """Whether a picture lacks its end.

    Pillow itself refuses such a picture, unless something else in the process (printing
    does) has told it to show what there is. In a JPEG (ITU-T T.81, table B.1) the end of
    image FFD9 follows the last start of scan FFDA; a PNG (W3C, 11.2.5) ends with IEND.
    """
    if photo.startswith(b"\x89PNG"):
        return b"IEND" not in photo[-64:]
    return photo.startswith(b"\xff\xd8") and photo.rfind(b"\xff\xd9") < photo.rfind(b"\xff\xda")


def _judge_size(width: int, height: int) -> None:
    if width * height > MAX_PIXELS:
        raise Unreadable(
            f"The photo is {width} by {height} pixels, more than {MAX_PIXELS // 1_000_000} million "
            "in all. Take it again at a smaller size."
        )
    if min(width, height) < MIN_SIDE_PX:
        raise Unreadable(
            f"The photo is only {width} by {height} pixels. Take it again, closer and larger."
        )
