"""A corner of the shelf: three items that no instrument of the demo takes.

T03 lies in one lot of 6, T10 in one of 6, P04 in one of 10; nothing is reserved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from itertools import count

from shop.stock import guard, ledger
from shop.stock.models import Lot, LotCount, Movement, Tray, TrayLine
from tests.floor.morning import NOW, undone

DAY = date(2031, 3, 4)
SERIALS = count(9000)


@dataclass(frozen=True)
class Corner:
    items: Mapping[str, int]
    revision: int
    clerk: int

    def lot(self, key: str) -> Lot:
        return Lot.objects.get(item__key=key)

    def counts(self, key: str) -> tuple[int, int]:
        """On hand and reserved of an item that lies in one lot."""
        lot = self.lot(key)
        return lot.on_hand, lot.reserved

    def receive(self, key: str, quantity: int, on: date, lot: str, place: str = "Y-01") -> int:
        return ledger.receive(self.items[key], place, lot, quantity, on, NOW)

    def ask(self, **wanted: int) -> Tray:
        """A tray for a new serial that wants so many of each item."""
        asks = [ledger.Ask(self.items[key], quantity) for key, quantity in wanted.items()]
        return ledger.ask_tray(f"Y-{next(SERIALS)}", self.revision, DAY, asks, self.clerk, NOW)

    def put_in(self, tray: Tray, **by: str | None) -> Tray:
        """Fill the line of each item with another, with itself, or with nothing."""
        picks = [
            ledger.PutIn(
                TrayLine.objects.get(tray=tray, item__key=key).pk, self.items[got] if got else None
            )
            for key, got in by.items()
        ]
        return ledger.put_in(tray.pk, picks)

    def check(self, tray: Tray) -> None:
        for line in TrayLine.objects.filter(tray=tray, state="taken", checked_how=""):
            ledger.check_line(line.pk, "count", line.quantity, self.clerk, NOW)

    def close(self, tray: Tray) -> Tray:
        self.check(tray)
        return ledger.close_tray(tray.pk, self.clerk, NOW)

    def deducted(self, tray: Tray) -> int:
        rows = Movement.objects.filter(tray=tray, kind="deducted").values_list("on_hand", flat=True)
        return -sum(rows)


@contextmanager
def tampering() -> Iterator[None]:
    """Inside, the ledger's guard is down; afterwards nothing of it ever was."""
    with undone():
        guard.take_down()
        yield


@contextmanager
def never_stocked(item_id: int) -> Iterator[None]:
    """Inside, no bin ever held any of this item."""
    with tampering():
        Movement.objects.filter(lot__item_id=item_id).delete()
        LotCount.objects.filter(lot__item_id=item_id).delete()
        Lot.objects.filter(item_id=item_id).delete()
        guard.put_up()
        yield
