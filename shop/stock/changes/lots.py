"""Lots come in, are measured, held and given free."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from django.db import transaction
from django.utils import timezone

from shop.catalogue import book
from shop.craft.apart import is_apart
from shop.craft.boxes import open_words, to_open
from shop.craft.finding import Finding
from shop.craft.fit import receiving
from shop.craft.hardware import Article, Family
from shop.stock.answers.lots import TO_MEASURE, held_words, to_measure
from shop.stock.changes.balance import MOVED, WORDS, OutOfStep, held_lot, move, reason
from shop.stock.models import Bin, Lot, LotCheck, LotHold, TrayLine

NO_BIN: Final = "no bin"  # where an item lies that never had one
CODE: Final = 20  # letters of a lot's code
MOST_MM: Final = 10_000  # what a row can keep of a value, and longer than any part


def receive(
    item_id: int,
    bin_code: str,
    lot: str,
    quantity: int,
    on: date,
    at: datetime,
    best_before: date | None = None,
    plating: str = "",
    by: int | None = None,
    why: str = "",
) -> int:
    """Put received items into a bin. Returns the lot's id."""
    with transaction.atomic():
        place, _ = Bin.objects.get_or_create(code=bin_code)
        first = {"received_on": on, "best_before": best_before, "plating": plating}
        row, _ = Lot.objects.get_or_create(
            item_id=item_id, bin=place, code=lot, piece="", defaults=first
        )
        move(held_lot(row.pk), "received", on_hand=quantity, at=at, by=by, why=why)
    return row.pk


def promise(lot_id: int, quantity: int, at: datetime, why: str) -> None:
    """Reserve items for orders that have no tray yet. Raises ``OutOfStep`` of a held lot."""
    with transaction.atomic():
        lot = held_lot(lot_id)
        if lot.held:
            raise OutOfStep(f"{held_words(lot.code, lot.held)} Promise from another lot.")
        move(lot, "reserved", reserved=quantity, at=at, why=why)


def measure(
    lot_id: int,
    values: Sequence[tuple[str, Decimal]],
    by: int,
    at: datetime,
    after: int | None = None,
) -> tuple[Finding, ...]:
    """Keep what was measured on pieces of a lot, as pairs of dimension and millimetres.

    A piece out of its declared size holds the whole lot; the findings say which and by how
    much. A lot held to be measured is free once enough pieces were measured inside.
    ``after`` is the last check the asker knew of: the same values by the same person
    since then are the same tap come twice, and are kept once.
    Raises ``OutOfStep``, and keeps nothing, where a value cannot be kept.
    """
    if not values:
        raise OutOfStep("Nothing is measured yet. Write down at least one piece.")
    with transaction.atomic():
        lot = held_lot(lot_id)
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
                hold_lot(lot, _out_words(findings), by, at)
            else:
                _free_if_measured(lot, article, by, at)
    return findings


def quarantine(
    item_id: int,
    quantity: int,
    lot_name: str,
    why: str,
    by: int,
    at: datetime,
    serial: str = "",
    piece: str = "",
    plating: str = "",
    line: TrayLine | None = None,
) -> int:
    """Set apart what came off an instrument or was found: a lot of its own in the item's bin,
    held until somebody has looked at it. Returns the lot's id."""
    with transaction.atomic():
        last = Lot.objects.filter(item_id=item_id, piece="").order_by("-received_on", "-id").first()
        place = last.bin if last else Bin.objects.get_or_create(code=NO_BIN)[0]
        first = {"received_on": timezone.localdate(at), "plating": plating}
        row, _ = Lot.objects.get_or_create(
            item_id=item_id, bin=place, code=lot_name, piece=piece, defaults=first
        )
        lot, tray = held_lot(row.pk), line.tray if line else None
        move(
            lot, "received", on_hand=quantity, at=at, tray=tray, line=line, serial=serial, by=by,
            why=why[:MOVED],
        )  # fmt: skip
        hold_lot(lot, why[:WORDS], by, at)
    return row.pk


def hold(lot_id: int, why: str, by: int, at: datetime) -> None:
    """Hold a whole lot, whatever of it is reserved.

    Raises ``OutOfStep`` without a reason, or when it is held already.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        if lot.held:
            raise OutOfStep(f"{held_words(lot.code, lot.held)} Nothing more to do.")
        hold_lot(lot, reason(why, "it is held"), by, at)


def free(lot_id: int, why: str, by: int, at: datetime) -> None:
    """Give a held lot free again: it is reserved and picked from as before.

    Raises ``OutOfStep`` without a reason, or when it is not held.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        if not lot.held:
            raise OutOfStep(f"Lot {lot.code} is free already. Nothing more to do.")
        told = reason(why, "it is free again")
        LotHold.objects.create(lot=lot, held=False, why=told, by_id=by, at=at)
        lot.held = ""
        lot.save(update_fields=["held"])


def keep_until(lot_id: int, best_before: date, today: date) -> None:
    """Note the date printed on the batteries of a lot.

    Raises ``OutOfStep`` when it holds no batteries, or the date is past.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        article = _article(lot)
        if article.family is not Family.BATTERY:
            raise OutOfStep(f"{article.key} {article.name} is no battery: it needs no date.")
        if best_before < today:
            raise OutOfStep(
                f"{best_before.isoformat()} is past. Read the date again, or hold the lot."
            )
        lot.best_before = best_before
        lot.save(update_fields=["best_before"])


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


def hold_lot(lot: Lot, why: str, by: int, at: datetime) -> None:
    LotHold.objects.create(lot=lot, held=True, why=why, by_id=by, at=at)
    lot.held = why
    lot.save(update_fields=["held"])


def hold_to_measure(lot: Lot, came: int, by: int, at: datetime) -> None:
    """So many came in: the lot is held until one box in ten was measured inside its size. What
    it is held for otherwise stays, and what was still to be measured is measured too."""
    if lot.held and (before := to_measure(lot)):
        lot.held = f"{TO_MEASURE}, {open_words(before.came)}"
        lot.save(update_fields=["held"])
    elif not lot.held:
        hold_lot(lot, f"{TO_MEASURE}, {open_words(came)}", by, at)


def _free_if_measured(lot: Lot, article: Article, by: int, at: datetime) -> None:
    asked = to_measure(lot)
    if asked is None:
        return
    if asked.left([one.dimension for one in receiving.measures(article)]):
        return
    opened = f"Measured inside: {to_open(asked.came)} of {asked.came}"
    LotHold.objects.create(lot=lot, held=False, why=opened, by_id=by, at=at)
    lot.held = ""
    lot.save(update_fields=["held"])


def code_of(told: str) -> str:
    """A lot's code as it is kept: in capitals, one space at most between its words. Raises
    ``OutOfStep`` where it is too long, or is a name for what is set apart."""
    code = " ".join(told.split()).upper()
    if len(code) > CODE:
        raise OutOfStep(f"{code} has {len(code)} letters. A lot has {CODE} at most.")
    if is_apart(code):
        raise OutOfStep(f"{code} is a name for what is set apart. Say the maker's lot.")
    return code


def _out_words(findings: Sequence[Finding]) -> str:
    """Why the lot is held: the first piece in words, and how many more were out."""
    more = f" {len(findings) - 1} more out." if len(findings) > 1 else ""
    return findings[0].words[: WORDS - len(more)] + more
