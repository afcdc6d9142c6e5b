"""How an act came to the door, where a phone keeps what is tapped until it could be sent."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.utils.timezone import localtime

from shop.craft.finding import Finding, note
from shop.craft.sent import Tapped
from shop.craft.when import when_words
from shop.craft.words import listed

KEPT: Final = "kept"  # of what is said of an act that waited


@dataclass(slots=True)
class Sending:
    """An act as a phone sent it.

    ``station`` is where the phone was at the tap, ``sent_by`` the badge that was signed in
    when it was sent, ``proven`` whether the badge of the act was signed in at that phone too.
    ``mark`` tells its body from another's. ``heard`` is what the door answered.
    """

    badge: str
    station: str
    tapped: Tapped
    sent_at: datetime | None
    received_at: datetime
    sent_by: str
    proven: bool
    mark: str
    heard: list[Any] = field(default_factory=list)

    @property
    def source(self) -> str:
        """What the journal calls the way it came."""
        return "kept" if self.tapped.kept else "live"

    @property
    def doubt(self) -> str:
        """What keeps it from being proven: whose it was, or when."""
        whose = "" if self.proven else f"badge {self.badge} was claimed without the network"
        told = [one for one in (whose, self.tapped.doubt) if one]
        return listed(told) if told else ""

    @property
    def notes(self) -> tuple[Finding, ...]:
        """What is said of an act that waited: from which moment it counts."""
        if not self.tapped.kept and self.proven:
            return ()
        now = localtime(self.received_at)
        at, sent = when_words(localtime(self.tapped.at), now), when_words(now, now)
        words = (
            f"Tapped {at}, sent {sent}: it counts from {at}."
            if self.tapped.kept
            else f"Sent under badge {self.sent_by or 'none'}."
        )
        then = f"To be confirmed: {self.doubt}." if self.doubt else ""
        return (note(KEPT, words, then),)
