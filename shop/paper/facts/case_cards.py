"""The cards that hang on the case or lie on the cart: until when it is held, what is repaired."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from shop.catalogue import book
from shop.craft import gauging, looks, zones
from shop.craft.gauging import QUANTITIES
from shop.craft.gauging.setting import ACTION, RELIEF
from shop.craft.hardware import Family
from shop.craft.reading import Readings
from shop.craft.route import hold_of, last_of
from shop.floor import board
from shop.floor.board import State
from shop.paper.facts.saying import hand_and_strings, moment
from shop.paper.facts.set_up import up_to_first_look
from shop.paper.facts.sizing import capitals_size
from shop.paper.facts.traveller import Line, operations
from shop.paper.refusing import NotPrinted

SET_UP = (Family.SADDLE, Family.STRINGS)
"""What is measured where these are fitted belongs to the set-up."""
AIMED = ((RELIEF, "7"), (ACTION, "bass"), (ACTION, "treble"))
"""Where each of the targets of a sheet is measured, in their order."""
MOST_PLACES = 3


class Scrapped(NotPrinted):
    def __init__(self, serial: str, why: str) -> None:
        super().__init__(
            _("%(serial)s is scrap: %(why)s. Take its cards off, no other is printed.")
            % {"serial": serial, "why": why.rstrip(".")}
        )


class NoDays(NotPrinted):
    def __init__(self, model: str) -> None:
        super().__init__(
            _("The route of %(model)s has no days in the case. Its traveller says what is next.")
            % {"model": model}
        )


class NotCased(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "%(serial)s is not in its case yet, and its days there have not begun. Record "
                "that it is cased, then print its card."
            )
            % {"serial": serial}
        )


class ReleasedAlready(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "%(serial)s is released already: its days in the case are over. Take the card off "
                "its handle."
            )
            % {"serial": serial}
        )


class NoTime(NotPrinted):
    """``halted`` says what keeps the days from running, as a sentence."""

    def __init__(self, serial: str, halted: str) -> None:
        super().__init__(
            _(
                "When %(serial)s may be released cannot be told now. %(halted)s Print its card "
                "once they run again."
            )
            % {"serial": serial, "halted": halted}
        )


class NothingToRepair(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "Nothing is to be repaired on %(serial)s. Report what is wrong with it first, then "
                "print its card."
            )
            % {"serial": serial}
        )


class RepairedAlready(NotPrinted):
    """``redo``: the operations that are still to be done again."""

    def __init__(self, serial: str, redo: Sequence[str]) -> None:
        super().__init__(
            _(
                "%(serial)s is repaired already. Done again after it: %(redo)s. Its traveller has "
                "room for that."
            )
            % {"serial": serial, "redo": ", ".join(redo)}
        )


# --- the hold card ---


def hold_card(one: State, now: datetime) -> dict[str, Any]:
    """The A6 card on the handle of a case: not before when it may be released.

    Raises ``NotPrinted`` where there is no such moment: before it is cased, once it is
    released, while something keeps its days from running.
    """
    if one.ended:
        raise Scrapped(one.serial, one.ended)
    if any(stop.facts.freezes and stop.code in one.done_codes for stop in one.sheet.stops):
        raise ReleasedAlready(one.serial)
    days = hold_of(one.sheet.route)
    if days is None:
        raise NoDays(one.sheet.spec.key)
    held, cased = board.hold(one, now), last_of(days.before, one.done)
    if held is None or cased is None:
        raise NotCased(one.serial)
    if held.ready is None:
        raise NoTime(one.serial, held.halted)
    ready, readings = localtime(held.ready), up_to_first_look(one)
    return {
        "hand": hand_and_strings(one.sheet),
        "before_size": capitals_size(_("RELEASE NOT BEFORE"), 88, 6.8),
        "day": date_format(ready, "l"),
        "date": f"{ready:%Y-%m-%d}",
        "hour": f"{ready:%H:%M}",
        "cased_by": ", ".join(cased.hands),
        "cased_at": moment(cased.at),
        "counted_from": _begun_again(one, now),
        "asked": list(_aimed(one, readings)),
        "measured": list(_set_up(one, readings)),
    }


def _begun_again(one: State, now: datetime) -> str:
    """From when the days count, where something began them again; empty where nothing did."""
    held = one.held(localtime(now))
    if held is None or one.cased_at is None or held.started <= one.cased_at:
        return ""
    return moment(held.started)


def _aimed(one: State, readings: Readings) -> Iterator[tuple[str, str, str]]:
    """What the spec asks of the set-up, each beside what was measured up to the first look; ""
    where nothing was."""
    for (words, asked), (quantity, place) in zip(one.sheet.targets, AIMED, strict=True):
        had = (it for it in readings.of(quantity) if it.place == place)
        yield words, asked, next((gauging.said(it) for it in had), "")


def _set_up(one: State, readings: Readings) -> Iterator[tuple[str, str]]:
    """What was measured of the set-up up to the first look, a line for each quantity: what
    that look measures itself, and what was measured where saddle and strings went on. What
    stands beside what is asked, what is measured string by string and has no room here, and
    one of two answers, which does not move in the case, are left out."""
    places = {line.used_at for line in one.kit if line.article.family in SET_UP}
    places |= {first.code for first, _second in looks.pairs(one.sheet.route)}
    asked = [key for stop in one.sheet.stops if stop.code in places for key in stop.facts.gauges]
    for key in dict.fromkeys(asked):
        quantity, them = QUANTITIES[key], readings.of(key)
        by_strings = len(quantity.places(one.sheet.spec)) > MOST_PLACES
        if them and not quantity.answers and not by_strings and key not in dict(AIMED):
            named = {place.key: place.words for place in quantity.places(one.sheet.spec)}
            said = [(named.get(it.place, it.place), gauging.said(it)) for it in them]
            yield _(quantity.words), _values(said)


def _values(said: Sequence[tuple[str, str]]) -> str:
    """The values of a quantity; once where they are all alike.

    >>> _values([("bass side", "3.2 mm"), ("treble side", "2.9 mm")])
    'bass side 3.2 mm, treble side 2.9 mm'
    """
    if len({value for _place, value in said}) == 1:
        return said[0][1]
    return ", ".join(f"{_(place)} {value}" for place, value in said)


# --- the rework card ---


@dataclass(frozen=True, slots=True)
class ToRepair:
    """One loop on its card: what was found by whom, and what happens now.

    ``zones`` are those its words name. ``dries_h``: the least the repair dries, in hours.
    ``found_at`` is a station by its name, or the code of an operation.
    """

    word: str
    words: str
    zones: tuple[int, ...]
    title: str
    work: str
    station: str
    dries_h: int
    by: str
    at: str
    found_at: str


def rework_card(one: State, now: datetime) -> dict[str, Any]:
    """The A6 card of what is repaired, a page for each loop. Raises ``NotPrinted`` where
    nothing is to be repaired."""
    if one.ended:
        raise Scrapped(one.serial, one.ended)
    loops, loop = _to_repair(one), one.rework
    if loop is None or not (loops or loop.redo):
        raise NothingToRepair(one.serial)
    if not loops:
        raise RepairedAlready(one.serial, loop.redo)
    return {
        "hand": hand_and_strings(one.sheet),
        "loops": loops,
        "route": _again(one, loop.redo),
        "dry_until": moment(loop.dry_until) if loop.dry_until else "",
    }


def _to_repair(one: State) -> list[ToRepair]:
    """What is still to be repaired on it, oldest first, each with who found it."""
    told = board.to_repair(one.id)
    if not told:
        return []
    rows = [row for row in board.journal(one.id, one.seq) if row["data"] in told]
    stations = dict(book.stations())
    return [
        ToRepair(
            word=said["word"],
            words=said["words"],
            zones=zones.told(said["words"]),
            title=said["title"],
            work=said["work"],
            station=said["station"],
            dries_h=said["dries_h"],
            by=row["by__code"],
            at=moment(row["at"]),
            found_at=stations.get(said["found_at"], said["found_at"]),
        )
        for said, row in zip(told, reversed(rows[: len(told)]), strict=True)
    ]


def _again(one: State, redo: Sequence[str]) -> list[Line]:
    """The operations done again, in shop order; filled in where that is done."""
    return [line for line in operations(one) if line.code in redo]
