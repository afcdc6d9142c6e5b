"""Every form looks as it did when somebody looked at it.

The pictures in ``tests/paper/golden`` were drawn by ``python -m tests.paper.bless`` and each
was looked at. Another release of the font or of the renderer moves edges by a fraction of a
pixel; a word that is gone or a line that has moved changes far more than is tolerated here.
"""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from shop.paper.forms import FORMS
from tests.paper.looks import GOLDEN, SEEN, looks

pytestmark = pytest.mark.usefixtures("morning", "db")

FAR = 96  # greys of 255: black where white was, and not an edge that moved a little
SHARE = 0.004  # of the pixels of a page


def apart(one: Image.Image, other: Image.Image) -> float:
    """The share of pixels that are far apart."""
    if one.size != other.size:
        return 1.0
    greys = [np.asarray(picture.convert("L"), dtype=int) for picture in (one, other)]
    return float((abs(greys[0] - greys[1]) > FAR).mean())


def test_every_form_looks_as_it_did() -> None:
    kept = {path.name: Image.open(path) for path in GOLDEN.glob("*.png")}
    drawn = looks()
    assert set(drawn) == set(kept)
    far = {name: share for name in kept if (share := apart(drawn[name], kept[name])) > SHARE}
    assert far == {}


def test_every_form_there_is_was_looked_at() -> None:
    assert set(SEEN) == set(FORMS)


def test_a_word_that_is_gone_shows() -> None:
    """The tolerance is smaller than a line of text."""
    with Image.open(GOLDEN / "traveller-Q-1044-1.png") as kept:
        whole = kept.convert("L")
    spoilt = whole.copy()
    top = whole.height // 3
    ImageDraw.Draw(spoilt).rectangle((0, top, whole.width, top + 40), fill=255)
    assert apart(whole, spoilt) > SHARE
