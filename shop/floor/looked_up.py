"""What can be shown of an instrument years later, and what is missing, said to be missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.craft import gauging
from shop.floor import photos, verifying
from shop.floor.deeds import cartons
from shop.floor.models import AsBuilt, Entry, Photo, Rework, Step
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
    """What the journal proves of a record. ``holds``: it says what the row of its release says,
    word for word, and the link in it is the one that the row before still carries; ``None``
    where the journal tells of no release and no record is there."""

    chain: Proof
    holds: bool | None

    @property
    def sound(self) -> bool:
        return not self.chain.wrong and self.holds is not False


def proven(now: State, record: dict[str, Any] | None) -> Proven:
    """Go over the journal of an instrument, and hold its record against it."""
    chain = verifying.proof(now.id)
    rows = Entry.objects.filter(instrument_id=now.id)
    if record is None:
        # A record that is gone was there all the same, where a row tells of its release.
        gone = rows.filter(kind="step", outcome="recorded", data__has_key="as_built").exists()
        return Proven(chain, False if gone else None)
    frozen = AsBuilt.objects.filter(instrument_id=now.id).values_list("entry__data", flat=True)
    wrote = (frozen.first() or {}).get("as_built")
    last, link = _made_from(record)
    before = rows.filter(seq=last).values_list("link", flat=True).first()
    return Proven(chain, record == wrote and before == link)


def _made_from(record: Any) -> tuple[int, Any]:
    """The number of the last row it says it was made from and the link of that one; row 0,
    which there is not, where it says none."""
    said = record.get("journal") if isinstance(record, dict) else None
    if not isinstance(said, dict) or not isinstance(said.get("rows"), int):
        return 0, ""
    return said["rows"], said.get("link")


def pictures(instrument_id: int) -> tuple[Picture, ...]:
    """Every picture that was kept with what was done up to its release, oldest first; none
    where it was not released. What was taken since is not of the record, and whoever still has
    a look of their own to take is not to see it."""
    frozen = AsBuilt.objects.filter(instrument_id=instrument_id)
    last = frozen.values_list("entry__seq", flat=True).first()
    if last is None:
        return ()
    rows = Photo.objects.filter(instrument_id=instrument_id, entry__seq__lte=last).order_by("id")
    return tuple(
        Picture(sha256, view, operation, photos.unharmed(sha256))
        for sha256, view, operation in rows.values_list("sha256", "view", "operation")
    )


def worked_on_since(now: State) -> datetime | None:
    """Since when an instrument that was released is back on the floor, on a loop or to be
    released again; ``None`` where it is as it was released, and where it never was. Three
    statements at most."""
    unreleased = bool(cartons.unreleased(now))
    if now.rework is None and not unreleased:
        return None
    frozen = AsBuilt.objects.filter(instrument_id=now.id)
    released = frozen.values_list("at", flat=True).first()
    if released is None:
        return None
    loops = Rework.objects.filter(instrument_id=now.id, opened_at__gte=released).order_by("-id")
    sent = loops.values_list("opened_at", flat=True).first()
    if sent is not None or not unreleased:
        return sent  # a loop that the release itself was part of is of its record
    undone = Step.objects.filter(instrument_id=now.id, void_at__gte=released)
    return undone.order_by("void_at").values_list("void_at", flat=True).first()


def never_measured(now: State, record: dict[str, Any]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What the operations on record measure and the record has no value of, in words; with the
    places that lack one, where others have it."""
    return tuple(_never_measured(now, record))


def _never_measured(now: State, record: dict[str, Any]) -> Iterator[tuple[str, tuple[str, ...]]]:
    done = {one["code"] for one in record["operations"]}
    has: dict[str, set[str]] = {}
    for one in record["measures"]:
        has.setdefault(one["name"], set()).update(place for place, _ in one["values"])
    wanted = dict.fromkeys(
        key for stop in now.sheet.stops if stop.code in done for key in stop.facts.gauges
    )
    for quantity, places in gauging.asked(now.sheet.spec, tuple(wanted)):
        there = has.get(quantity.words) or set()
        lacks = tuple(one.words for one in places if one.words not in there)
        if lacks:
            yield quantity.words, lacks if there else ()
