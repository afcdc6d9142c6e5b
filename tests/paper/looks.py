"""Every form as a picture, the same on every machine, to be compared with one that somebody
has looked at.

    python -m tests.paper.bless

draws them all anew into ``tests/paper/golden``. Look at every one before it is committed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final
from unittest import mock

from django.test import override_settings
from PIL import Image

from shop.paper import press
from shop.paper.forms import FIND
from shop.paper.scan import Scan, tag_address
from shop.paper.symbol import symbol
from shop.stock import shelf
from shop.stock.shelf import LotSays
from tests.floor.morning import NOW
from tests.paper.everything import RELEASED, REWORKED, come_about
from tests.paper.reading import pictures

GOLDEN: Final = Path(__file__).parent / "golden"
DPI: Final = 100
GREYS: Final = 16  # in a kept picture: letters need no more

# What each form is looked at for, on the floor of ``everything.come_about``: a plain one and,
# where it looks otherwise, a full one.
SEEN: Final[dict[str, tuple[str, ...]]] = {
    "traveller": ("Q-1061", "Q-1044"),
    "body_tag": ("Q-1044",),
    "neck_tag": ("Q-1044",),
    "tray_label": ("Q-1058", "Q-1044"),
    "hold_card": ("Q-1040",),
    "rework_card": (REWORKED,),
    "nut_strip": ("Q-1055", "Q-1058"),
    "as_built": (RELEASED,),
    "box_label": ("Q-1055",),
    "packing": ("Q-1055",),
    "manifest": ("M-0001",),
    "badge_card": ("P-11",),
    "bin_label": ("A-03",),
    "lot_label": ("1",),
    "station_card": ("N",),
    "gauge_label": ("G-03",),
    "slot_label": ("H-014",),
}


@contextmanager
def _one_code() -> Iterator[None]:
    """Codes are drawn by lot; on these pictures each kind has the same for ever."""

    def of(code: str) -> Scan:
        plain = code[0] + "0" * (len(code) - 1)
        return Scan(plain, symbol(tag_address(plain)))

    with (
        mock.patch.object(Scan, "of", of),
        mock.patch.dict(FIND, lot=_first_lot),
        override_settings(ADDRESS="http://quillmere.lan"),
    ):
        yield


def _first_lot(names: Sequence[str]) -> dict[str, LotSays]:
    """The first lot of the demo, whatever number this database gave it."""
    lots = shelf.lot_labels()
    return {"1": replace(lots[min(lots)], number=1)}


def looks() -> dict[str, Image.Image]:
    """The pictures by the names of their files, one a page."""
    come_about()
    found = {}
    with _one_code():
        for form, names in SEEN.items():
            for name in names:
                sides = pictures(press.proof(form, [name], NOW), DPI)
                for number, side in enumerate(sides, 1):
                    found[f"{form}-{name}-{number}.png"] = side
    return found
