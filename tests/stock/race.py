"""Several clerks at one shelf, each a process of its own, all at the same few items.

``python -m tests.stock.race clerk SEED START MOVES`` makes so many moves, drawn with the seed,
from the moment START on, and prints what came of them as JSON. ``... prepare`` lays the shelf
out, ``... look`` prints what is then so.
"""

from __future__ import annotations

import json
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

KEYS = ("T03", "T10", "P04")
PEOPLE = ("P-41", "P-01", "P-11")
TRAYS = 6  # in play; the fewer, the more often two clerks have the same one in hand


def prepare() -> None:
    """Two lots of each item, and the first trays."""
    from django.utils import timezone

    from shop.floor.demo import loading

    loading.load(timezone.now())
    clerk = Clerk(0)
    for key in KEYS:
        clerk.receive(key, 30, 1)
    for _ in range(TRAYS):
        clerk.ask()


class Clerk:
    """Somebody who does anything that can be done at a shelf, by chance."""

    def __init__(self, seed: int) -> None:
        from django.utils import timezone

        from shop.catalogue import book
        from shop.people.models import Badge

        self.chance = random.Random(seed)
        self.seed = seed
        self.items = book.item_ids(KEYS)
        self.people = [Badge.objects.get(code=code).pk for code in PEOPLE]
        self.revision = next(
            row["id"] for row in book.open_revisions() if row["spec__key"] == "TARN"
        )
        self.at = timezone.now()
        self.made = 0

    @property
    def by(self) -> int:
        return self.people[self.seed % len(self.people)]

    def move(self) -> tuple[str, str]:
        """One move and what came of it: done, refused with the sentence, or the trouble."""
        from shop.stock.ledger import OutOfStep

        self.at += timedelta(seconds=1)
        name = self.chance.choice(MOVES)
        try:
            result = getattr(self, name)()
        except OutOfStep as why:
            return name, f"refused: {why}"
        except Exception as trouble:  # noqa: BLE001 told to the test that started this
            return name, f"trouble: {trouble!r}"
        return name, "nothing to do" if result is False else "done"

    # --- what there is to choose from ---

    def tray(self, *states: str) -> Any:
        """One of the newest trays in one of these states."""
        from shop.stock.models import Tray

        found = Tray.objects.filter(serial__startswith="Y-", state__in=states)
        rows = list(found.order_by("-pk")[:TRAYS])
        return self.chance.choice(rows) if rows else None

    def line(self, **more: Any) -> Any:
        tray = self.tray("asked", "picked")
        rows = list(tray.lines.filter(**more).order_by("pk")) if tray else []
        return self.chance.choice(rows) if rows else None

    def lot(self, **more: Any) -> Any:
        from shop.stock.models import Lot

        rows = Lot.objects.filter(item_id__in=self.items.values(), piece="", **more)
        return self.chance.choice(list(rows.order_by("pk")))

    def item(self) -> int:
        return self.items[self.chance.choice(KEYS)]

    # --- the moves ---

    def receive(self, key: str = "", quantity: int = 0, lot: int = 0) -> None:
        from shop.stock import ledger

        item = self.items[key] if key else self.item()
        number = lot or self.chance.randint(1, 2)
        on = date(2031, 1, number)
        many = quantity or self.chance.randint(1, 4)
        ledger.receive(item, "Y-01", f"L{number}", many, on, self.at, by=self.by)

    def ask(self) -> None:
        from shop.stock import ledger

        self.made += 1
        keys = self.chance.sample(KEYS, self.chance.randint(1, 3))
        asks = [
            ledger.Ask(self.items[key], self.chance.randint(1, 3), self.chance.choice("AB"))
            for key in keys
        ]
        serial = f"Y-{self.seed}-{self.made}"
        ledger.ask_tray(serial, self.revision, self.at.date(), asks, self.by, self.at)

    def put_in(self) -> bool:
        from shop.stock import ledger

        tray = self.tray("asked", "picked")
        if tray is None:
            return False
        picks = [
            ledger.PutIn(one.pk, self.chance.choice([one.item_id] * 4 + [None, self.item()]))
            for one in tray.lines.order_by("pk")
        ]
        ledger.put_in(tray.pk, picks)
        return True

    def close(self) -> bool:
        from shop.stock import ledger

        tray = self.tray("picked", "asked")
        if tray is None:
            return False
        for one in tray.lines.filter(state="taken", checked_how=""):
            ledger.check_line(one.pk, "count", one.quantity, self.by, self.at)
        ledger.close_tray(tray.pk, self.by, self.at)
        return True

    def open(self) -> bool:
        from shop.stock import ledger

        tray = self.tray("closed", "picked")
        if tray is None:
            return False
        ledger.open_tray(tray.pk, self.by, self.at)
        return True

    def consume(self) -> bool:
        from shop.stock import ledger

        tray = self.tray("closed")
        if tray is None:
            return False
        operation = self.chance.choice(["A", "B", None])
        ledger.consume(tray.pk, operation, self.by, self.at)
        return True

    def give_up(self) -> bool:
        from shop.stock import ledger

        tray = self.tray("asked", "picked", "closed")
        if tray is None or self.chance.random() < 0.5:
            return False
        ledger.give_up_tray(tray.pk, self.by, self.at)
        return True

    def split(self) -> bool:
        from shop.stock import ledger

        line = self.line(state__in=["open", "short"])
        if line is None:
            return False
        ledger.split_line(line.pk, self.chance.randint(1, 2), self.by, self.at)
        return True

    def swap(self) -> bool:
        from shop.stock import ledger

        line = self.line()
        into = self.item()
        if line is None or line.item_id == into:
            return False
        ledger.swap_line(line.tray_id, line.item_id, into, self.by, self.at)
        return True

    def let_go(self) -> bool:
        from shop.stock import ledger

        lines = [one.pk for _ in range(3) if (one := self.line(reserved__gt=0))]
        if not lines:
            return False
        ledger.let_go(lines, self.by, self.at, "another needs it sooner")
        return True

    def hold(self) -> None:
        from shop.stock import ledger

        ledger.hold(self.lot().pk, "Looks spotted", self.by, self.at)

    def free(self) -> bool:
        from shop.stock import ledger
        from shop.stock.models import Lot

        held = Lot.objects.filter(item_id__in=self.items.values(), held="Looks spotted")
        found = list(held.order_by("pk"))
        if not found:
            return False
        ledger.free(self.chance.choice(found).pk, "Looked at", self.by, self.at)
        return True

    def quarantine(self) -> None:
        from shop.stock import ledger

        name = f"off Y-{self.chance.randint(1, 3)}"
        ledger.quarantine(self.item(), 1, name, "Scrapped", self.by, self.at)

    def count(self) -> None:
        from shop.stock import ledger
        from shop.stock.models import LotCount

        lot = self.lot()
        waits = LotCount.objects.filter(lot=lot, ended="").first()
        if waits is None:
            ledger.count(lot.pk, max(0, lot.on_hand - self.chance.randint(0, 2)), self.by, self.at)
        else:
            ledger.second_count(waits.pk, waits.counted, self.by, self.at, "One was broken")

    def break_set(self) -> None:
        from shop.stock import ledger

        ledger.break_set(self.lot(item__family="tuners").pk, self.by, self.at, "For repairs")

    def draw(self) -> None:
        from shop.stock import ledger

        ledger.draw(self.lot().pk, 1, "Y-0", self.by, self.at, "A post is bent")

    def return_sealed(self) -> bool:
        return self._return("return_sealed")

    def return_opened(self) -> bool:
        return self._return("return_opened")

    def _return(self, how: str) -> bool:
        from shop.stock import ledger

        tray = self.tray("closed")
        lines = list(tray.lines.filter(state="taken").order_by("pk")) if tray else []
        if not lines:
            return False
        line = self.chance.choice(lines)
        deed: Callable[..., Any] = getattr(ledger, how)
        deed(line.pk, 1, self.by, self.at, "Not needed")
        return True


# As often as it is to be tried, compared with the rest.
OFTEN = {
    "receive": 1, "ask": 2, "put_in": 3, "close": 3, "open": 1, "consume": 2, "give_up": 1,
    "split": 2, "swap": 2, "let_go": 2, "hold": 1, "free": 2, "quarantine": 1, "count": 1,
    "break_set": 1, "draw": 1, "return_sealed": 1, "return_opened": 1,
}  # fmt: skip
MOVES = [name for name, often in OFTEN.items() for _ in range(often)]


def clerk(seed: int, start: float, moves: int) -> dict[str, dict[str, int]]:
    """What came of each kind of move, counted; sentences of refusals without their figures."""
    from django.db import connection

    one = Clerk(seed)
    told: dict[str, Counter[str]] = {}
    time.sleep(max(0.0, start - time.time()))
    for _ in range(moves):
        name, result = one.move()
        told.setdefault(name, Counter())[result] += 1
    connection.close()
    return {name: dict(results) for name, results in told.items()}


def look() -> dict[str, Any]:
    """Everything that must be so afterwards, as it is."""
    from django.db.models import F, Sum

    from shop.stock import shelf
    from shop.stock.models import Lot, Movement, TrayLine

    faults: list[str] = []
    shelf.prove(faults.append)
    lots = Lot.objects.filter(item__key__in=KEYS)
    kept = dict(
        TrayLine.objects.filter(reserved__gt=0)
        .values_list("reserved_lot_id")
        .annotate(Sum("reserved"))
    )
    return {
        "unbalanced": shelf.unbalanced(),
        "faults": faults,
        "below": [str(one) for one in lots.filter(on_hand__lt=F("reserved"))],
        "reserved twice": [str(one) for one in lots if kept.get(one.pk, 0) != one.reserved],
        "kept beyond what is wanted": TrayLine.objects.filter(reserved__gt=F("quantity")).count(),
        "fitted beyond what was out": TrayLine.objects.filter(
            fitted__gt=F("quantity") - F("returned")
        ).count(),
        "movements": Movement.objects.filter(lot__item__key__in=KEYS).count(),
    }


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
    what, *more = sys.argv[1:]
    if what == "prepare":
        prepare()
        return
    told = look() if what == "look" else clerk(int(more[0]), float(more[1]), int(more[2]))
    print(json.dumps(told))  # noqa: T201 to the test that started this


if __name__ == "__main__":
    main()
