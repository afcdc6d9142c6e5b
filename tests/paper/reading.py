"""Reading printed pages back by means that have no part in printing them.

pypdfium2 draws the PDF and tells where each letter lies, pypdf tells the size of the
paper, zxing-cpp reads the square.
"""

from __future__ import annotations

import ctypes
import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pypdf
import pypdfium2
import zxingcpp
from PIL import Image

MM_PER_POINT = 25.4 / 72
QR: Any = zxingcpp.BarcodeFormat.QRCode
# pdfium's boxes are this much taller than the ink they hold, measured at 1200 dpi.
TALLER = 1.0146
INK = 128  # darker than this is printed


@dataclass(frozen=True)
class Glyph:
    """A letter on a page with the box its ink fills, in mm from the lower left."""

    char: str
    left: float
    bottom: float
    right: float
    top: float

    @property
    def height(self) -> float:
        """The height of the ink."""
        return (self.top - self.bottom) / TALLER


@dataclass(frozen=True)
class Page:
    glyphs: tuple[Glyph, ...]

    @property
    def text(self) -> str:
        """All letters without the spaces, so that a broken line breaks nothing."""
        return "".join(one.char for one in self.glyphs)

    def heights_of(self, word: str) -> list[list[float]]:
        """The heights of a word's letters, for each place where it stands."""
        text, found, at = self.text, [], -1
        while (at := text.find(word, at + 1)) >= 0:
            found.append([one.height for one in self.glyphs[at : at + len(word)]])
        return found


@contextmanager
def _open(pdf: bytes) -> Iterator[Any]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        yield document
    finally:
        document.close()


def pages(pdf: bytes) -> list[Page]:
    found = []
    with _open(pdf) as document:
        for page in document:
            text = page.get_textpage()
            # pdfium takes a hyphen at the end of a line for one that splits a word.
            chars = text.get_text_range().replace("\ufffe", "-")
            assert len(chars) == text.count_chars()
            glyphs = tuple(
                Glyph(char, *(MM_PER_POINT * edge for edge in text.get_charbox(place)))
                for place, char in enumerate(chars)
                if not char.isspace()
            )
            text.close()
            page.close()
            found.append(Page(glyphs))
    return found


def words(pdf: bytes) -> str:
    """The text of all sides, without spaces."""
    return "".join(page.text for page in pages(pdf))


def bold(pdf: bytes, word: str) -> list[bool]:
    """For each place where a word stands, spaces aside, whether it is printed bold."""
    found = []
    with _open(pdf) as document:
        for page in document:
            text = page.get_textpage()
            chars = text.get_text_range()
            places = [at for at, char in enumerate(chars) if not char.isspace()]
            plain, at = "".join(chars[place] for place in places), -1
            while (at := plain.find(word, at + 1)) >= 0:
                fonts = {_font(text, place) for place in places[at : at + len(word)]}
                found.append(all("Bold" in font for font in fonts))
            text.close()
            page.close()
    return found


def _font(text: Any, place: int) -> str:
    """The name of the font that a letter is printed in."""
    room = ctypes.create_string_buffer(200)
    flags = ctypes.c_int()
    pypdfium2.raw.FPDFText_GetFontInfo(text.raw, place, room, len(room), flags)
    return room.value.decode()


def overprinted(page: Page) -> list[str]:
    """Pairs of letters of which one lies on the other, by more than half of the smaller."""
    found = []
    them = sorted(page.glyphs, key=lambda one: one.left)
    for number, one in enumerate(them):
        for two in them[number + 1 :]:
            if two.left >= one.right:
                break
            wide = min(one.right, two.right) - two.left
            high = min(one.top, two.top) - max(one.bottom, two.bottom)
            areas = [(it.right - it.left) * (it.top - it.bottom) for it in (one, two)]
            if wide > 0 and high > 0 and wide * high > min(areas) / 2:
                found.append(f"{one.char} and {two.char} at {one.left:.1f}, {one.bottom:.1f}")
    return found


def squeezed(text: str) -> str:
    return "".join(text.split())


def pictures(pdf: bytes, dpi: int) -> list[Image.Image]:
    drawn = []
    with _open(pdf) as document:
        for page in document:
            drawn.append(page.render(scale=dpi / 72).to_pil().convert("L"))
            page.close()
    return drawn


def sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    read = pypdf.PdfReader(io.BytesIO(pdf))
    return [
        (float(page.mediabox.width) * MM_PER_POINT, float(page.mediabox.height) * MM_PER_POINT)
        for page in read.pages
    ]


def squares(picture: Image.Image) -> list[Any]:
    return list(zxingcpp.read_barcodes(picture, formats=QR))


def darkest(picture: Image.Image) -> int:
    """The darkest grey of a picture, 0 for ink."""
    return next(shade for shade, count in enumerate(picture.histogram()) if count)


def ink(picture: Image.Image) -> tuple[int, int, int, int]:
    """The box that holds all that is printed: left, top, right and lower edge in pixels."""
    box = picture.point([255] * INK + [0] * (256 - INK)).getbbox()
    assert box, "nothing is printed"
    return box


def side_px(square: Any) -> float:
    """The mean side of a symbol without its quiet zone, as its reader found the corners.

    Corners are whole pixels that belong to the symbol, so a side is one pixel longer than
    from corner to corner.
    """
    at = square.position
    corners = (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
    sides = [
        math.dist((one.x, one.y), (two.x, two.y))
        for one, two in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    return sum(sides) / len(sides) + 1


def bands_mm(picture: Image.Image, dpi: int) -> list[tuple[float, float]]:
    """Black bands across the page, 14 mm from either edge: middle from the top, thickness."""
    px = dpi / 25.4
    across = picture.crop((int(14 * px), 0, picture.width - int(14 * px), picture.height))
    columns = across.width
    black = [
        sum(across.crop((0, y, columns, y + 1)).histogram()[:INK]) > 0.98 * columns
        for y in range(across.height)
    ]
    bands, start = [], None
    for y, dark in enumerate([*black, False]):
        if dark and start is None:
            start = y
        elif not dark and start is not None:
            bands.append(((start + y) / 2 / px, (y - start) / px))
            start = None
    return bands
