"""The label outside the carton."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as named

from shop.floor.board import State
from shop.paper.facts.going_out import cell_of, holds, permits_of, sold_with, still_open
from shop.paper.facts.saying import strings

HANDLING: Final = (
    ("fragile", named("Fragile")),
    ("dry", named("Keep away from rain")),
    ("up", named("This way up")),
)
"""Marks for whoever moves the carton, with the words that ISO 780:2015 gives them."""


def box_label(one: State, now: datetime) -> dict[str, Any]:
    """The A6 label: what is in the carton, how to handle it, where it goes."""
    cell = cell_of(one)
    return {
        "hand": f"{_(one.sheet.spec.hand.words)} · {strings(one.sheet)}",
        "cell": cell,
        "holds": list(holds(permits_of(one), cell)),
        "open": list(still_open(one)),
        "second": bool(sold_with(one)),
        "marks": [(mark, _(words)) for mark, words in HANDLING],
    }
