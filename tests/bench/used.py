"""How long it takes to say where a lot went, over a long ledger.

    python -m tests.bench.used
    python -m tests.bench.used --rows 1000000 --journal 1000000
    DATABASE_URL=postgresql://... python -m tests.bench.used      # an empty database

Fills a database with movements, the ledger's guard down: thousands of instruments with ten
lines each, every line kept, given back, out and fitted. The journal is not read by the
question; ``--journal`` makes it as long as is wanted all the same. Prints the times for a lot
of usual size, for the largest, and for one with singles and parts that came off, and asserts
nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
from datetime import date, timedelta
from typing import Any, Final

AGAIN: Final = 9
LINES: Final = 10  # of one tray
EACH: Final = 4  # movements of one line
AT_ONCE: Final = 250  # trays written together
LOTS: Final = 250  # of each item: of a million movements one has those of 100 instruments
LARGE: Final = 2_000  # instruments the largest lot went to


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, default=1_000_000)
    asked.add_argument("--journal", type=int, default=0)
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection
        from django.utils import timezone

        from shop.floor.demo import loading
        from tests.bench.journal import Filling

        call_command("migrate", verbosity=0)
        loading.load(timezone.now())
        if wanted.journal:
            Filling().up_to(wanted.journal)
        start = time.perf_counter()
        shelf = Shelf()
        shelf.up_to(wanted.rows)
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        took = time.perf_counter() - start
        print(f"{shelf.moved} movements of {shelf.trays} trays written in {took:.0f} s")
        measure("a lot of usual size", shelf.usual)
        measure("the largest lot", shelf.largest)
        measure("a lot with singles and what came off", shelf.with_kin())


class Shelf:
    """A ledger that gets longer and longer."""

    def __init__(self) -> None:
        from django.utils import timezone

        from shop.catalogue import book
        from shop.floor.models import Instrument
        from shop.people.models import Badge
        from shop.stock.models import Bin, Lot

        self.at = timezone.now()
        self.model = Instrument.objects.select_related("body").order_by("-seq")[0]
        self.clerk = Badge.objects.get(code="P-41").pk
        self.hand = Badge.objects.get(code="P-11").pk
        self.bin = Bin.objects.create(code="Z-99")
        self.items = sorted(book.item_ids([key for key, *_ in book.items()]).values())[:LINES]
        self.lots = [
            [self._lot(item, f"Z{number}") for number in range(LOTS)] for item in self.items
        ]
        self.large = self._lot(self.items[0], "LARGE")
        self.sums: dict[int, list[int]] = {}
        for lot in Lot.objects.filter(bin=self.bin):
            self.sums[lot.pk] = [0, 0, 0]
        self.moved = self.trays = 0
        self.usual, self.largest = self.lots[1][LOTS // 2], self.large

    def _lot(self, item: int, code: str) -> int:
        from shop.stock.models import Lot

        on = date(2031, 1, 1)
        return Lot.objects.create(item_id=item, bin=self.bin, code=code, received_on=on).pk

    def up_to(self, rows: int) -> None:
        from django.db import transaction

        from shop.stock import guard, ledger

        for lot in self.sums:
            ledger.hold(lot, "Only measured", self.clerk, self.at)
        trays = rows // (LINES * EACH)
        with transaction.atomic():
            guard.take_down()
            self._receive(trays)
            while self.trays < trays:
                self._more(trays)
            self._count()
            guard.put_up()

    def _receive(self, trays: int) -> None:
        """Enough of every lot for all of the trays."""
        from shop.stock.models import Movement

        Movement.objects.bulk_create(
            self._movement(lot, "received", (trays + LARGE, 0, 0), self.clerk) for lot in self.sums
        )

    def _movement(
        self, lot: int, kind: str, change: tuple[int, int, int], by: int, line: Any = None
    ) -> Any:
        from shop.stock.models import Movement

        sums = self.sums[lot]
        for place, one in enumerate(change):
            sums[place] += one
        self.moved += 1
        return Movement(
            lot_id=lot, kind=kind, on_hand=change[0], reserved=change[1], out=change[2],
            on_hand_after=sums[0], reserved_after=sums[1], out_after=sums[2],
            tray_id=line.tray_id if line else None, line=line, by_id=by,
            at=self.at + timedelta(seconds=self.moved),
        )  # fmt: skip

    def _more(self, most: int) -> None:
        """Some instruments more, each with its tray and the life of its lines."""
        from shop.floor.models import Body, Instrument
        from shop.stock.models import Movement, Tray, TrayLine

        numbers = range(self.trays, min(self.trays + AT_ONCE, most))
        body = self.model.body
        bodies = Body.objects.bulk_create(
            Body(serial=f"M-{n}", spec_id=body.spec_id, arrived_at=body.arrived_at) for n in numbers
        )
        trays = Tray.objects.bulk_create(
            Tray(
                code=f"M{n:06d}", serial=f"M-{n}", revision_id=self.model.revision_id,
                wanted_on=self.model.due_on, state="closed", closed_at=self.at,
                closed_by_id=self.clerk,
            )
            for n in numbers
        )  # fmt: skip
        Instrument.objects.bulk_create(
            Instrument(
                body=one, revision_id=self.model.revision_id, due_on=self.model.due_on,
                release_on=self.model.release_on, tray=tray,
            )
            for one, tray in zip(bodies, trays, strict=True)
        )  # fmt: skip
        lines = TrayLine.objects.bulk_create(
            TrayLine(
                tray=tray, item_id=item, quantity=1, used_at="N60", state="taken",
                put_in_id=item, lot_id=self._of(number, place), fitted=1,
                checked_how="count", checked_count=1, checked_by_id=self.clerk,
                checked_at=self.at,
            )
            for number, tray in zip(numbers, trays, strict=True)
            for place, item in enumerate(self.items)
        )  # fmt: skip
        life = [
            ("reserved", (0, 1, 0), self.clerk), ("released", (0, -1, 0), self.clerk),
            ("deducted", (-1, 0, 1), self.clerk), ("consumed", (0, 0, -1), self.hand),
        ]  # fmt: skip
        Movement.objects.bulk_create(
            [
                self._movement(line.lot_id or 0, kind, change, by, line)
                for kind, change, by in life
                for line in lines
            ],
            batch_size=2000,
        )
        self.trays += len(numbers)

    def _of(self, number: int, place: int) -> int:
        """The lot a line is filled from; the first instruments take the largest."""
        if place == 0 and number < LARGE:
            return self.large
        return self.lots[place][number % LOTS]

    def _count(self) -> None:
        """The counts of the lots as their movements left them."""
        from shop.stock.models import Lot

        for lot, (on_hand, reserved, out) in self.sums.items():
            Lot.objects.filter(pk=lot).update(on_hand=on_hand, reserved=reserved, out=out)

    def with_kin(self) -> int:
        """A lot of which parts came off instruments, were looked at and drawn again."""
        from shop.stock import ledger
        from shop.stock.models import TrayLine

        lot = self.lots[2][LOTS // 2]
        lines = TrayLine.objects.filter(lot_id=lot).select_related("tray").order_by("pk")[:20]
        for line in lines:
            serial = line.tray.serial
            ledger.quarantine(line.item_id, 1, f"off {serial}", "Scrapped", self.clerk, self.at)
        return lot


def measure(what: str, lot: int) -> None:
    from shop.floor import board

    times = []
    for _ in range(AGAIN):
        start = time.perf_counter()
        found = board.where_used(lot)
        times.append((time.perf_counter() - start) * 1000)
    assert found is not None
    print(
        f"  {what}: {len(found.uses)} uses, {len(found.lot.kin)} lots beside it: "
        f"median {statistics.median(times):.0f} ms, at most {max(times):.0f} ms"
    )


if __name__ == "__main__":
    main()
