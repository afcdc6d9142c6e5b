"""``manage.py balance_stock``: do the counts of the shelf follow from what was moved?"""

from __future__ import annotations

from typing import Any, Final

from django.core.management.base import BaseCommand, CommandError

from shop.craft.words import several
from shop.stock import guard, shelf

STEP: Final = 100_000  # movements between two words on how far it is


class Command(BaseCommand):
    help = (
        "Go over the whole ledger and name everything that does not add up: a count that is not "
        "the sum of its movements, pieces kept or out that no tray knows of."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        told = shelf.prove(self.stdout.write, self._on_the_way)
        looked = (
            f"{several(told.lots, 'lot')}, {several(told.movements, 'movement')}, "
            f"{several(told.lines, 'line')} of trays that keep or hold pieces, "
            f"{several(told.promised, 'piece')} promised to orders"
        )
        if told.wrong:
            raise CommandError(
                f"{looked}: {several(told.wrong, 'thing')} found. Count the bins named, and "
                "compare with the last backup that balanced."
            )
        if not guard.is_up():
            raise CommandError(
                f"{looked}. The database does not guard the ledger: stop the shop and run "
                "manage.py migrate, which puts the guard up again."
            )
        self.stdout.write(f"{looked}: the ledger balances.")

    def _on_the_way(self, movements: int) -> None:
        if movements % STEP == 0:
            self.stderr.write(f"{movements} movements read.")
