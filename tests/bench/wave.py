"""How long a wave of 40 trays takes to build, over 500 items and 20 000 movements.

    python -m tests.bench.wave
    DATABASE_URL=postgresql://... python -m tests.bench.wave   # an empty database

Fills a database with the demo, 500 items in lots of their own, and trays that want twelve of
them each. Prints times and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import argparse
import os
import random
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, Final

LINES: Final = 12  # of each tray
EACH: Final = 400  # of each item on hand, before any tray is asked for
SEED: Final = 20310303


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--trays", type=int, default=40)
    asked.add_argument("--items", type=int, default=500)
    asked.add_argument("--movements", type=int, default=20_000)
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.utils import timezone

        from shop.floor.demo import loading

        call_command("migrate", verbosity=0)
        loading.load(timezone.now())
        build(wanted.trays, wanted.items, wanted.movements)


def build(trays: int, items: int, movements: int) -> None:
    """Fill the shelf, ask for the trays, and build their wave."""
    from django.utils import timezone

    from shop.people.models import Badge
    from shop.stock import ledger, shelf
    from shop.stock.models import Movement

    clerk, now = Badge.objects.get(code="P-41").pk, timezone.now()
    day = timezone.localdate() + timedelta(days=1)
    start = time.perf_counter()
    ids = stocked(items, day)
    moved(ids, movements)
    asked = [ask(turn, ids, day, clerk) for turn in range(trays)]
    print(
        f"{len(ids)} items, {Movement.objects.count()} movements, {trays} trays of {LINES} lines: "
        f"filled in {time.perf_counter() - start:.0f} s"
    )
    wave = told("wave made", lambda: ledger.make_wave(day, asked, clerk, now))
    (walk,) = told("waves of the day", lambda: shelf.waves(day))[-1].walks
    stops = told("stops in walking order", lambda: shelf.stops_of(walk.id))
    print(f"{len(stops)} stops of wave {wave}")
    told("split", lambda: ledger.split_walk(walk.id, clerk, now))
    told("trays of the front page", lambda: shelf.trays(day))


def told(what: str, ask: Callable[[], Any]) -> Any:
    start = time.perf_counter()
    answer = ask()
    print(f"  {what}: {(time.perf_counter() - start) * 1000:.0f} ms")
    return answer


def stocked(items: int, day: date) -> list[int]:
    """So many invented items, each in one lot in one of 200 bins on ten aisles."""
    from django.db import transaction
    from django.utils import timezone

    from shop.catalogue.models import Item
    from shop.stock import ledger
    from shop.stock.models import Bin

    for turn in range(200):
        Bin.objects.create(code=f"W-{turn:03d}", aisle=1 + turn // 20, along_m=turn % 20)
    like = Item.objects.filter(family="strap").select_related()[0]
    made = []
    with transaction.atomic():
        for turn in range(items):
            item = again(like, f"W{turn:03d}")
            ledger.receive(item, f"W-{turn % 200:03d}", "31-02A", EACH, day, timezone.now())
            made.append(item)
    return made


def again(like: Any, key: str) -> int:
    """The same item under another key, with its dimensions."""
    from shop.catalogue.models import CHILD_OF

    child = getattr(like, CHILD_OF[like.family]) if like.family in CHILD_OF else like
    fields = {one.attname: getattr(child, one.attname) for one in child._meta.concrete_fields}
    for name in ("id", "item_ptr_id"):
        fields.pop(name, None)
    made = type(child).objects.create(**fields | {"key": key, "name": f"invented {key}"})
    number: int = made.pk
    return number


def moved(ids: list[int], movements: int) -> None:
    """So many movements, over all of the lots: one piece more each."""
    from django.utils import timezone

    from shop.stock.models import Lot, Movement

    now, rows = timezone.now(), []
    lots = list(Lot.objects.filter(item_id__in=ids))
    for turn in range(movements - Movement.objects.count()):
        lot = lots[turn % len(lots)]
        lot.on_hand += 1
        rows.append(
            Movement(
                lot=lot, kind="received", on_hand=1, reserved=0, on_hand_after=lot.on_hand,
                reserved_after=lot.reserved, out_after=lot.out, at=now,
            )
        )  # fmt: skip
    Movement.objects.bulk_create(rows, batch_size=500)


def ask(turn: int, ids: list[int], day: date, clerk: int) -> int:
    """A tray that wants twelve of the items, each time others."""
    from django.utils import timezone

    from shop.catalogue import book
    from shop.stock import ledger

    chosen = random.Random(SEED + turn).sample(ids, LINES)
    asks = [ledger.Ask(item, 1, "N60") for item in chosen]
    revision = book.open_revisions()[0]["id"]
    return ledger.ask_tray(f"W-{turn}", revision, day, asks, clerk, timezone.now()).pk


if __name__ == "__main__":
    main()
