"""The label on a measuring tool or its box: its tag, and what it is."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.craft.measuring.tool import Tool
from shop.craft.words import mm
from shop.paper.facts.sizing import type_size
from shop.paper.refusing import NotPrinted
from shop.paper.scan import Scan


class PutAway(NotPrinted):
    def __init__(self, gauge: str) -> None:
        super().__init__(
            _(
                "Gauge %(gauge)s is put away: no label is printed for it. Take it back into use at "
                "the desk, then print."
            )
            % {"gauge": gauge}
        )


def gauge_label(one: Tool, now: datetime) -> dict[str, Any]:
    """The A8 label of a gauge. How its check stands is not on it: that changes. Raises
    ``PutAway``."""
    if one.retired:
        raise PutAway(one.name)
    scan = Scan.of(one.code)
    return {
        "scan": scan,
        "size": type_size(one.name, 66, 12),
        "typed_size": type_size(scan.printed, 39, 8.5),
        "step": mm(one.resolution_mm) if one.resolution_mm is not None else "",
        "every": ngettext("%(n)s day", "%(n)s days", one.interval_days) % {"n": one.interval_days},
    }
