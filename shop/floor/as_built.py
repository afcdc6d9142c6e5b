"""The as-built record: what an instrument was when it was released, in words that last.

It is put together once, as the operation that freezes it is recorded, and kept with that
row of the journal. Whoever reads it in ten years needs nothing of today's catalogue: it names
things by what they were called then, and moments by the shop's clock with its offset from UTC.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final

from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft import gauging, looks, zones
from shop.craft.gauging import QUANTITIES
from shop.craft.hardware import Article
from shop.craft.reading import Reading
from shop.craft.route import Done
from shop.craft.size import Size
from shop.craft.words import THIN, mm
from shop.floor.models import AsBuilt, Defect, Entry, Pair, Permit, Rework, Step
from shop.floor.state import State, air_since
from shop.stock import shelf

FORM: Final = 3
"""The form records are put together in now. A record keeps the form it was made in."""

Record = dict[str, Any]


def record_of(now: State, at: datetime) -> Record:
    """The record of an instrument as it is released ``at`` this moment, as plain data.

    ``now`` has the releasing step done already; its row in the journal is still to come, so
    the record names the last one before it, by its number and its link.
    """
    spec = now.sheet.spec
    return {
        "form": FORM,
        "serial": now.serial,
        "neck": now.neck or "",
        "paired": _paired(now),
        "spec": spec.key,
        "revision": spec.revision,
        "build": [list(pair) for pair in _build(now)],
        "order": now.order,
        "due": now.due_on.isoformat(),
        "destination": now.destination,
        "released": moment(at),
        "released_by": list(max(now.done, key=lambda one: one.seq).hands),
        "kit": _kit(now),
        "deviations": [
            [f"{one.words}{_swap(one.out_key, one.into)}", one.approved] for one in now.departures
        ],
        "operations": list(_operations(now)),
        "measures": _measures(now),
        "room": _room(now, at),
        "hold": _hold(now, at),
        "defects": list(_defects(now)),
        "reworks": list(_reworks(now, at)),
        "permits": [
            {"wood": wood, "number": number, "by": by, "at": moment(noted)}
            for wood, number, by, noted in Permit.objects.filter(instrument_id=now.id).values_list(
                "wood", "number", "by__code", "at"
            )
        ],
        "inspections": _inspections(now),
        "journal": {"rows": now.seq, "link": now.link},
    }


def kept(instrument_id: int) -> Record | None:
    """The record that was frozen with the release; ``None`` where there was none yet."""
    found = AsBuilt.objects.filter(instrument_id=instrument_id).values_list("record", flat=True)
    record: Record | None = found.first()
    return record


def moment(one: datetime) -> str:
    """By the shop's clock, with its offset: the same for ever, whatever zone is set then."""
    return localtime(one).isoformat(timespec="minutes")


def _paired(now: State) -> str:
    open_pair = Pair.objects.filter(instrument_id=now.id, ended_at__isnull=True)
    made_at = open_pair.values_list("made_at", flat=True).first()
    return moment(made_at) if made_at else ""


def _build(now: State) -> Iterator[tuple[str, str]]:
    """The facts of the build that somebody asks for years later."""
    spec = now.sheet.spec
    yield "Scale", mm(spec.scale_mm)
    yield "Strings", f"{spec.strings}, {spec.string_material}"
    yield "Hand", spec.hand.words
    yield "Joint", now.sheet.joint
    yield "Body joins at fret", str(spec.body_joint_fret)
    yield "Finish", now.sheet.finish
    if now.coated_on:
        yield "Last coat", now.coated_on.isoformat()
    if spec.electronics:
        yield "Electronics", f"with {spec.electronics} battery"
    for wood in spec.woods:
        yield "Wood", f"{wood.name} ({wood.botanical})"


def _swap(out_key: str | None, into: Article | None) -> str:
    return f": {into.key} in place of {out_key}" if out_key and into else ""


def _kit(now: State) -> list[Record]:
    """Each line of the kit as it was fitted: out of the tray with its lot, or by batch. What
    came back out of the tray is not on the instrument."""
    tray = shelf.tray(now.tray_id)
    lines = [
        {
            "key": article.key,
            "name": _named(article),
            "quantity": quantity,
            "lot": _lot(row),
            "best_before": _day(row["best_before"]),
            "instead_of": "" if article.key == row["article"].key else row["article"].key,
        }
        for row in (tray["lines"] if tray else ())
        if (article := row["put_in"]) and (quantity := row["quantity"] - row["returned"])
    ]
    lots = shelf.batch_lots(now.serial)
    batch = [
        {
            "key": line.article.key,
            "name": _named(line.article),
            "quantity": line.quantity,
            "lot": lots.get(line.item_id, ""),
            "best_before": "",
            "instead_of": "",
        }
        for line in now.kit
        if not line.in_tray
    ]
    return [*lines, *batch, *_drawn(now)]


def _drawn(now: State) -> list[Record]:
    """What was drawn for its repair, in the place of a part that came off."""
    found = shelf.drawn(now.serial)
    articles = book.articles(list(found)) if found else {}
    return [
        {
            "key": articles[item_id].key,
            "name": _named(articles[item_id]),
            "quantity": 1,
            "lot": _lot({"lot_code": one.lot, "plating": one.plating}),
            "best_before": "",
            "instead_of": "",
        }
        for item_id, pieces in found.items()
        for one in pieces
    ]


def _lot(row: dict[str, Any]) -> str:
    """The lot that was really put on, and the bath it was plated in where that is another."""
    lot, plating = row["lot_code"] or "", row["plating"] or ""
    return f"{lot}, plating lot {plating}" if plating and plating != lot else lot


def _named(article: Article) -> str:
    return f"{article.name}, {article.metal.value}" if article.metal else article.name


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""


def _operations(now: State) -> Iterator[Record]:
    """Every operation done, in shop order: by whom, when, and what became of a doubt."""
    steps = Step.objects.filter(instrument_id=now.id)
    times = Counter(steps.values_list("operation__code", flat=True))
    late = dict(steps.exclude(claimed_at=None).values_list("seq", "claimed_at"))
    sure = _made_sure(now)
    for one in _in_shop_order(now):
        sheet = now.sheet.stop(one.operation)
        claimed = late.get(one.seq)
        yield {
            "code": one.operation,
            "name": sheet.facts.name if sheet else "",
            "by": one.by,
            "others": list(one.others),
            "at": moment(one.at),
            "claimed": moment(claimed) if claimed else "",
            # The releasing step itself has no row among the steps yet.
            "times": max(times[one.operation], 1),
            "made_sure": sure.get(one.seq, ""),
        }


def _in_shop_order(now: State) -> list[Done]:
    """The steps done; what is on its route no more comes last."""
    places = {one.code: place for place, one in enumerate(now.sheet.stops)}
    return sorted(now.done, key=lambda one: places.get(one.operation, len(places)))


def _made_sure(now: State) -> dict[int, str]:
    """By the row of a step that was in doubt: who confirmed it, when, and why."""
    rows = Entry.objects.filter(instrument_id=now.id, kind="confirm", outcome="recorded")
    columns = ("data", "who", "beside", "at", "reason")
    return {
        said["seq"]: f"{who}{f' with {beside}' if beside else ''}, {moment(at)[:10]}: {reason}"
        for said, who, beside, at, reason in rows.order_by("seq").values_list(*columns)
    }


def _measures(now: State) -> list[Record]:
    """The values in force, a quantity each with its places; beside those of a second look what
    the first one had measured there; and what the spec asks of the set-up."""
    spec = now.sheet.spec
    found: list[Record] = [
        {"name": words, "asked": value, "values": [], "first": []}
        for words, value in now.sheet.targets
    ]
    first = _first_look(now)
    for key in dict.fromkeys(one.quantity for one in now.readings.values):
        quantity = QUANTITIES[key]
        places = {one.key: one.words for one in quantity.places(spec)}
        taken = now.readings.of(key)
        before = [it for one in taken if (it := first.get((key, one.place)))]
        values, earlier = (
            [[places.get(one.place, one.place), gauging.said(one)] for one in them]
            for them in (taken, before)
        )
        found.append({"name": quantity.words, "asked": "", "values": values, "first": earlier})
    return found


def _first_look(now: State) -> dict[gauging.Spot, Reading]:
    """By its place, what the first look measured last where a value of the second is in force.
    One statement, and that only after a second look."""
    pairs = looks.pairs(now.sheet.route)
    firsts = {first.code for first, _second in pairs}
    seconds = {second.code for _first, second in pairs}
    again = {(one.quantity, one.place) for one in now.readings.values if one.operation in seconds}
    if not again:
        return {}
    rows = Entry.objects.filter(instrument_id=now.id, kind="readings", outcome="recorded")
    found: dict[gauging.Spot, Reading] = {}
    for said in rows.order_by("-seq").values_list("data", flat=True):
        if said["operation"] not in firsts:
            continue
        for quantity, place, value in said.get("values", ()):
            if (quantity, place) in again:
                found.setdefault((quantity, place), Reading(quantity, place, Decimal(value)))
    return found


def _room(now: State, at: datetime) -> Record:
    """How dry and how warm the room was from its casing to its release."""
    cased = now.cased_at
    air = [one for one in air_since(cased) if one.at <= at] if cased else []
    if not air:
        return {}
    damp, warm = [one.rh_pct for one in air], [one.temp_c for one in air]
    return {
        "readings": len(air),
        "humidity": f"{Size(min(damp), max(damp))}{THIN}%RH",
        "temperature": f"{Size(min(warm), max(warm))}{THIN}°C",
    }


def _hold(now: State, at: datetime) -> Record:
    held = now.held(localtime(at), moment)
    if held is None or now.cased_at is None:
        return {}
    return {
        "cased": moment(now.cased_at),
        "started": moment(held.started),
        "ready": moment(held.ready) if held.ready else "",
        "paused_min": round(held.paused / timedelta(minutes=1)),
        "because": list(held.because),
    }


def _defects(now: State) -> Iterator[Record]:
    """What was noted at its looks, and what became of each; a report that sent it on a loop at
    once is told with its loop."""
    rows = Defect.objects.real().filter(instrument_id=now.id, grade__gt=0).order_by("number")
    for one in rows.select_related("found_by", "decided_by", "rework"):
        yield {
            "word": one.word,
            "grade": one.grade,
            "place": zones.PLACES.get(one.zone, ""),
            "words": one.words,
            "found_at": one.found_at,
            "by": one.found_by.code,
            "at": moment(one.at),
            "became": one.disposition,
            "decided": moment(one.decided_at) if one.decided_at else "",
            "decided_by": [
                code for code in (one.decided_by and one.decided_by.code, one.second) if code
            ],
            "reason": one.reason,
            "loop": one.rework.loop if one.rework else "",
        }


def _reworks(now: State, at: datetime) -> Iterator[Record]:
    loop = now.rework
    # What this very step closes is closed by its row, which is still to come.
    closes = loop is not None and loop.stage == "redo" and set(loop.redo) <= now.done_codes
    for one in Rework.objects.filter(instrument_id=now.id):
        closed_at = one.closed_at or (at if closes else None)
        yield {
            "loop": one.loop,
            "word": one.word,
            "words": one.words,
            "found_at": one.found_at,
            "opened": moment(one.opened_at),
            "repaired": moment(one.repaired_at) if one.repaired_at else "",
            "repaired_by": one.repaired_by,
            "closed": moment(closed_at) if closed_at else "",
        }


def _inspections(now: State) -> list[Record]:
    """Both looks, with everybody who had a hand in them."""
    codes = [one.code for pair in looks.pairs(now.sheet.route) for one in pair]
    names = {one.code: one.facts.name for one in now.sheet.stops}
    return [
        {"code": one.operation, "name": names[one.operation], "by": list(one.hands),
         "at": moment(one.at)}
        for one in now.done
        if one.operation in codes
    ]  # fmt: skip
