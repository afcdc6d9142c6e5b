"""The list by which a carrier took cartons, to be signed by both."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from shop.floor.board import ManifestSheet
from shop.paper.facts.saying import moment

HEAD: Final = 4  # letters of a code before its hyphen


def manifest(one: ManifestSheet, now: datetime) -> dict[str, Any]:
    """The A4 sheet: a line for each carton, a box to tick as it goes into the truck."""
    return {
        "at": moment(one.at),
        "rows": [
            (number, row, f"{row.label[:HEAD]}-{row.label[HEAD:]}")
            for number, row in enumerate(one.cartons, 1)
        ],
    }
