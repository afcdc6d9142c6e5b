"""The as-built record on paper: the frozen record, and nothing that was not frozen with it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from shop.craft import record
from shop.craft.record import Unreadable
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


class NotReadable(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "The record of %(serial)s cannot be read here. Its page says why: look it up, and "
                "ask whoever keeps the machine."
            )
            % {"serial": serial}
        )


def as_built(one: State, now: datetime) -> dict[str, Any]:
    """The A4 sheet. In its foot it says when it was printed and which copy it is; all the
    rest was frozen, so that it is the same one in ten years. Raises ``NotReleased`` where
    nothing was frozen yet, ``NotReadable`` where what was frozen cannot be read."""
    kept = board.as_built(one.id)
    if kept is None:
        raise NotReleased(one.serial)
    try:
        return {"sheet": record.read(kept, _)}
    except Unreadable as why:
        raise NotReadable(one.serial) from why
