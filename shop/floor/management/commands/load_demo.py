"""``manage.py load_demo``: fill an empty database with the demo workshop."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.craft.code import pretty
from shop.floor.demo import loading
from shop.people import badges


class Command(BaseCommand):
    help = "Fill an empty database with the demo workshop. Refuses one that holds real work."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--if-empty",
            action="store_true",
            help="change nothing where there is work; say the badges again if it is the demo's",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["if_empty"] and not loading.empty():
            if loading.loaded():
                self._tell("This is the demo workshop. Its badges, and their PINs at loading:")
            return
        try:
            loading.load(timezone.now(), checklist=True)
        except loading.RealWork as why:
            raise CommandError(str(why)) from why
        self._tell("The demo workshop is loaded. Its badges and PINs:")

    def _tell(self, first: str) -> None:
        self.stdout.write(first)
        for row in badges.on_the_floor():
            pin = loading.pin_of(row["code"])
            self.stdout.write(f"  {row['code']}  PIN {pin}  {row['roles']}")
        self.stdout.write("A body tag to try first (Q-1043):")
        self.stdout.write(f"  {settings.ADDRESS}/{loading.example_tag()}")
        own, other = (pretty(loading.tray_code(one)) for one in ("Q-1043", "Q-1058"))
        self.stdout.write(f"Its tray's label: {own}. The label of another body's tray: {other}.")
