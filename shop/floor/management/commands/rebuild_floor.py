"""``manage.py rebuild_floor``: make the floor again from its journal, or compare the two."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.craft.words import several
from shop.floor import following
from shop.floor.following import Lost, Made, Unsound
from shop.floor.verifying import grouped


class Command(BaseCommand):
    help = (
        "Make every table of the floor again from the journal, while nobody records. "
        "All of it is made, or nothing is changed."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check",
            action="store_true",
            help="change nothing; say where the floor is not what the journal says",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["check"]:
                self._check()
            else:
                made = following.rebuild()
                self.stdout.write(f"The floor is made again from its journal: {_count(made)}.")
        except Unsound as why:
            raise CommandError(
                f"{why} Nothing is changed. See what is wrong: manage.py verify_journal"
            ) from why
        except Lost as why:
            raise CommandError(f"{why} It cannot be followed, so nothing is changed.") from why

    def _check(self) -> None:
        made, differ = following.differences()
        for one in differ:
            self.stdout.write(one)
        if differ:
            raise CommandError(
                f"{several(len(differ), 'difference')} in {_count(made)}. Nothing is changed."
            )
        self.stdout.write(f"The floor is what the journal says: {_count(made)}.")


def _count(made: Made) -> str:
    return f"{grouped(made.rows)} rows, {grouped(made.instruments)} instruments"
