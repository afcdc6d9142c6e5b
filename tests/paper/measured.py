"""Cards and labels of the shop's own things, printed and measured."""

from __future__ import annotations

from typing import Any

from PIL import ImageChops

from shop.paper import press
from shop.paper.forms import form_of
from tests.floor.morning import NOW
from tests.paper.reading import INK, Page, pages, pictures, side_px, squares, squeezed

# An invented address, short enough for the longest bin: 35 characters with BIN/ and eight.
SHORT = "http://floor.quillmere"
TEXT_MM = 2.5  # the lowest capital; common practice, no source


def drawn(form: str, *names: str, plain: bool = False) -> bytes:
    return press.proof(form, names, NOW, plain=plain)


def refused(form: str, name: str) -> str:
    """Why this one was not drawn, in words."""
    sheaf = press.draw(form, [name], NOW)
    assert sheaf.drawn == []
    ((told, why),) = sheaf.refused
    assert told == name
    return str(why)


def scanned(pdf: bytes) -> list[str]:
    """What an independent reader finds in the one square of each page."""
    texts = []
    for side in pictures(pdf, 150):
        (square,) = squares(side)
        assert (square.extra["Version"], square.extra["ECLevel"]) == ("3", "H")
        texts.append(square.text)
    return texts


def modules_mm(pdf: bytes) -> list[float]:
    """How wide a module of each page's square is; 29 modules a side at version 3."""
    found: list[Any] = [squares(side)[0] for side in pictures(pdf, 600)]
    return [side_px(square) / 600 * 25.4 / 29 for square in found]


def height(page: Page, word: str) -> float:
    """How high the letters of a word stand at least, where it stands highest."""
    word = squeezed(word)
    places = page.heights_of(word)
    assert places, f"{word} is not in {page.text}"
    return max(
        min(high for high, letter in zip(place, word, strict=True) if letter.isalnum())
        for place in places
    )


def looks_the_same_stamped(form: str, *names: str) -> bool:
    """Whether pages that share a layout are the pictures that each laid out alone would be."""
    stamped = pictures(drawn(form, *names), 144)
    alone = pictures(drawn(form, *names, plain=True), 144)
    assert len(stamped) == len(alone)
    return all(
        ImageChops.difference(one, other).getbbox() is None
        for one, other in zip(stamped, alone, strict=True)
    )


def keeps_its_border(form: str, pdf: bytes) -> bool:
    """Whether nothing is printed nearer to an edge than the form says."""
    px = form_of(form).border_mm / 25.4 * 300
    for side in pictures(pdf, 300):
        ink = side.point([255] * INK + [0] * (256 - INK)).getbbox()
        assert ink is not None
        left, top, right, low = ink
        if min(left, top, side.width - right, side.height - low) < px - 1.5:
            return False
    return True


def too_low(pdf: bytes) -> list[tuple[str, float]]:
    """Capitals and figures that stand lower than any may."""
    return [
        (one.char, round(one.height, 2))
        for page in pages(pdf)
        for one in page.glyphs
        if (one.char.isdigit() or one.char.isupper()) and one.height < TEXT_MM
    ]
