"""``manage.py verify_journal``: is the journal whole, and as it was written?"""

from __future__ import annotations

import re
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.craft.words import several
from shop.floor import verifying
from shop.floor.verifying import Seal, grouped

STEP: Final = 100_000  # rows between two words on how far it is


class Command(BaseCommand):
    help = (
        "Go over the whole journal, name every row that is not as it was written, and print a "
        "seal. Keep the seal apart, on paper or with the backup."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--seal", default="", help="an earlier seal that is to hold still, as it was printed"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        kept = _seal(options["seal"]) if options["seal"] else None
        told = verifying.verify(self.stdout.write, kept, self._on_the_way)
        rows, chains = grouped(told.rows), grouped(told.chains)
        if told.wrong:
            raise CommandError(
                f"{rows} rows, {chains} chains: {several(told.wrong, 'thing')} found. Keep this "
                "list, and compare with the last backup whose journal was whole."
            )
        self.stdout.write(f"{rows} rows, {chains} chains, whole.")
        self.stdout.write(f"Seal at row {told.seal.row}: {told.seal.sign}")
        if kept:
            self.stdout.write(f"The seal at row {kept.row} holds.")

    def _on_the_way(self, rows: int) -> None:
        if rows % STEP == 0:
            self.stderr.write(f"{grouped(rows)} rows read.")


def _seal(text: str) -> Seal:
    """The seal as it was printed, with or without the words before it."""
    found = re.fullmatch(r"(?:Seal at row )?(\d{1,18}): ?([0-9a-f]{64})", text.strip())
    if found is None:
        raise CommandError(
            "A seal is the number of a row, a colon and 64 digits from 0 to f. "
            "Give it as it was printed."
        )
    return Seal(int(found[1]), found[2])
