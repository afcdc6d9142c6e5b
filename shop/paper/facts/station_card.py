"""The card on the wall of a station."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.catalogue.book import StationSheet, Work
from shop.craft.cautions import is_grave
from shop.paper.facts.sizing import type_size
from shop.paper.scan import Scan


@dataclass(frozen=True, slots=True)
class Row:
    """An operation on the card; ``grave``: its caution is set large."""

    work: Work
    grave: bool


def station_card(one: StationSheet, now: datetime) -> dict[str, Any]:
    """The A5 card of a station: every caution of it stands there."""
    return {
        "scan": Scan.at(f"AT/{one.code}", f"AT {one.code}"),
        "size": type_size(one.code, 30, 24),
        "rows": [
            Row(work, bool(work.caution) and (work.machine or is_grave(work.caution)))
            for work in one.operations
        ],
    }
