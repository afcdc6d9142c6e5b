"""The ways on from the page of an instrument that is inspected, repaired, released or boxed."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.urls import reverse

from shop.craft import leaving, looks
from shop.craft.rework import REPAIR
from shop.floor.board import State

Way = tuple[str, str]
"""An address and the words of the link to it."""


def onward(now: State, code: str, station: str, may: Callable[[str], bool]) -> tuple[Way, ...]:
    """Where somebody at this station may go from here: its defects, both looks, what stands
    against release, the carton. ``may`` says which rights they have. No statement."""
    return tuple(_ways(now, code, station, may))


def _ways(now: State, code: str, station: str, may: Callable[[str], bool]) -> Iterator[Way]:
    yield from _to_defects(now, code, station, may)
    records = may("step.record") or may("step.learn")
    seconds = {second.station_code for _, second in looks.pairs(now.sheet.route)}
    if station in seconds and may("defect.note"):
        yield reverse("inspection:looks", args=[code]), "Both looks"
    releases = leaving.releasing(now.sheet.route)
    if records and station in _stations(now, releases) and now.cased_at is not None:
        yield reverse("inspection:release", args=[code]), "What stands against release"
    boxes = leaving.boxing(now.sheet.route)
    if records and boxes and station in _stations(now, (boxes,)):
        yield reverse("inspection:box", args=[code]), "Box it with its papers"


def _to_defects(now: State, code: str, station: str, may: Callable[[str], bool]) -> Iterator[Way]:
    """To what is found wrong with it, where it is inspected and where it is repaired."""
    inspected = {one.station_code for both in looks.pairs(now.sheet.route) for one in both}
    if station not in {*inspected, REPAIR}:
        return
    if may("defect.note") and station in inspected:
        yield reverse("inspection:note", args=[code]), "Note a defect"
    yield reverse("inspection:defects", args=[code]), "All defects of it"
    if station == REPAIR and may("floor.see"):
        yield reverse("inspection:repairs"), "All repairs"


def _stations(now: State, codes: tuple[str, ...]) -> frozenset[str]:
    found = (now.sheet.stop(code) for code in codes)
    return frozenset(one.station_code for one in found if one is not None)
