"""A wave is made, shared between clerks, walked bin by bin, paused and taken up again.

Where a walk stands is what the lines of its trays say, and nothing else: so it may be left on
one phone and gone on with on another.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.db.models import Max

from shop.craft.words import listed
from shop.stock.answers.walk import filled, stops_of
from shop.stock.changes.balance import OutOfStep
from shop.stock.changes.trays import PutIn, put_in
from shop.stock.models import Tray, TrayLine, Walk, Wave


def make_waves(day: date, parts: Sequence[Sequence[int]], by: int, at: datetime) -> tuple[int, ...]:
    """A wave for each part of the trays, all of them or none. Raises as :func:`make_wave`."""
    with transaction.atomic():
        return tuple(make_wave(day, trays, by, at) for trays in parts)


def make_wave(day: date, tray_ids: Sequence[int], by: int, at: datetime) -> int:
    """These trays are picked in one go, for the release of this day. Returns the wave's id.

    All their open lines are one walk, which is free for whoever takes it up. Raises
    ``OutOfStep``, and makes nothing, where a tray is in a wave already, is closed, or no line
    of them is to pick.
    """
    try:
        with transaction.atomic():
            trays = _held_trays(tray_ids)
            _all_free(trays, tray_ids)
            lines = TrayLine.objects.filter(tray__in=trays, state="open")
            if not lines.exists():
                raise OutOfStep("Nothing of these trays is to pick. Check them and close them.")
            last = Wave.objects.filter(day=day).aggregate(last=Max("number"))["last"] or 0
            wave = Wave.objects.create(day=day, number=last + 1, by_id=by, at=at)
            walk = Walk.objects.create(wave=wave, number=1)
            Tray.objects.filter(pk__in=[one.pk for one in trays]).update(wave=wave)
            lines.update(walk=walk)
    except IntegrityError as twice:  # two waves of one day in one moment
        raise OutOfStep("Another wave is made at this moment. Make yours again.") from twice
    return wave.pk


def add_to_wave(wave_id: int, tray_id: int, by: int, at: datetime) -> None:
    """One more tray, urgent as a rule, jumps into a wave that is under way.

    Its lines join the walks that come to the same items, the others the first walk not done.
    Raises ``OutOfStep`` where it is in a wave already or closed, or the wave is not there.
    """
    with transaction.atomic():
        trays = _held_trays([tray_id])
        _all_free(trays, [tray_id])
        wave = _held_wave(wave_id)
        of_items: dict[int, int] = {}
        under_way = TrayLine.objects.filter(walk__wave=wave, state="open")
        for item_id, walk_id in under_way.order_by("-walk__number").values_list("item", "walk"):
            of_items[item_id] = walk_id or 0
        others = min(of_items.values(), default=0) or _first_walk(wave)
        lines = list(TrayLine.objects.filter(tray_id=tray_id, state="open"))
        for line in lines:
            line.walk_id = of_items.get(line.item_id, others)
        TrayLine.objects.bulk_update(lines, ["walk"])
        trays[0].wave = wave
        trays[0].save(update_fields=["wave"])


def split_walk(walk_id: int, by: int, at: datetime, walks: int | None = None) -> int:
    """What is left of a walk is halved in walking order: the second half is a walk of its own,
    free for another clerk. Returns its id.

    ``walks``: how many walks of the wave the asker knew of. Where it has another number by now
    the same tap came twice: the walk stays as it is, and its own id is returned.
    Raises ``OutOfStep`` where fewer than two bins are left.
    """
    with transaction.atomic():
        walk, _ = _held_walk(walk_id)
        wave = _held_wave(walk.wave_id)
        if walks is not None and wave.walks.count() != walks:
            return walk.pk
        stops = stops_of(walk_id)
        if len(stops) < 2:
            raise OutOfStep("One bin cannot be shared: go on with it yourself.")
        last = wave.walks.aggregate(last=Max("number"))["last"] or 0
        more = Walk.objects.create(wave=wave, number=last + 1)
        second = [share.line_id for stop in stops[len(stops) // 2 :] for share in stop.shares]
        TrayLine.objects.filter(pk__in=second).update(walk=more)
    return more.pk


def take_walk(walk_id: int, by: int) -> str:
    """Take a walk up, paused or not, on this phone or any. Returns the badge of another who had
    it until now, empty where nobody had."""
    with transaction.atomic():
        walk = _walk(walk_id)
        had = walk.by.code if walk.by and walk.by_id != by else ""
        if walk.by_id != by or walk.paused_at:
            walk.by_id, walk.paused_at = by, None
            walk.save(update_fields=["by", "paused_at"])
    return had


def pause_walk(walk_id: int, by: int, at: datetime) -> None:
    """Leave a walk as it is, to be taken up by anybody. Twice is as good as once.

    Raises ``OutOfStep`` where another has it.
    """
    with transaction.atomic():
        walk = _walk(walk_id)
        _own(walk, by)
        if walk.paused_at is None:
            walk.paused_at = at
            walk.save(update_fields=["paused_at"])


@dataclass(frozen=True, slots=True)
class Picked:
    """What came of one stop. ``again``: the same tap came twice, and changed nothing."""

    short: frozenset[int] = frozenset()  # lines marked short
    refused: tuple[tuple[str, str], ...] = ()  # serial, and why its tray did not take it
    again: bool = False


def pick_stop(walk_id: int, picks: Sequence[PutIn], found: int, by: int) -> Picked:
    """At one stop of a walk so many pieces were found: they go into the trays in the order of
    ``picks``, each line whole, and the lines they do not reach are short.

    A tray takes all of its own or none: one that refuses (a held lot, a second plating lot)
    keeps its lines to pick and says why, the others have theirs.
    Raises ``OutOfStep``, and puts in nothing, where more were found than are wanted, another
    has the walk, or a line is not to pick on it any more: taken, or given to another walk.
    """
    with transaction.atomic():
        walk, lines = _held_walk(walk_id, [one.line_id for one in picks])
        if lines and not any(one.state == "open" for one in lines) and walk.by_id == by:
            return Picked(again=True)
        if gone := [one for one in lines if one.state != "open" or one.walk_id != walk.pk]:
            raise OutOfStep(_gone(gone, walk))
        if len(lines) != len(picks):
            raise OutOfStep("These trays changed meanwhile. Look at the bin again.")
        _own(walk, by)
        line_of = {one.pk: one for one in lines}
        wanted = {one.line_id: line_of[one.line_id].quantity for one in picks}
        if found > sum(wanted.values()):
            raise OutOfStep(f"{found} taken, {sum(wanted.values())} wanted. Put the rest back.")
        full = filled(wanted, found)
        by_tray: dict[int, list[PutIn]] = defaultdict(list)
        for pick in picks:
            given = pick if pick.line_id in full else PutIn(pick.line_id, None)
            by_tray[line_of[pick.line_id].tray_id].append(given)
        refused = {}
        for tray_id in sorted(by_tray):
            try:
                with transaction.atomic():
                    put_in(tray_id, by_tray[tray_id])
            except OutOfStep as why:
                refused[tray_id] = str(why)
    serials = {one.tray_id: one.tray.serial for one in lines}
    return Picked(
        frozenset(one.pk for one in lines if one.pk not in full and one.tray_id not in refused),
        tuple((serials[tray_id], why) for tray_id, why in refused.items()),
    )


def why_not_here(walk_id: int, line_ids: Sequence[int], by: int) -> str:
    """Why these lines are not to pick on this walk any more; nothing where the asker did it."""
    walk = Walk.objects.select_related("by").filter(pk=walk_id).first()
    rows = TrayLine.objects.filter(pk__in=line_ids).select_related("tray", "item", "walk__by")
    gone = [one for one in rows if one.state != "open" or one.walk_id != walk_id]
    own = walk is not None and walk.by_id == by and all(one.state != "open" for one in rows)
    return "" if walk is None or own or not gone else _gone(gone, walk)


def _gone(lines: Sequence[TrayLine], walk: Walk) -> str:
    """Why lines of a stop are not to pick here any more."""
    names = listed([f"{one.quantity} × {one.item.key} for {one.tray.serial}" for one in lines])
    now = next((one.walk for one in lines if one.walk_id != walk.pk), None) or walk
    who = now.by.code if now.by else "another clerk"
    if all(one.state == "open" for one in lines):
        return f"{names}: on walk {now.number} now, with {who}. Leave it there and go on."
    return f"{names}: taken already, by {who}. Put back what you hold and go on."


def _own(walk: Walk, by: int) -> None:
    if walk.by is not None and walk.by_id != by:
        raise OutOfStep(f"{walk.by.code} walks this now. Take it up again to go on with it.")


def _all_free(trays: Sequence[Tray], wanted: Sequence[int]) -> None:
    """All of the trays can go into a wave. Raises ``OutOfStep`` by name."""
    if not wanted:
        raise OutOfStep("Choose a tray or more.")
    if len(trays) != len(set(wanted)):
        raise OutOfStep("A tray of these is not here any more. Choose again.")
    if closed := [one.serial for one in trays if one.state == "closed"]:
        raise OutOfStep(f"Closed already: {listed(closed)}. Choose the others.")
    if inside := [one for one in trays if one.wave is not None]:
        names = listed([f"{one.serial} (wave {one.wave.number})" for one in inside if one.wave])
        raise OutOfStep(f"In a wave already: {names}. Choose the others.")


def _held_trays(tray_ids: Sequence[int]) -> list[Tray]:
    """These trays, kept from other writers, always locked in the same order."""
    rows = Tray.objects.select_for_update(of=("self",), no_key=True).filter(pk__in=tray_ids)
    return list(rows.select_related("wave").order_by("pk"))


def _held_wave(wave_id: int) -> Wave:
    wave = Wave.objects.select_for_update().filter(pk=wave_id).first()
    if wave is None:
        raise OutOfStep("This wave is not here any more. Choose another.")
    return wave


def _walk(walk_id: int) -> Walk:
    """The walk, kept from other writers."""
    rows = Walk.objects.select_for_update(of=("self",)).select_related("by")
    walk = rows.filter(pk=walk_id).first()
    if walk is None:
        raise OutOfStep("This walk is not here any more. Choose another.")
    return walk


def _held_walk(walk_id: int, line_ids: Sequence[int] | None = None) -> tuple[Walk, list[TrayLine]]:
    """A walk and lines of it, those named or all, with their trays kept from other writers:
    trays first, as everywhere, then the walk."""
    which = {"walk_id": walk_id} if line_ids is None else {"pk__in": line_ids}
    _held_trays(list(TrayLine.objects.filter(**which).values_list("tray", flat=True)))
    walk = _walk(walk_id)
    rows = TrayLine.objects.filter(**which).select_related("tray", "item", "walk__by")
    return walk, list(rows.order_by("pk"))


def _first_walk(wave: Wave) -> int:
    first = wave.walks.order_by("number").values_list("pk", flat=True).first()
    return first if first is not None else Walk.objects.create(wave=wave, number=1).pk
