"""One tray, and what lies in it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, Q

from shop.catalogue import book
from shop.craft.hardware import Family, Picked, TrayFacts, Wanted
from shop.stock.answers.lots import held_words
from shop.stock.models import Lot, Movement, Tray, TrayLine

TrayRow = dict[str, Any]
"""One tray with its ``lines``, as plain values: what :func:`tray` answers with."""


def tray(code_or_id: str | int) -> TrayRow | None:
    """The tray with this code or id: its own fields and ``lines`` with what lies in it."""
    which = {"pk": code_or_id} if isinstance(code_or_id, int) else {"code": code_or_id}
    found = (
        Tray.objects.filter(**which)
        .values(
            "id", "code", "serial", "state", "version", "wanted_on", "closed_at", "revision_id",
            "urgent", "asked_at", "slot", "wave_id",
            revision_number=F("revision__number"),
            spec=F("revision__spec__key"),
            closer=F("closed_by__code"),
        )
        .first()
    )  # fmt: skip
    if found is None:
        return None
    row: TrayRow = dict(found)
    row["lines"] = _lines([found["id"]])[found["id"]]
    return row


def _lines(tray_ids: Sequence[int]) -> dict[int, list[dict[str, Any]]]:
    rows: list[dict[str, Any]] = [
        dict(row)
        for row in TrayLine.objects.filter(tray_id__in=tray_ids).values(
            "id", "tray_id", "item_id", "part", "quantity", "used_at", "reserved", "state",
            "put_in_id", "lot_id", "left_counted", "right_counted", "checked_how", "checked_count",
            "checked_at", "second_lot_why", "fitted", "returned", "reserved_lot_id", "walk_id",
            lot_code=F("lot__code"), lot_held=F("lot__held"), best_before=F("lot__best_before"),
            plating=F("lot__plating"),
            checker=F("checked_by__code"), second_lot_by_code=F("second_lot_by__code"),
            bin=F("reserved_lot__bin__code"),
            kept_code=F("reserved_lot__code"), kept_held=F("reserved_lot__held"),
        )
    ]  # fmt: skip
    ids = {row["item_id"] for row in rows} | {row["put_in_id"] for row in rows if row["put_in_id"]}
    articles = book.articles(sorted(ids))
    order = list(Family)
    by_tray: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        row["article"] = articles[row["item_id"]]
        row["put_in"] = articles.get(row["put_in_id"])
        row["held"] = _held_of(row)
        row["to_check"] = (
            row["state"] == "taken"
            and not row["checked_how"]
            and not (row["fitted"] or row["returned"])
        )
        by_tray[row["tray_id"]].append(row)
    for lines in by_tray.values():
        lines.sort(
            key=lambda line: (
                order.index(line["article"].family), line["article"].key, line["part"]
            )
        )  # fmt: skip
    return by_tray


def _held_of(row: dict[str, Any]) -> str:
    """Why a tray's line cannot stay as it is: the lot it comes from is held.

    What was reserved on a held lot is reserved no more, as far as anybody sees.
    """
    code, why = row.pop("kept_code"), row.pop("kept_held")
    lot_held = row.pop("lot_held")
    if row["state"] == "taken":
        return held_words(row["lot_code"], lot_held) if lot_held else ""
    if row["state"] == "short" or not why:
        return ""
    row["reserved"] = 0
    return held_words(code, why)


@dataclass(frozen=True, slots=True)
class Bare:
    """An item that was put in although its lot cannot give that many.

    ``held`` says so where the lot is held; nothing of it is on hand to pick then.
    """

    key: str
    quantity: int
    on_hand: int
    reserved: int
    held: str = ""


def not_covered(tray_id: int) -> list[Bare]:
    """What was put in from a lot that is held or has too few, reservations of others kept.

    Lines filled from one lot are counted together, and so is all the tray keeps there.
    """
    own: Counter[int] = Counter()
    taken: Counter[tuple[str, int | None]] = Counter()
    lots: dict[int, tuple[int, int, str]] = {}
    rows = TrayLine.objects.filter(tray_id=tray_id).values_list(
        "state", "put_in__key", F("quantity") - F("fitted") - F("returned"), "lot_id",
        "lot__on_hand", "lot__reserved", "lot__code", "lot__held", "reserved_lot_id", "reserved",
    )  # fmt: skip
    for state, key, quantity, lot_id, on_hand, reserved, code, why, own_lot_id, kept in rows:
        if own_lot_id is not None:
            own[own_lot_id] += kept
        if state == "taken" and quantity:  # what is fitted comes out of no bin any more
            taken[key, lot_id] += quantity
            if lot_id is not None:
                held = held_words(code, why) if why else ""
                lots[lot_id] = (0, 0, held) if held else (on_hand, reserved, "")
    bare = []
    for (item, lot), quantity in taken.items():
        there, kept_there, held = lots[lot] if lot is not None else (*_fullest(item), "")
        others = kept_there - own[lot] if lot is not None and not held else kept_there
        if lot is None or there - others < quantity:
            bare.append(Bare(item, quantity, there, others, held))
    return bare


def _fullest(key: str) -> tuple[int, int]:
    """On hand and reserved in the item's fullest lot not held; nothing where there is none."""
    lots = Lot.objects.filter(item__key=key, held="", piece="").order_by("-on_hand")
    return lots.values_list("on_hand", "reserved").first() or (0, 0)


def tray_facts(row: TrayRow) -> TrayFacts:
    """A tray of :func:`tray` as the fit rules take it."""
    return TrayFacts(
        code=row["code"],
        serial=row["serial"],
        spec=row["spec"],
        revision=row["revision_number"],
        lines=tuple(
            Picked(
                article=line["put_in"],
                quantity=line["quantity"] - line["returned"],
                left_counted=line["left_counted"],
                right_counted=line["right_counted"],
                lot=line["lot_code"] or "",
                plating=line["plating"] or "",
                best_before=line["best_before"],
            )
            for line in row["lines"]
            if line["put_in"] and line["quantity"] > line["returned"]
        ),
        missing=tuple(
            Wanted(
                key=line["article"].key,
                name=line["article"].name,
                family=line["article"].family,
                quantity=line["quantity"],
            )
            for line in row["lines"]
            if line["state"] == "short"
        ),
    )


def trays(wanted_by: date) -> list[TrayRow]:
    """Trays not closed yet and wanted by that day, with their lines."""
    wanted = Tray.objects.exclude(state="closed").filter(wanted_on__lte=wanted_by)
    rows: list[TrayRow] = [
        dict(row)
        for row in wanted.order_by("wanted_on", "serial").values(
            "id",
            "code",
            "serial",
            "state",
            "wanted_on",
            "urgent",
            "asked_at",
            "slot",
            "wave_id",
            spec=F("revision__spec__key"),
        )
    ]
    lines = _lines([row["id"] for row in rows])
    for row in rows:
        row["lines"] = lines[row["id"]]
    return rows


def kept_for(tray_id: int) -> list[int]:
    """The lines of a tray that something is kept for and that do not have it yet."""
    rows = TrayLine.objects.filter(tray_id=tray_id, reserved__gt=0).exclude(state="taken")
    return list(rows.order_by("id").values_list("pk", flat=True))


def missing_at(tray_id: int, operation: str | None) -> list[str]:
    """The keys of what this operation is to fit and the tray does not hold; ``None``: any. What
    was drawn for the repair in the place of a part is on the guitar, whatever its tray lacks.

    In a tray that is open nothing is sure to lie yet but what is fitted already.
    """
    lines = TrayLine.objects.filter(tray_id=tray_id).exclude(used_at="")
    if operation is not None:
        lines = lines.filter(used_at=operation)
    there = Q(state="taken") & (Q(tray__state="closed") | Q(fitted__gt=0))
    wanted = lines.exclude(there).order_by("item__key")
    bare = list(wanted.values_list("item_id", "item__key", "quantity", "tray__serial"))
    instead = drawn(bare[0][3]) if bare else {}
    left = []
    for item_id, key, quantity, _ in bare:
        pieces = instead.get(item_id, ())
        if len(pieces) < quantity:
            left.append(key)
        instead[item_id] = pieces[quantity:]
    return left


@dataclass(frozen=True, slots=True)
class Drawn:
    """A whole piece of a lot that was drawn for an instrument's repair."""

    lot: str
    plating: str


def drawn(serial: str) -> dict[int, tuple[Drawn, ...]]:
    """What was drawn whole for an instrument, by item, piece by piece in its order."""
    rows = Movement.objects.filter(serial=serial, kind="drawn", lot__piece="").order_by("id")
    found: dict[int, tuple[Drawn, ...]] = {}
    for item_id, code, plating, moved in rows.values_list(
        "lot__item_id", "lot__code", "lot__plating", "on_hand"
    ):
        pieces = (Drawn(code, plating),) * -moved
        found[item_id] = (*found.get(item_id, ()), *pieces)
    return found
