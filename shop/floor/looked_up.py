"""What can be shown of an instrument years later, and what is missing, said to be missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from shop.craft import gauging
from shop.floor import photos, verifying
from shop.floor.models import Entry, Photo
from shop.floor.state import State
from shop.floor.verifying import Proof


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture that was kept: ``there`` says whether its file still is, and what it holds is
    what was kept."""

    sha256: str
    view: str
    operation: str
    there: bool


@dataclass(frozen=True, slots=True)
class Proven:
    """What the journal proves of a record. ``holds``: the link that was frozen with the record
    is the one that its row still carries; ``None`` where no record was frozen."""

    chain: Proof
    holds: bool | None

    @property
    def sound(self) -> bool:
        return not self.chain.wrong and self.holds is not False


def proven(now: State, record: dict[str, Any] | None) -> Proven:
    """Go over the journal of an instrument, and hold its record against it."""
    chain = verifying.proof(now.id)
    if record is None:
        return Proven(chain, None)
    said = record.get("journal") or {}
    rows = Entry.objects.filter(instrument_id=now.id, seq=said.get("rows", 0))
    return Proven(chain, rows.values_list("link", flat=True).first() == said.get("link"))


def pictures(instrument_id: int) -> tuple[Picture, ...]:
    """Every picture that was kept with what was done, oldest first."""
    rows = Photo.objects.filter(instrument_id=instrument_id).order_by("id")
    return tuple(
        Picture(sha256, view, operation, photos.there(sha256))
        for sha256, view, operation in rows.values_list("sha256", "view", "operation")
    )


def never_measured(now: State, record: dict[str, Any]) -> tuple[str, ...]:
    """What the operations on record measure and the record has no value of, in words."""
    return tuple(_never_measured(now, record))


def _never_measured(now: State, record: dict[str, Any]) -> Iterator[str]:
    done = {one["code"] for one in record["operations"]}
    has = {one["name"] for one in record["measures"] if one["values"]}
    wanted = dict.fromkeys(
        key for stop in now.sheet.stops if stop.code in done for key in stop.facts.gauges
    )
    for quantity, places in gauging.asked(now.sheet.spec, tuple(wanted)):
        if places and quantity.words not in has:
            yield quantity.words
