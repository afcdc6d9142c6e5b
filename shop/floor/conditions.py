"""What stands round an operation when it is to be done: the room, the finish, the papers."""

from __future__ import annotations

from datetime import datetime

from shop.catalogue.book import StopSheet
from shop.craft.finding import Finding
from shop.floor.state import State


def gate(now: State, sheet: StopSheet, at: datetime) -> tuple[Finding, ...]:
    """What the conditions of this moment say against this operation."""
    return ()
