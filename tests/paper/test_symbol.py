"""The square, against what ISO/IEC 18004 says of it and an independent reader's view."""

from __future__ import annotations

import re

import pytest
from PIL import Image, ImageDraw

from shop.paper.refusing import AddressTooLong, AddressUnfit
from shop.paper.symbol import Symbol, symbol
from tests.paper.reading import squares

LONGEST = "HTTP://FLOOR.QUILLMERE:8000/B7M49Q2"  # 35 characters, invented


def test_thirty_five_characters_fit_version_3_at_level_h() -> None:
    """ISO/IEC 18004, table 7: 35 alphanumeric characters, quoted by public tables."""
    assert len(LONGEST) == 35
    assert symbol(LONGEST).version == 3


def test_thirty_six_characters_are_refused_with_their_number_and_a_way_out() -> None:
    """ISO/IEC 18004, table 7: 36 characters would need version 4 at level H."""
    with pytest.raises(AddressTooLong, match=r"36 characters, 35 is the most.*shorter name"):
        symbol(LONGEST + "X")


@pytest.mark.parametrize("strange", ["h", "_", "[", "é", " ", "%"])
def test_a_character_that_an_address_cannot_print_is_named(strange: str) -> None:
    """Small letters, _ and [ are outside the alphanumeric set of ISO/IEC 18004, table 5."""
    with pytest.raises(AddressUnfit, match=re.escape(f"“{strange}”")):
        symbol(f"HTTP://SHOP{strange}/B7M49Q2")


@pytest.mark.parametrize("address", ["HTTP://A/B7M49Q2", LONGEST])
def test_every_address_makes_the_same_29_modules(address: str) -> None:
    """Side of 17 + 4 × version modules, 4 modules of margin: the originator's site,
    denso-wave.com/qrcode/qrgene4-e.html.
    """
    square = symbol(address)
    assert (square.modules, square.side) == (17 + 4 * 3, 17 + 4 * 3 + 2 * 4)


def test_an_independent_reader_finds_the_text_version_and_level() -> None:
    """zxing-cpp shares no code with qrcode, which made the symbol."""
    (found,) = squares(_drawn(symbol(LONGEST)))
    assert found.text == LONGEST
    assert (found.extra["Version"], found.extra["ECLevel"]) == ("3", "H")


def test_a_tenth_of_the_square_may_be_hidden() -> None:
    """Level H recovers about 30 % of the codewords (ISO/IEC 18004). A patch on the lower
    right, where no finder pattern lies, spoils more of them than its own area.
    """
    picture = _drawn(symbol(LONGEST))
    edge, hidden = picture.width * 33 / 37, picture.width * 29 / 37 * 0.1**0.5
    ImageDraw.Draw(picture).rectangle((edge - hidden, edge - hidden, edge, edge), fill=255)
    (found,) = squares(picture)
    assert found.text == LONGEST


def test_the_quiet_zone_holds_no_ink() -> None:
    """Four modules of margin on all sides (ISO/IEC 18004)."""
    picture = _drawn(symbol(LONGEST))
    module = picture.width // 37
    inner = (4 * module, 4 * module, 33 * module, 33 * module)
    assert picture.point(lambda grey: 255 - grey).getbbox() == inner


def _drawn(square: Symbol, module_px: int = 8) -> Image.Image:
    """The path drawn rectangle by rectangle with Pillow."""
    picture = Image.new("L", (square.side * module_px,) * 2, 255)
    draw = ImageDraw.Draw(picture)
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", square.path)
    assert square.path == "".join(f"M{x} {y}h{w}v1h-{w}z" for x, y, w in runs)
    for x, y, width in (tuple(map(int, run)) for run in runs):
        left, top = x * module_px, y * module_px
        draw.rectangle((left, top, left + width * module_px - 1, top + module_px - 1), fill=0)
    return picture
