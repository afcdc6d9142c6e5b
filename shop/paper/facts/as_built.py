"""The as-built record on paper: the frozen record, and nothing that was not frozen with it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from shop.craft import record
from shop.floor import board
from shop.floor.board import State
from shop.paper.refusing import NotPrinted


class NotReleased(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "%(serial)s is not released yet: what it was built of goes on record with its "
                "release. Print it then."
            )
            % {"serial": serial}
        )


def as_built(one: State, now: datetime) -> dict[str, Any]:
    """The A4 sheet. In its foot it says when it was printed and which copy it is; all the
    rest was frozen, so that it is the same one in ten years. Raises ``NotReleased`` where
    nothing was frozen yet."""
    kept = board.as_built(one.id)
    if kept is None:
        raise NotReleased(one.serial)
    return {"sheet": record.read(kept, _)}
