"""Does the ledger hold? Every lot held against its movements, and against the trays.

Lots, movements and the lines of trays are read side by side, lot by lot in the order of their
ids, so that no more than one lot is remembered at a time, however many movements there are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, Final, NamedTuple

from django.db import connection, transaction
from django.db.models import F, QuerySet

from shop.stock.models import Lot, Movement, Tray, TrayLine

PAGE: Final = 2000  # rows


class Counts(NamedTuple):
    """What lies in its bin, what of it is kept for trays, and what is out in trays."""

    on_hand: int
    reserved: int
    out: int

    def and_(self, more: Counts) -> Counts:
        return Counts(*(one + other for one, other in zip(self, more, strict=True)))

    @property
    def words(self) -> str:
        return f"{self.on_hand} on hand, {self.reserved} reserved, {self.out} out"


NONE: Final = Counts(0, 0, 0)


@dataclass(frozen=True, slots=True)
class Proved:
    """What was looked at. ``promised``: pieces kept for orders that have no tray yet.
    ``wrong`` counts what was said on the way."""

    lots: int
    movements: int
    lines: int
    promised: int
    wrong: int


def prove(
    say: Callable[[str], None], on_the_way: Callable[[int], None] = lambda movements: None
) -> Proved:
    """Go over the whole ledger and ``say`` each thing that does not add up.

    Of every lot: each movement goes on from the one before it; on hand, reserved and out are
    their sums; what is reserved is what lines of open trays keep, and promises; what is out
    is what closed trays hold and nobody fitted yet. ``on_the_way`` hears after each page how
    many movements were read.
    """
    with _at_one_moment():
        return _Going(say, on_the_way).over()


@contextmanager
def _at_one_moment() -> Iterator[None]:
    """All that is read inside was so at one moment. Nobody who writes meanwhile has to wait."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
    else:
        # Not by Django: its transactions stand in the line of writers.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")


class _ByLot:
    """Rows that begin with a lot's id, in its order: those of one lot after another."""

    def __init__(self, rows: QuerySet[Any, Any]) -> None:
        self._groups = groupby(rows.iterator(PAGE), key=lambda row: row[0])
        self._next = next(self._groups, None)

    def of(self, lot_id: int) -> Iterator[Any]:
        """The rows of this lot. Lots are asked for in the order of their ids."""
        if self._next is not None and self._next[0] == lot_id:
            yield from self._next[1]
            self._next = next(self._groups, None)


@dataclass
class _InTray:
    """What one tray has of a lot, by the movements and by its own lines."""

    moved: Counts = NONE
    kept: int = 0
    held: int = 0


@dataclass
class _Going:
    say: Callable[[str], None]
    on_the_way: Callable[[int], None]
    lots: int = 0
    movements: int = 0
    lines: int = 0
    promised: int = 0
    wrong: int = 0
    _serials: dict[int, str] = field(default_factory=dict)

    def over(self) -> Proved:
        moved = _ByLot(
            Movement.objects.order_by("lot_id", "id").values_list(
                "lot_id", "id", "tray_id", "on_hand", "reserved", "out",
                "on_hand_after", "reserved_after", "out_after",
            )
        )  # fmt: skip
        kept = _ByLot(
            TrayLine.objects.filter(reserved__gt=0, reserved_lot__isnull=False)
            .order_by("reserved_lot_id")
            .values_list("reserved_lot_id", "tray_id", "tray__state", "state", "reserved")
        )
        held = _ByLot(
            TrayLine.objects.filter(
                state="taken",
                lot__isnull=False,
                tray__state="closed",
                quantity__gt=F("fitted") + F("returned"),
            )
            .order_by("lot_id")
            .annotate(rest=F("quantity") - F("fitted") - F("returned"))
            .values_list("lot_id", "tray_id", "rest")
        )
        lots = Lot.objects.select_related("item", "bin").order_by("pk")
        for lot in lots.iterator(PAGE):
            self.lots += 1
            self._lot(lot, moved.of(lot.pk), kept.of(lot.pk), held.of(lot.pk))
        nowhere = TrayLine.objects.filter(reserved__gt=0, reserved_lot__isnull=True)
        for line in nowhere.select_related("tray", "item"):
            self._wrong(f"{line.item.key} for {line.tray.serial}: {line.reserved} of no lot kept.")
        return Proved(self.lots, self.movements, self.lines, self.promised, self.wrong)

    def _lot(
        self, lot: Lot, moved: Iterator[Any], kept: Iterator[Any], held: Iterator[Any]
    ) -> None:
        trays: dict[int | None, _InTray] = defaultdict(_InTray)
        sums, after = NONE, NONE
        for _, number, tray_id, *numbers in moved:
            change, then = Counts(*numbers[:3]), Counts(*numbers[3:])
            # Judged after what the one before it left: one altered is one fault, not all of them.
            if after.and_(change) != then:
                self._wrong(
                    f"{lot}: movement {number} leaves {then.words}; "
                    f"after the one before it, it is {after.and_(change).words}."
                )
            sums, after = sums.and_(change), then
            of = trays[tray_id]
            of.moved = of.moved.and_(change)
            self._read()
        counts = Counts(lot.on_hand, lot.reserved, lot.out)
        if counts != sums:
            self._wrong(f"{lot}: {counts.words}; the movements come to {sums.words}.")
        for _, tray_id, state, of_line, pieces in kept:
            self.lines += 1
            trays[tray_id].kept += pieces
            # For a line that was short, what is kept follows once the tray is opened again.
            if state == "closed" and of_line != "short":
                serial = self._serial(tray_id)
                self._wrong(f"{lot}: the tray of {serial} is closed and keeps {pieces} still.")
        for _, tray_id, pieces in held:
            self.lines += 1
            trays[tray_id].held += pieces
        self._trays(lot, trays)

    def _trays(self, lot: Lot, trays: dict[int | None, _InTray]) -> None:
        """What each tray has of the lot is what the movements gave it."""
        alone = trays.pop(None, _InTray())
        self.promised += alone.moved.reserved
        if alone.moved.reserved < 0:
            self._wrong(f"{lot}: {-alone.moved.reserved} more given back than was promised.")
        for tray_id, one in trays.items():
            if one.moved.reserved != one.kept:
                self._wrong(
                    f"{lot}: the tray of {self._serial(tray_id)} keeps {one.kept}; "
                    f"the movements reserved {one.moved.reserved} for it."
                )
            if one.moved.out != one.held:
                self._wrong(
                    f"{lot}: the tray of {self._serial(tray_id)} holds {one.held} not fitted; "
                    f"by the movements {one.moved.out} are out in it."
                )
        if alone.moved.out:
            self._wrong(f"{lot}: {alone.moved.out} out, and in no tray.")

    def _serial(self, tray_id: int | None) -> str:
        """Whose tray it is, asked for once something is wrong with it."""
        if tray_id is None:
            return "nobody"
        if tray_id not in self._serials:
            self._serials[tray_id] = Tray.objects.values_list("serial", flat=True).get(pk=tray_id)
        return self._serials[tray_id]

    def _wrong(self, words: str) -> None:
        self.wrong += 1
        self.say(words)

    def _read(self) -> None:
        self.movements += 1
        if self.movements % PAGE == 0:
            self.on_the_way(self.movements)
