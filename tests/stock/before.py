"""A shelf as an older release kept it, brought to this one: told as JSON to the test.

``python -m tests.stock.before`` wants an empty database of its own. It loads the demo, takes
away what nobody kept then, goes back to the older tables, and comes forward again.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

OLDER = "0002"
LEAST = {"T01": [4, 6], "P01": [0]}  # what was to be ordered below so many, lot by lot


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from shop.floor.demo import loading
    from shop.stock import guard, ledger
    from shop.stock.models import Bin, Lot, StockRule

    call_command("migrate", verbosity=0)
    loading.load(timezone.now())
    t01 = Lot.objects.get(item__key="T01")
    ledger.receive(t01.item_id, "Shelf 9", "second", 3, t01.received_on, timezone.now())
    guard.take_down()
    as_it_was_moved()
    before = picture()
    call_command("migrate", "stock", OLDER, verbosity=0)
    as_it_was_kept()
    call_command("migrate", verbosity=0)
    places = Bin.objects.order_by("code").values_list("code", "aisle", "along_m")
    told: dict[str, Any] = {
        "before": before,
        "after": picture(),
        "faults": faults(),
        "running": running(),
        "bins": [[code, aisle, str(along or "")] for code, aisle, along in places],
        "rules": dict(StockRule.objects.values_list("item__key", "least")),
        "lines": lines(),
        "fitted again": fit_all(),
        "guarded": guarded(),
    }
    json.dump(told, sys.stdout)


def as_it_was_moved() -> None:
    """What is fitted out of a tray was no movement then."""
    from shop.stock.models import Movement

    Movement.objects.filter(kind="consumed", on_hand=0).delete()


def as_it_was_kept() -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        for key, leasts in LEAST.items():
            cursor.execute(
                "SELECT id FROM stock_lot WHERE item_id = "
                "(SELECT id FROM catalogue_item WHERE key = %s) ORDER BY id",
                [key],
            )
            for (lot,), least in zip(cursor.fetchall(), leasts, strict=False):
                cursor.execute("UPDATE stock_lot SET least = %s WHERE id = %s", [least, lot])


def picture() -> list[list[Any]]:
    """What every lot held, and what was moved."""
    from shop.stock.models import Lot, Movement

    lots = Lot.objects.order_by("pk").values_list("pk", "on_hand", "reserved")
    moved = Movement.objects.order_by("pk").values_list("pk", "lot_id", "on_hand", "reserved")
    return [[list(one) for one in rows] for rows in (lots, moved)]


def faults() -> list[str]:
    from shop.stock import shelf

    said: list[str] = []
    shelf.prove(said.append)
    return said + shelf.unbalanced()


def running() -> list[int]:
    """Movements that do not leave what those up to them come to."""
    from collections import Counter

    from shop.stock.models import Movement

    sums: Counter[tuple[int, str]] = Counter()
    wrong = []
    for row in Movement.objects.order_by("pk"):
        for name in ("on_hand", "reserved", "out"):
            sums[row.lot_id, name] += getattr(row, name)
            if sums[row.lot_id, name] != getattr(row, f"{name}_after"):
                wrong.append(row.pk)
    return wrong


def lines() -> list[list[Any]]:
    from shop.stock.models import TrayLine

    rows = TrayLine.objects.order_by("pk")
    return [list(one) for one in rows.values_list("tray__state", "state", "quantity", "fitted")]


def fit_all() -> int:
    """How many movements it makes to fit all that is left in the trays closed before."""
    from django.utils import timezone

    from shop.people.models import Badge
    from shop.stock import ledger
    from shop.stock.models import Movement, Tray

    already, by = Movement.objects.count(), Badge.objects.get(code="P-11").pk
    for tray in Tray.objects.filter(state="closed"):
        ledger.consume(tray.pk, None, by, timezone.now())
    return Movement.objects.count() - already


def guarded() -> bool:
    """Whether the tables that were made anew are guarded again."""
    from django.db import DatabaseError, transaction

    from shop.stock.models import Lot

    try:
        with transaction.atomic():
            Lot.objects.filter(item__key="T01").update(on_hand=1)
    except DatabaseError:
        return True
    return False


if __name__ == "__main__":
    main()
