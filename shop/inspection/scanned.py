"""What was scanned at the rack: the label of a slot, or the tag of an instrument."""

from __future__ import annotations

import re
from typing import Final

from django.http import HttpRequest

from shop.craft.code import Kind
from shop.craft.finding import Finding, stop
from shop.floor import board, tags
from shop.floor.board import Place
from shop.inspection.tagged import scanned

# A slot by its name, as it is printed or said: H-014, h14.
NAME: Final = re.compile(r"\s*H\s*-?\s*(?P<number>[0-9]{1,3})\s*", re.IGNORECASE | re.ASCII)


def slot_of(request: HttpRequest, text: str) -> Place | Finding:
    """The slot whose label was scanned, or whose name was typed; else why there is none."""
    if named := NAME.fullmatch(text):
        code = f"H-{int(named['number']):03}"
        known = board.slots_by_code([code]).get(code)
        then = "Scan the label of the slot."
        return known or stop("slot", f"There is no slot {code} in the hold rack.", then, call="")
    reading = scanned(request, text)
    if reading.finding is not None or reading.kind is None:
        return reading.finding or _unread()
    if reading.kind is not Kind.SLOT:
        words = f"This is a {reading.kind.words}, not the label of a slot."
        return stop("slot scan", words, "Scan the label on the slot of the hold rack.", call="")
    found = board.slot_of_tag(reading.code)
    return found or tags.find(reading.code, Kind.SLOT).finding or _unread()


def instrument_of(request: HttpRequest, text: str) -> str | Finding:
    """The live body tag of the instrument whose tag, or whose card on the case, was scanned;
    else why there is none."""
    reading = scanned(request, text)
    if reading.finding is not None or reading.kind is None:
        return reading.finding or _unread()
    found = tags.find(reading.code, reading.kind)
    return found.body_tag or found.finding or _unread()


def _unread() -> Finding:
    return stop("code empty", "Nothing was read.", "Scan again.", call="")
