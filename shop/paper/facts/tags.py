"""The tags that hang on body and neck."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from shop.craft.words import mm
from shop.floor.board import State
from shop.paper.facts.saying import hand_and_strings
from shop.paper.refusing import NeckIsPaired, NoLiveTag, NoNeck, NotPrinted


def body_tag(one: State, now: datetime) -> dict[str, Any]:
    """The A7 tag on the body; it hangs for weeks, so that it says from which row of the
    journal it was drawn, and carries little else that goes stale."""
    return {"hand": hand_and_strings(one.sheet), "sides": ("front", "back")}


def neck_tag(one: State, now: datetime) -> dict[str, Any]:
    """The A8 tag on the neck. Raises ``NoNeck`` while there is none."""
    if one.neck is None:
        raise NoNeck(one.serial)
    return {
        "hand": hand_and_strings(one.sheet),
        "last_four": one.neck[-4:],
        "peghead": mm(one.sheet.spec.peghead_mm),
        "sides": ("front", "back"),
    }


def without_tag(one: State, part: str) -> NotPrinted:
    """Why no tag is printed for this body or neck, which has none in use."""
    if part == "neck" and one.neck is None:
        return NoNeck(one.serial)
    pairing = one.sheet.pairing
    if part == "neck" and one.neck and pairing and pairing.code in one.done_codes:
        return NeckIsPaired(one.serial, one.neck)
    return NoLiveTag(one.serial, part)
