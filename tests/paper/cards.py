"""What the tests of cards share: a card read back, and what stands on a picture of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import pypdfium2
import pytest
from PIL import Image

from shop.floor import board
from shop.floor.board import NextPrint
from shop.paper import press
from tests.paper.reading import INK, Page, darkest, pages, pictures, side_px, squares

A6_MM = (105.0, 148.0)  # ISO 216:2007
MODULE_MM = 0.75  # of the square
LINE_MM = 1.5  # letters that stand no further apart in height are on one line


def in_order(text: str, wanted: Sequence[str]) -> list[str]:
    """What of the wanted does not stand in the text after what comes before it."""
    at, missing = 0, []
    for one in wanted:
        found = text.find("".join(one.split()), at)
        if found < 0:
            missing.append(one)
        else:
            at = found
    return missing


def top_down(page: Page, wanted: Sequence[str]) -> list[str]:
    """What of the wanted does not stand on the page below, or on its line to the right of, what
    comes before it."""
    line, right, missing = 1000.0, 0.0, []
    for one in wanted:
        words = "".join(one.split())
        starts = [at for at in range(len(page.text)) if page.text.startswith(words, at)]
        places = [(page.glyphs[at], page.glyphs[at + len(words) - 1]) for at in starts]
        after = [
            (first, last)
            for first, last in places
            if first.bottom < line - LINE_MM
            or (first.bottom < line + LINE_MM and first.left >= right)
        ]
        if not after:
            missing.append(one)
            continue
        _first, last = max(after, key=lambda ends: ends[0].bottom)
        line, right = last.bottom, last.right
    return missing


def box(left: float, top: float, right: float, low: float) -> tuple[int, int, int, int]:
    """The edges of a part of a picture, in whole pixels."""
    return int(left), int(top), int(right), int(low)


def grey(picture: Image.Image, x: float, y: float) -> int:
    """How light a picture in greys is at a pixel: 0 is ink."""
    shade: Any = picture.getpixel((int(x), int(y)))
    return int(shade)


def coloured(pdf: bytes, dpi: int) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.render(scale=dpi / 72).to_pil().convert("RGB") for page in document]
    finally:
        document.close()


def too_low(page: Page, least_mm: float = 2.5) -> list[tuple[str, float]]:
    """Capitals and figures lower than this; common practice, no source."""
    told = [one for one in page.glyphs if one.char.isdigit() or one.char.isupper()]
    assert told
    return [(one.char, round(one.height, 2)) for one in told if one.height < least_mm]


def off_the_paper(page: Page, border_mm: float = 4) -> list[str]:
    """Letters that lie in the white border, or beyond it."""
    width, height = A6_MM
    return [
        one.char
        for one in page.glyphs
        if min(one.left, one.bottom) < border_mm
        or one.right > width - border_mm
        or one.top > height - border_mm
    ]


def square_of(pdf: bytes) -> str:
    """What the square of every page holds, once it is seen that it can be read there: module
    and quiet zone of ISO/IEC 18004, by a reader that has no part in writing it."""
    said = set()
    for side in pictures(pdf, 600):
        (square,) = squares(side)
        px = 600 / 25.4
        assert side_px(square) / px / 29 == pytest.approx(MODULE_MM, abs=0.01)
        at, quiet, size = square.position.top_left, 4 * MODULE_MM * px, side_px(square)
        near, far = 2 - quiet, size + quiet - 2  # two pixels for the reader's rounding
        ring = side.crop(box(at.x + near, at.y + near, at.x + far, at.y + far))
        ring.paste(255, box(quiet - 4, quiet - 4, quiet + size + 2, quiet + size + 2))
        assert darkest(ring) > INK
        said.add(square.text)
    (text,) = said
    return str(text)


def drawn(form: str, serial: str, at: datetime) -> bytes:
    return press.proof(form, [serial], at)


def text_of(form: str, serial: str, at: datetime) -> str:
    return "".join(page.text for page in pages(drawn(form, serial, at)))


def same_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy that comes next has the same code however often it is drawn."""
    minted: dict[int, NextPrint] = {}
    real = board.next_prints

    def kept(*asked: Any) -> dict[int, NextPrint]:
        for number, one in real(*asked).items():
            minted.setdefault(number, one)
        return dict(minted)

    monkeypatch.setattr(board, "next_prints", kept)


def stamped_as_laid_out(form: str, serials: Sequence[str], at: datetime) -> None:
    """That these share one layout, and that what is stamped into it is the same picture as
    each laid out by itself."""
    sheaf = press.draw(form, serials, at)
    assert sheaf.refused == []
    assert len({one.page.mark for one in sheaf.drawn}) == 1
    stamped = pictures(press.bound(sheaf.pdf, "stamped"), 200)
    plain = pictures(press.proof(form, serials, at, plain=True), 200)
    assert len(stamped) == len(plain) == len(serials)
    assert [one.tobytes() for one in stamped] == [one.tobytes() for one in plain]
    assert stamped[0].tobytes() != stamped[1].tobytes()
