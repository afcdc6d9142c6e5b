"""The way of an instrument out of its case to its touch-up, and what that does to its days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from shop.catalogue import book
from shop.craft.clocks.spans import TOUCH_UP
from shop.craft.inspecting.classes import DefectClass
from shop.craft.when import span_words
from shop.floor import board
from shop.floor.board import State

FAMILIES: Final = frozenset({"finish", "cosmetic"})
"""What is touched up: the families of defects, and of the loops that make them good."""


@dataclass(frozen=True, slots=True)
class TouchingUp:
    """How it goes on to its touch-up: ``state`` is "out" where it is out of its case, "may"
    where it may be taken out for it, "decide" where a defect is to be decided first. What it
    does to the clock is said in ``costs``, before anybody confirms it."""

    state: Literal["out", "may", "decide"]
    costs: tuple[str, ...]


def touching_up(now: State, at: datetime) -> TouchingUp | None:
    """The way to its touch-up; ``None`` where nothing is to be touched up, or it is not in the
    days of its hold."""
    held = board.hold(now, at)
    if held is None or now.ended or now.finished_at is not None:
        return None
    if held.out_since is not None:
        return TouchingUp("out", (f"{held.out_words}.", *_costs(now)))
    loop = book.loop(now.rework.loop) if now.rework else None
    at_repair = now.rework is not None and now.rework.stage == "repair"
    if at_repair and loop and loop.keeps_hold and not FAMILIES.isdisjoint(loop.families):
        return TouchingUp("may", (*board.loop_cost_still(now), *_costs(now)))
    slight = (one for one in now.undecided if one.grade >= DefectClass.MINOR)
    if any(one.family in FAMILIES for one in slight):
        return TouchingUp("decide", ())
    return None


def _costs(now: State) -> tuple[str, ...]:
    """What its time out of the case does to its days."""
    most = span_words(TOUCH_UP)
    days = board.hold_words(now)
    return (
        f"Leave the strings at pitch: up to {most} out of its case the days stand still.",
        f"Out for longer, the {days} in the case begin again.",
    )
