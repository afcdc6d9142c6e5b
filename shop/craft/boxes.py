"""How many boxes of a delivery are opened and measured before the rest is trusted.

One box in ten, and never none: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

ONE_IN: Final = 10


def to_open(came: int) -> int:
    """How many boxes are opened of so many that came in: one in ten, begun tens count whole.

    >>> [to_open(came) for came in (0, 1, 10, 11, 30)]
    [0, 1, 1, 2, 3]
    """
    return -(-came // ONE_IN)


def open_words(came: int) -> str:
    """What is opened of so many, as the clerk reads it.

    >>> open_words(12)
    'open 2 boxes of 12: 1 in 10'
    """
    opened = to_open(came)
    return f"open {opened} {'box' if opened == 1 else 'boxes'} of {came}: 1 in {ONE_IN}"


def left_to_measure(
    dimensions: Sequence[str], came: int, inside: Mapping[str, int]
) -> dict[str, int]:
    """How many pieces are still to be measured of each dimension; without those that are done.
    ``inside``: how many were found inside their size already.

    >>> left_to_measure(["post_mm", "reach_mm"], 12, {"post_mm": 2, "reach_mm": 1})
    {'reach_mm': 1}
    """
    opened = to_open(came)
    left = {one: opened - inside.get(one, 0) for one in dimensions}
    return {one: count for one, count in left.items() if count > 0}
