"""``manage.py first_lead P-01``: the badge that makes all the others, in the office pages."""

from __future__ import annotations

from getpass import getpass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.people import badges


class Command(BaseCommand):
    help = "Make a lead's badge, or renew its PIN. Asks for the PIN, 4 to 8 digits."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("badge", help="what stands on the badge, as P-01")

    def handle(self, *args: Any, **options: Any) -> None:
        pin = getpass("PIN: ")
        if getpass("The same PIN again: ") != pin:
            raise CommandError("The two PINs differ. Nothing was changed.")
        try:
            badge = badges.issue(options["badge"], pin, ["lead"])
        except ValidationError as why:
            raise CommandError(" ".join(why.messages)) from why
        except ValueError as why:
            raise CommandError(str(why)) from why
        self.stdout.write(f"{badge.code} is a lead. Sign in and open Office for the rest.")
