"""The card a badge signs in with."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from shop.catalogue import book
from shop.paper.facts.sizing import type_size
from shop.paper.refusing import NotPrinted
from shop.paper.scan import Scan
from shop.people.badges import Card


class SwitchedOff(NotPrinted):
    def __init__(self, badge: str) -> None:
        super().__init__(
            _(
                "Badge %(badge)s is switched off: no card is printed for it. If it is to count "
                "again, the lead switches it on in the office pages, then print."
            )
            % {"badge": badge}
        )


class NoCardCode(NotPrinted):
    def __init__(self, badge: str) -> None:
        super().__init__(
            _(
                "Badge %(badge)s has no code for its card yet. The lead opens it in the office "
                "pages and saves it, which gives it one, then print again."
            )
            % {"badge": badge}
        )


def badge_card(one: Card, now: datetime) -> dict[str, Any]:
    """The card in the size of a bank card. Raises ``SwitchedOff`` and ``NoCardCode``."""
    if not one.active:
        raise SwitchedOff(one.badge)
    if not one.card:
        raise NoCardCode(one.badge)
    return {
        "scan": Scan.of(one.card),
        "size": type_size(one.badge, 77.6, 17),
        "home": dict(book.stations()).get(one.home, one.home),
    }
