"""Words that more than one form says in the same way."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.catalogue.book import Sheet
from shop.craft.hardware import Article


def moment(at: datetime) -> str:
    """A moment on the shop's clock, as it stays readable for years."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def hand_and_strings(sheet: Sheet) -> str:
    return f"{_(sheet.spec.hand.value)} · {strings(sheet)}"


def strings(sheet: Sheet) -> str:
    """How many strings it has, in words."""
    count = sheet.spec.strings
    return ngettext("%(count)s string", "%(count)s strings", count) % {"count": count}


def named(article: Article, quantity: int = 1) -> str:
    """An article in words: how many, what, of which metal."""
    metal = f", {_(article.metal.value)}" if article.metal else ""
    count = f"{quantity} × " if quantity > 1 else ""
    return f"{count}{article.name}{metal}"


def sides(left: int, right: int) -> str:
    """How many machines belong on each side. L and R are the signs on wells and machines,
    the same in every language.

    >>> sides(6, 0)
    '6 L'
    """
    return " + ".join(f"{count} {side}" for count, side in ((left, "L"), (right, "R")) if count)
