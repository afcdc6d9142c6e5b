"""The loops an instrument is on: how it is sent, what joins, what is done again."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any, Final

from django.db.models import OuterRef, Subquery

from shop.craft.rework import LoopFacts
from shop.craft.start import Rework as Facts
from shop.craft.when import in_utc
from shop.floor import course
from shop.floor.deeds.deed import Act
from shop.floor.deeds.trays import judged
from shop.floor.models import Entry, Instrument, Rework, Step
from shop.floor.state import State

# The kinds of journal rows that send it on a loop, and that it is repaired.
DEFECT: Final = "defect"
DECIDED: Final = "decided"  # where it was noted first
FALL: Final = "dropped"
REPAIR: Final = "repair"
SENDS: Final = (DEFECT, DECIDED, FALL)
LONGEST: Final = 200  # letters of what somebody saw


def sent_on(instrument_id: int) -> tuple[dict[str, Any], ...]:
    """What the journal says of each loop it is on now, oldest first: it keeps the loops as
    they were when it was sent on them."""
    return _rows_since(instrument_id, repaired_too=True)


def pending(instrument_id: int) -> tuple[dict[str, Any], ...]:
    """The same of those that are still to be repaired."""
    return _rows_since(instrument_id, repaired_too=False)


def _rows_since(instrument_id: int, *, repaired_too: bool) -> tuple[dict[str, Any], ...]:
    first = Rework.objects.filter(instrument_id=instrument_id, closed_at__isnull=True)
    seq = first.values_list("entry__seq", flat=True).first()
    if seq is None:
        return ()
    rows = Entry.objects.filter(
        instrument_id=instrument_id, kind__in=(*SENDS, REPAIR), outcome="recorded", seq__gte=seq
    )
    found: list[dict[str, Any]] = []
    for kind, said in rows.order_by("seq").values_list("kind", "data"):
        found = _so_far(found, kind, said, repaired_too=repaired_too)
    return tuple(found)


def _so_far(
    found: list[dict[str, Any]], kind: str, said: dict[str, Any], *, repaired_too: bool
) -> list[dict[str, Any]]:
    """The loops after one more row: a repair makes good all that it was sent on until then."""
    if kind == REPAIR:
        return found if repaired_too else []
    if "loop" in said and (said["work"] or repaired_too):
        return [*found, said]
    return found


def pending_of(instrument_ids: Collection[int]) -> dict[int, tuple[dict[str, Any], ...]]:
    """As ``pending`` of each of these that are on a loop; one statement for any number."""
    since = Rework.objects.filter(instrument_id=OuterRef("instrument_id"), closed_at__isnull=True)
    rows = Entry.objects.filter(
        instrument_id__in=instrument_ids,
        kind__in=(*SENDS, REPAIR),
        outcome="recorded",
        seq__gte=Subquery(since.values("entry__seq")[:1]),
    )
    found: dict[int, list[dict[str, Any]]] = {}
    columns = rows.order_by("instrument_id", "seq").values_list("instrument_id", "kind", "data")
    for number, kind, said in columns:
        if number is not None:
            so_far = found.get(number, [])
            found[number] = _so_far(so_far, kind, said, repaired_too=False)
    return {number: tuple(loops) for number, loops in found.items()}


def repaired_of(instrument_ids: Collection[int]) -> list[tuple[int, list[str], int]]:
    """Each repair that was done on these, with the loops it was for and the minutes it took, 0
    where they were not told; one statement."""
    rows = Entry.objects.filter(
        instrument_id__in=instrument_ids, kind=REPAIR, outcome="recorded"
    ).order_by("pk")
    return [
        (number, said["loops"], said.get("minutes", 0))
        for number, said in rows.values_list("instrument_id", "data")
        if number is not None
    ]


def joined(instrument_id: int) -> dict[int, tuple[str, ...]]:
    """The loops that joined each one an instrument was sent on, by its number in the journal."""
    rows = Entry.objects.filter(
        instrument_id=instrument_id, kind__in=SENDS, outcome="recorded", data__has_key="loop"
    )
    found: dict[int, tuple[str, ...]] = {}
    first = 0
    for pk, said in rows.order_by("seq").values_list("pk", "data"):
        if said["joined"]:
            found[first] = (*found[first], said["loop"])
        else:
            first = pk
            found[first] = ()
    return found


def sent(
    now: State,
    act: Act,
    loop: LoopFacts,
    word: str,
    words: str,
    depth_mm: Decimal | None = None,
    found: tuple[tuple[str, str], ...] = (),
) -> tuple[State, dict[str, Any]]:
    """The instrument as it is sent on a loop, and what its journal row says of that. ``found``:
    where and by which badge the defect was found that it is sent for, where it is one."""
    again = again_of(now, loop)
    before = now.rework
    redo = _in_shop_order(now, {*again, *(before.redo if before else ())})
    facts = Facts(
        loop=loop.key,
        words="; ".join(
            [*([before.words] if before else []), f"{word}, {words}" if words else word]
        ),
        # What is done again counts from the first time it was sent off its route.
        since=before.since if before else act.at,
        stage="repair" if loop.work or (before and before.stage == "repair") else "redo",
        redo=redo,
        dry_until=before.dry_until if before else None,
        found=(*(before.found if before else ()), *found),
    )
    drying = facts.dry_until is not None and in_utc(facts.dry_until) > in_utc(act.at)
    back = facts.stage == "redo" and not redo and not drying
    after = replace(
        unmeasured(now, again),
        done=tuple(one for one in now.done if one.operation not in again),
        rework_kept={} if back else course.rework_row(facts),
    )
    if puts_down(now):
        after = replace(after, open_step_kept={})
    return after, {
        "loop": loop.key,
        "word": word,
        "title": loop.title,
        "work": loop.work,
        "station": loop.station,
        "station_code": loop.station_code,
        "dries_h": int(loop.dries(depth_mm) / timedelta(hours=1)),
        "keeps_hold": loop.keeps_hold,
        "joined": before is not None,
        "back": back,
        "rework": after.rework_kept,
        "words_all": facts.words[:LONGEST],
        "redo": list(redo),
        "voids": [one.seq for one in now.done if one.operation in again],
        "void_why": f"rework: {loop.key}: {word}",
        "gauged": [one.row() for one in after.readings.values],
        "standing": after.kept_standing,
        "placed": after.placed_version,
        "puts_down": puts_down(now),
    }


def send(row: Entry) -> int:
    """Bring the tables to what ``sent`` said: what is done again is void, and stays as history.
    The number of the loop it is on."""
    said = row.data
    live = Step.objects.filter(instrument_id=row.number, void_at__isnull=True)
    live.filter(seq__in=said["voids"]).update(void_at=row.at, void_why=said["void_why"])
    closed_at = row.at if said["back"] else None
    if said["joined"]:
        loops = Rework.objects.filter(instrument_id=row.number, closed_at__isnull=True)
        repaired = {"repaired_at": None} if said["work"] else {}
        number = loops.get().pk
        loops.update(words=said["words_all"], redo=said["redo"], closed_at=closed_at, **repaired)
    else:
        begun = Rework.objects.create(
            instrument_id=row.number,
            loop=said["loop"],
            word=said["word"],
            words=said["words"],
            found_at=said["found_at"],
            redo=said["redo"],
            opened_at=row.at,
            closed_at=closed_at,
            entry=row,
        )
        number = begun.pk
    more: dict[str, Any] = {"open_step": {}} if said["puts_down"] else {}
    if said["rework"]:
        more["finished_at"] = None
    Instrument.objects.filter(pk=row.number).update(
        rework=said["rework"],
        gauged=said["gauged"],
        standing=said["standing"],
        placed_version=said["placed"],
        **more,
    )
    return number


def again_of(now: State, loop: LoopFacts) -> tuple[str, ...]:
    """What of it is done again. The cut that made the pair is not: no loop undoes that, the
    lead breaks the pair."""
    pairing = now.sheet.pairing.code if now.sheet.pairing else ""
    return tuple(one for one in loop.redo_of(now.sheet.route, now.done_codes) if one != pairing)


def _in_shop_order(now: State, codes: set[str]) -> tuple[str, ...]:
    return tuple(one.code for one in now.sheet.stops if one.code in codes)


def unmeasured(now: State, again: tuple[str, ...]) -> State:
    """The same instrument without the readings, and the look at its posts, of operations that
    are done again."""
    sheets = [one for one in now.sheet.stops if one.code in again]
    gone = now.readings.standing_for([(one.code, one.facts.gauges) for one in sheets])
    left = [one for one in now.readings.values if one not in gone]
    after = now
    if len(left) < len(now.readings.values):
        after = replace(now, gauged_kept=[one.row() for one in left])
        after = after.with_standing("readings", judged(after) if left else ())
    if any(one.facts.positions for one in sheets):
        after = replace(after, placed_version=None)
    return after


def puts_down(now: State) -> str:
    """The operation that was begun on it and is put down as it goes to Repair; a cut that
    somebody has yet to look at stays open."""
    return now.open.operation if now.open and not now.open.unsure else ""
