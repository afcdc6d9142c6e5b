"""The label on a slot of the hold rack: what the slot is called, and its square."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from shop.floor.board import Place
from shop.paper.facts.sizing import type_size
from shop.paper.refusing import NotPrinted
from shop.paper.scan import Scan


class Retired(NotPrinted):
    def __init__(self, slot: str) -> None:
        super().__init__(
            _(
                "Slot %(slot)s is retired: no label is printed for it. Take it back into use, then "
                "print."
            )
            % {"slot": slot}
        )


def slot_label(one: Place, now: datetime) -> dict[str, Any]:
    """The A8 label of a slot. Whose case lies in it is not on it: that changes. Raises
    ``Retired``."""
    if one.retired:
        raise Retired(one.code)
    scan = Scan.of(one.tag)
    return {
        "scan": scan,
        "size": type_size(one.code, 66, 21),
        "typed_size": type_size(scan.printed, 39, 8.5),
    }
