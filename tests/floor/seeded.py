"""Twenty seeded panels, and what two invented inspectors call on them.

Eight have a defect. A calls the first seven of these and one that has none; B the first six and
the eighth: six by both, two by A alone, one by B alone, eleven by neither.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any, Final

from shop.craft.quality.spots import Spot
from shop.floor import board, door
from tests.floor.morning import NOW, act, words

CHIP: Final = Spot("upper left", "finish", "chip")
GAP: Final = Spot("middle", "joint", "gap")
PANELS: Final = (*[(CHIP,)] * 7, (GAP, CHIP), *[()] * 12)
A, B = frozenset({1, 2, 3, 4, 5, 6, 7, 9}), frozenset({1, 2, 3, 4, 5, 6, 8})
MANY: Final = len(PANELS)


def seed(at: datetime = NOW, by: str = "P-01", **differs: Any) -> door.Outcome:
    said = {"words": "31-03", "panels": PANELS} | differs
    return door.record(act(by, "", at), door.PanelsKept(**said))


def call(
    panel: int, found: bool = True, by: str = "P-31", of: int = 1, at: datetime = NOW, **more: Any
) -> door.Outcome:
    return door.record(act(by, "I", at, **more), door.PanelCalled(of, panel, found))


def call_all(calls: Collection[int], by: str, of: int = 1, at: datetime = NOW) -> None:
    """Each panel of the set, those in ``calls`` as having a defect."""
    for panel in range(1, MANY + 1):
        outcome = call(panel, panel in calls, by, of, at)
        assert outcome.done, words(outcome)


def lay_out(at: datetime) -> None:
    """A set that both have called, and one that nobody began; once is enough."""
    number = act("P-01", "", at).by_id
    if board.panel_sets(number):
        return
    for _ in range(2):
        assert seed(at).done
    call_all(A, "P-31", at=at)
    call_all(B, "P-32", at=at)
