"""``manage.py read_catalogue FILE``: a whole catalogue from one JSON file, or nothing of it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import IntegrityError, transaction

from shop.catalogue import revising


class Command(BaseCommand):
    help = (
        "Read stations, operations, routes, rework loops, items and specs with their kits from "
        "a JSON file and open each spec for releases. The form is that of "
        "shop/floor/demo/workshop.json."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            data = json.loads(options["file"].read_text(encoding="utf-8"))
        except OSError as why:
            raise CommandError(f"{options['file']} cannot be read: {why.strerror}.") from why
        except ValueError as why:
            raise CommandError(f"{options['file']} is not whole JSON: {why}") from why
        try:
            with transaction.atomic():
                for revision in revising.read_in(data):
                    revising.open_revision(revision)
                    self.stdout.write(f"{revision} is open for releases.")
        except KeyError as why:
            raise CommandError(f"Nothing was read in: {why} is used but not given.") from why
        except ValidationError as why:
            raise CommandError(f"Nothing was read in: {' '.join(why.messages)}") from why
        except (IntegrityError, TypeError, revising.NotReady) as why:
            raise CommandError(f"Nothing was read in: {why}") from why
