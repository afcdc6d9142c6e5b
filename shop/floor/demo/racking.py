"""The hold rack of the demo workshop. Its slots and what lies in them are invented."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shop.floor.door import SlotsKept

SLOTS: Final = 110
# In which slot the case of an instrument lies.
LIES_IN: Final = {"Q-1038": "H-014", "Q-1040": "H-027"}


def deeds() -> Iterator[SlotsKept]:
    """The rack put up, where there is one."""
    if SLOTS:
        yield SlotsKept(SLOTS)
