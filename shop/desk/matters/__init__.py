"""All that a lead can settle about one instrument."""

from __future__ import annotations

from typing import Final

from shop.desk.matters.build import Longer, Neck, Pair, Revision, Scrap
from shop.desk.matters.matter import Matter
from shop.desk.matters.records import Confirm, Free, Mixed, Remark, Strike
from shop.floor.board import State

MATTERS: Final[dict[str, type[Matter]]] = {
    "free": Free,
    "confirm": Confirm,
    "strike": Strike,
    "neck": Neck,
    "mixed": Mixed,
    "longer": Longer,
    "revision": Revision,
    "pair": Pair,
    "remark": Remark,
    "scrap": Scrap,
}
"""Every matter by the end of its address, in the order they are offered."""


def offered(now: State) -> dict[str, type[Matter]]:
    """What there is to settle about an instrument, by the end of its address."""
    return {name: one for name, one in MATTERS.items() if one.open_for(now)}
