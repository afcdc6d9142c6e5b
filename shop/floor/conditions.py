"""What stands round an operation when it is to be done: the room, the finish, the papers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from django.core.cache import cache

from shop.catalogue.book import StopSheet
from shop.craft.finding import Finding
from shop.craft.fit import moment
from shop.craft.fit.moment import Moment, Room
from shop.craft.hardware import Call, Electronics, Family, Wood
from shop.craft.route import OperationFacts
from shop.floor.models import Permit, RoomReading
from shop.floor.state import State

ROOM: Final = "room"
KEPT_S: Final = 60  # a page may show a room reading this old; a record never goes by one


def gate(now: State, sheet: StopSheet, at: datetime, *, fresh: bool = False) -> tuple[Finding, ...]:
    """What the conditions of this moment say against this operation.

    ``fresh``: the room is read from its log and not from what a page may remember.
    """
    facts = sheet.facts
    electronics = _electronics(now, sheet.code)
    if not (facts.glue or facts.finish_age or facts.papers or electronics):
        return ()
    seen = Moment(
        operation=facts,
        at=at,
        room=room(fresh=fresh) if facts.glue else None,
        coated_on=now.coated_on,
        done=now.done_codes,
        electronics=electronics,
        element_mm=_element_mm(now) if electronics else None,
        destination=now.destination,
        permits=_permits(now) if facts.papers else frozenset(),
    )
    return moment.judge(seen, Call(serial=now.serial, spec=now.sheet.spec, kit=()))


def room(*, fresh: bool) -> Room | None:
    """The room as it was read last, if ever."""
    kept = _newest() if fresh else cache.get_or_set(ROOM, _newest, KEPT_S)
    return next(iter(kept or ()), None)


def forget_room() -> None:
    """The room was read anew."""
    cache.delete(ROOM)


def _newest() -> tuple[Room, ...]:
    rows = RoomReading.objects.values_list("temp_c", "rh_pct", "at", "by__code")[:1]
    return tuple(Room(*row) for row in rows)


def _electronics(now: State, operation: str) -> OperationFacts | None:
    """The operation that fits the electronics, where this one sets a saddle over them."""
    if not now.sheet.spec.electronics:
        return None
    used = {line.article.family: line.used_at for line in now.sheet.kit}
    if used.get(Family.SADDLE) != operation:
        return None
    fits = now.sheet.stop(used.get(Family.ELECTRONICS, ""))
    return fits.facts if fits else None


def _element_mm(now: State) -> Decimal | None:
    """The height of the element in this instrument's own kit."""
    articles = (line.article for line in now.kit)
    return next((one.element_mm for one in articles if isinstance(one, Electronics)), None)


def _permits(now: State) -> frozenset[str]:
    """The woods, by their botanical names, that a paper is noted for."""
    return frozenset(one.wood.botanical for one in papers(now) if one.numbers)


@dataclass(frozen=True, slots=True)
class Paper:
    """A wood that crosses no border without a paper, and the numbers noted for it so far."""

    wood: Wood
    numbers: tuple[str, ...]


def papers(now: State) -> tuple[Paper, ...]:
    """The papers an instrument needs where it is going; none where it stays here."""
    woods = [one for one in now.sheet.spec.woods if one.permit]
    if not woods or not now.destination:
        return ()
    noted: dict[str, list[str]] = {}
    for wood, number in Permit.objects.filter(instrument_id=now.id).values_list("wood", "number"):
        noted.setdefault(wood, []).append(number)
    return tuple(Paper(one, tuple(noted.get(one.botanical, ()))) for one in woods)
