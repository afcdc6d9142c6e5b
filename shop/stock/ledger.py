"""Changing what is on the shelf: every change is a movement, and the counts are its sums.

Reserved at release, deducted once when the tray is closed. A lot that is held is neither
reserved nor promised nor picked from until it is given free. Nobody else writes stock.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from shop.catalogue import book
from shop.craft.code import Kind, mint
from shop.craft.finding import Finding
from shop.craft.fit import receiving
from shop.craft.hardware import Article, Family
from shop.stock.lots import held_words
from shop.stock.models import Bin, Lot, LotCheck, LotHold, Movement, Tray, TrayLine

WORDS: Final = 200  # what a reason may be long
MOVED: Final = 120  # and that of one movement
NO_BIN: Final = "no bin"  # where an item lies that never had one
MOST_MM: Final = 10_000  # what a row can keep of a value, and longer than any part


class OutOfStep(Exception):
    """The stock is not in a state for this; the message says what is so and what to do."""


@dataclass(frozen=True, slots=True)
class Ask:
    """One line a tray is to hold."""

    item_id: int
    quantity: int


@dataclass(frozen=True, slots=True)
class PutIn:
    """What the clerk put in for one line. ``item_id`` None: the bin was short."""

    line_id: int
    item_id: int | None
    left_counted: int | None = None
    right_counted: int | None = None


def receive(
    item_id: int,
    bin_code: str,
    lot: str,
    quantity: int,
    on: date,
    at: datetime,
    least: int = 0,
    best_before: date | None = None,
) -> int:
    """Put received items into a bin. Returns the lot's id."""
    with transaction.atomic():
        place, _ = Bin.objects.get_or_create(code=bin_code)
        first = {"received_on": on, "least": least, "best_before": best_before}
        row, _ = Lot.objects.get_or_create(item_id=item_id, bin=place, code=lot, defaults=first)
        _move(row, "received", on_hand=quantity, reserved=0, at=at)
    return row.pk


def promise(lot_id: int, quantity: int, at: datetime, why: str) -> None:
    """Reserve items for orders that have no tray yet. Raises ``OutOfStep`` of a held lot."""
    with transaction.atomic():
        lot = Lot.objects.select_for_update().get(pk=lot_id)
        if lot.held:
            raise OutOfStep(f"{held_words(lot.code, lot.held)} Promise from another lot.")
        _move(lot, "reserved", on_hand=0, reserved=quantity, at=at, why=why)


def measure(
    lot_id: int,
    values: Sequence[tuple[str, Decimal]],
    by: int,
    at: datetime,
    after: int | None = None,
) -> tuple[Finding, ...]:
    """Keep what was measured on pieces of a lot, as pairs of dimension and millimetres.

    A piece out of its declared size holds the whole lot; the findings say which and by how
    much. ``after`` is the last check the asker knew of: the same values by the same person
    since then are the same tap come twice, and are kept once.
    Raises ``OutOfStep``, and keeps nothing, where a value cannot be kept.
    """
    if not values:
        raise OutOfStep("Nothing is measured yet. Write down at least one piece.")
    with transaction.atomic():
        lot = _lot(lot_id)
        article = _article(lot)
        taken = [(dimension, _kept(article, dimension, value)) for dimension, value in values]
        against = [receiving.out_of_size(article, *one) for one in taken]
        findings = tuple(finding for found in against for finding in found)
        if after is None or not _same_since(lot, after, by, taken):
            LotCheck.objects.bulk_create(
                LotCheck(
                    lot=lot, dimension=dimension, value_mm=value, inside=not found, by_id=by, at=at
                )
                for (dimension, value), found in zip(taken, against, strict=True)
            )
            if findings:
                _hold(lot, _out_words(findings), by, at)
    return findings


def quarantine(item_id: int, quantity: int, lot_name: str, why: str, by: int, at: datetime) -> int:
    """Take back what came off an instrument: a lot of its own in the item's bin, held until
    the lead has looked and gives it free. Returns the lot's id."""
    with transaction.atomic():
        last = Lot.objects.filter(item_id=item_id).order_by("-received_on", "-id").first()
        place = last.bin if last else Bin.objects.get_or_create(code=NO_BIN)[0]
        today = timezone.localtime(at).date()
        row, _ = Lot.objects.get_or_create(
            item_id=item_id, bin=place, code=lot_name, defaults={"received_on": today}
        )
        _move(row, "received", on_hand=quantity, reserved=0, at=at, by=by, why=why[:MOVED])
        _hold(row, why[:WORDS], by, at)
    return row.pk


def hold(lot_id: int, why: str, by: int, at: datetime) -> None:
    """Hold a whole lot, whatever of it is reserved.

    Raises ``OutOfStep`` without a reason, or when it is held already.
    """
    with transaction.atomic():
        lot = _lot(lot_id)
        if lot.held:
            raise OutOfStep(f"{held_words(lot.code, lot.held)} Nothing more to do.")
        _hold(lot, _reason(why, "it is held"), by, at)


def free(lot_id: int, why: str, by: int, at: datetime) -> None:
    """Give a held lot free again: it is reserved and picked from as before.

    Raises ``OutOfStep`` without a reason, or when it is not held.
    """
    with transaction.atomic():
        lot = _lot(lot_id)
        if not lot.held:
            raise OutOfStep(f"Lot {lot.code} is free already. Nothing more to do.")
        reason = _reason(why, "it is free again")
        LotHold.objects.create(lot=lot, held=False, why=reason, by_id=by, at=at)
        lot.held = ""
        lot.save(update_fields=["held"])


def keep_until(lot_id: int, best_before: date, today: date) -> None:
    """Note the date printed on the batteries of a lot.

    Raises ``OutOfStep`` when it holds no batteries, or the date is past.
    """
    with transaction.atomic():
        lot = _lot(lot_id)
        article = _article(lot)
        if article.family is not Family.BATTERY:
            raise OutOfStep(f"{article.key} {article.name} is no battery: it needs no date.")
        if best_before < today:
            raise OutOfStep(
                f"{best_before.isoformat()} is past. Read the date again, or hold the lot."
            )
        lot.best_before = best_before
        lot.save(update_fields=["best_before"])


def _lot(lot_id: int) -> Lot:
    """The lot, kept from other writers until this one is done."""
    lot = Lot.objects.select_for_update().filter(pk=lot_id).first()
    if lot is None:
        raise OutOfStep("This lot is not here. Choose one of the list.")
    return lot


def _article(lot: Lot) -> Article:
    return book.articles([lot.item_id])[lot.item_id]


def _kept(article: Article, dimension: str, value: Decimal) -> Decimal:
    """The value as a row keeps it. Raises ``OutOfStep`` where there is nothing so to measure."""
    try:
        receiving.measure(article, dimension)
    except ValueError as why:
        raise OutOfStep(f"{why} Choose one of the list.") from why
    kept = value.quantize(receiving.KEPT_MM) if value < MOST_MM else value
    if not 0 < kept < MOST_MM:
        raise OutOfStep(f"{value} mm cannot be. Measure again.")
    return kept


def _same_since(lot: Lot, after: int, by: int, taken: list[tuple[str, Decimal]]) -> bool:
    since = LotCheck.objects.filter(lot=lot, pk__gt=after, by_id=by)
    return list(since.values_list("dimension", "value_mm")) == taken


def _hold(lot: Lot, why: str, by: int, at: datetime) -> None:
    LotHold.objects.create(lot=lot, held=True, why=why, by_id=by, at=at)
    lot.held = why
    lot.save(update_fields=["held"])


def _out_words(findings: Sequence[Finding]) -> str:
    """Why the lot is held: the first piece in words, and how many more were out."""
    more = f" {len(findings) - 1} more out." if len(findings) > 1 else ""
    return findings[0].words[: WORDS - len(more)] + more


def _reason(why: str, what: str) -> str:
    reason = " ".join(why.split())
    if not reason:
        raise OutOfStep(f"Say why {what}.")
    if len(reason) > WORDS:
        raise OutOfStep(f"{len(reason)} characters. Say it in {WORDS}.")
    return reason


def ask_tray(
    serial: str,
    revision_id: int,
    wanted_on: date,
    asks: Sequence[Ask],
    by: int | None,
    at: datetime,
) -> Tray:
    """A tray for one instrument; reserves what is free. What is not free stays visible as short."""
    with transaction.atomic():
        tray = Tray.objects.create(
            code=_fresh_code(), serial=serial, revision_id=revision_id, wanted_on=wanted_on
        )
        for ask in asks:
            lot = _lot_that_covers(ask.item_id, ask.quantity)
            TrayLine.objects.create(
                tray=tray,
                item_id=ask.item_id,
                quantity=ask.quantity,
                reserved=ask.quantity if lot else 0,
                reserved_lot=lot,
            )
            if lot:
                _move(lot, "reserved", on_hand=0, reserved=ask.quantity, at=at, tray=tray, by=by)
    return tray


def put_in(tray_id: int, picks: Sequence[PutIn]) -> Tray:
    """Note what the clerk put into the tray, or could not. Stock moves at close, not here.

    Raises ``OutOfStep`` when the tray is closed or a line is not its own.
    """
    with transaction.atomic():
        tray = Tray.objects.select_for_update().get(pk=tray_id)
        if tray.state == "closed":
            raise OutOfStep(f"Tray of {tray.serial} is closed. Nothing goes in or out any more.")
        lines = {line.pk: line for line in tray.lines.select_related("item")}
        for pick in picks:
            if pick.line_id not in lines:
                raise OutOfStep(f"Line {pick.line_id} is not a line of the tray of {tray.serial}.")
            line = lines[pick.line_id]
            line.state = "short" if pick.item_id is None else "taken"
            line.put_in_id = pick.item_id
            line.left_counted, line.right_counted = pick.left_counted, pick.right_counted
            line.lot = None if pick.item_id is None else _lot_for(line, pick.item_id)
            line.save()
        waiting = any(line.state == "open" for line in lines.values())
        tray.state = "asked" if waiting else "picked"
        tray.version = F("version") + 1
        tray.save(update_fields=["state", "version"])
        tray.refresh_from_db()
    return tray


def close_tray(tray_id: int, by: int, at: datetime) -> Tray:
    """Close the tray: what lies in it leaves the shelf, once.

    Raises ``OutOfStep`` when lines are still to pick, it is closed already, or a bin
    holds less than the tray took.
    """
    with transaction.atomic():
        tray = Tray.objects.select_for_update().get(pk=tray_id)
        if tray.state == "closed":
            raise OutOfStep(f"Tray of {tray.serial} is closed already; stock went down then.")
        lines = list(tray.lines.select_related("item", "put_in"))
        if left := [line.item.key for line in lines if line.state == "open"]:
            raise OutOfStep(f"Still to pick: {', '.join(left)}. Take them or mark them short.")
        # All reservations first: a line may have been filled from what another line kept.
        for line in lines:
            _give_back(tray, line, by, at)
        for line in lines:
            _deduct(tray, line, by, at)
        tray.state, tray.closed_at, tray.closed_by_id = "closed", at, by
        tray.version = F("version") + 1
        tray.save(update_fields=["state", "closed_at", "closed_by", "version"])
        tray.refresh_from_db()
    return tray


def give_up_tray(tray_id: int, by: int, at: datetime) -> Tray:
    """Give up a tray whose instrument is not built any more: nothing lies in it, nothing is
    kept for it, and it is closed so. What was picked never left the count of its bin.

    Raises ``OutOfStep`` when it is closed already.
    """
    with transaction.atomic():
        tray = Tray.objects.select_for_update().get(pk=tray_id)
        if tray.state == "closed":
            raise OutOfStep(f"Tray of {tray.serial} is closed already; stock went down then.")
        for line in tray.lines.select_related("item"):
            _give_back(tray, line, by, at)
        nothing: dict[str, None] = dict.fromkeys(("put_in", "lot", "left_counted", "right_counted"))
        tray.lines.update(state="short", **nothing)
        tray.state, tray.closed_at, tray.closed_by_id = "closed", at, by
        tray.version = F("version") + 1
        tray.save(update_fields=["state", "closed_at", "closed_by", "version"])
        tray.refresh_from_db()
    return tray


def rename_tray(tray_id: int, revision_id: int) -> None:
    """The tray counts as picked to another revision, which asks for the same."""
    Tray.objects.filter(pk=tray_id).update(revision_id=revision_id, version=F("version") + 1)


def _give_back(tray: Tray, line: TrayLine, by: int, at: datetime) -> None:
    """Give the line's reservation back."""
    if line.reserved and line.reserved_lot_id:
        lot = Lot.objects.select_for_update().get(pk=line.reserved_lot_id)
        _move(lot, "released", on_hand=0, reserved=-line.reserved, at=at, tray=tray, by=by)
        line.reserved = 0
        line.save(update_fields=["reserved"])


def _deduct(tray: Tray, line: TrayLine, by: int, at: datetime) -> None:
    """Deduct what was really put in."""
    if line.state != "taken":
        return
    if line.lot_id is None:
        raise OutOfStep(
            f"No bin holds {line.quantity} of {line.put_in}. Count the bin, or mark it short."
        )
    lot = Lot.objects.select_for_update().get(pk=line.lot_id)
    if lot.held:
        raise OutOfStep(f"{held_words(lot.code, lot.held)} Take another lot, or mark it short.")
    if lot.on_hand - lot.reserved < line.quantity:
        raise OutOfStep(
            f"{lot}: {lot.on_hand} on hand, {lot.reserved} reserved for others, "
            f"{line.quantity} wanted. Count the bin, or mark the line short."
        )
    _move(lot, "deducted", on_hand=-line.quantity, reserved=0, at=at, tray=tray, by=by)


def _move(
    lot: Lot,
    kind: str,
    *,
    on_hand: int,
    reserved: int,
    at: datetime,
    tray: Tray | None = None,
    by: int | None = None,
    why: str = "",
) -> None:
    Movement.objects.create(
        lot=lot, kind=kind, on_hand=on_hand, reserved=reserved, tray=tray, by_id=by, at=at, why=why
    )
    Lot.objects.filter(pk=lot.pk).update(
        on_hand=F("on_hand") + on_hand, reserved=F("reserved") + reserved
    )
    lot.refresh_from_db(fields=["on_hand", "reserved"])


def _lot_that_covers(item_id: int, quantity: int) -> Lot | None:
    """The oldest lot not held with enough free items: one lot for one instrument."""
    return (
        Lot.objects.select_for_update()
        .filter(item_id=item_id, held="", on_hand__gte=F("reserved") + quantity)
        .order_by("received_on", "id")
        .first()
    )


def _lot_for(line: TrayLine, item_id: int) -> Lot | None:
    own = line.reserved_lot if item_id == line.item_id else None
    if own is not None and not own.held:
        return own
    return _lot_that_covers(item_id, line.quantity)


def _fresh_code() -> str:
    while Tray.objects.filter(code=(code := mint(Kind.TRAY, secrets.randbelow))).exists():
        continue
    return code
