"""Freezing an instrument until the lead has looked, and freeing it again."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Final

from django.db import connection
from django.db.models import Q

from shop.craft.finding import Finding, stop
from shop.craft.start import Frozen as Facts
from shop.floor import course
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import Entry, Instrument, Pair, Tag
from shop.floor.state import State

NECK_RULE: Final = "R39"  # a neck beside a body it was not machined for


@dataclass(frozen=True, slots=True)
class Frozen(Deed):
    """Nothing more is done on the instrument until the lead has looked.

    ``found_at`` and ``found_by``: where, and by which badge, the defect was found that it is
    frozen for; "" where it is for none.
    """

    kind: ClassVar[str] = "frozen"
    instrument_id: int
    words: str
    found_at: str = ""
    found_by: str = ""

    def plain(self) -> dict[str, Any]:
        said = {"instrument_id": self.instrument_id, "words": self.words}
        found = {"found_at": self.found_at, "found_by": self.found_by} if self.found_by else {}
        return said | found

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        found_at, found_by = said.get("found_at", ""), said.get("found_by", "")
        one = Facts(said["words"], row.who, row.at, found_at, found_by)
        Instrument.objects.filter(pk=row.number).update(frozen=course.frozen_row(one))


@dataclass(frozen=True, slots=True)
class Freed(Deed):
    """The lead has looked: work on the instrument goes on. The reason says what was seen."""

    kind: ClassVar[str] = "freed"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if now.frozen is None:
            words = f"{now.serial} is not frozen."
            return (stop("freed", words, "Nothing to do.", call=""),)
        if not act.reason:
            words = f"{now.serial} is freed for a reason."
            return (stop("freed", words, "Say what you looked at and what you saw.", call=""),)
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        Instrument.objects.filter(pk=row.number).update(frozen={})


def held_beside(instrument_id: int, neck_code: str) -> Ground:
    """An instrument, held with the one whose neck lies beside it, since both may freeze: the
    lower number first, so that no two scans wait for each other.

    Raises ``LookupError`` when there is no such instrument.
    """
    if not (neck_code and connection.features.has_select_for_update):
        return held(instrument_id)  # SQLite has one writer anyway
    either = Instrument.objects.filter(Q(pk=instrument_id) | Q(neck__tags__code=neck_code))
    list(either.select_for_update(of=("self",)).order_by("pk").values_list("pk"))
    return held(instrument_id, already=True)


def both(now: State, neck_code: str, findings: tuple[Finding, ...]) -> tuple[Deed, ...]:
    """The deeds that freeze a body and the owner of a neck scanned beside it, where either is
    of a pair already: then something was swapped. Before any pair is made it is a wrong pick,
    and the stop alone is enough."""
    wrong = next((one for one in findings if one.rule == NECK_RULE), None)
    if wrong is None:
        return ()
    neck_id = Tag.objects.filter(code=neck_code).values_list("neck_id", flat=True).first()
    if neck_id is None:
        return ()
    owner = Instrument.objects.filter(neck_id=neck_id).values_list("pk", flat=True).first()
    pairs = Pair.objects.filter(ended_at__isnull=True)
    if not (pairs.filter(instrument_id=now.id) | pairs.filter(neck_id=neck_id)).exists():
        return ()
    numbers = dict.fromkeys([now.id, *([owner] if owner else [])])
    return tuple(Frozen(one, wrong.words[:300]) for one in numbers)
