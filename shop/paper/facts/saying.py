"""Words that more than one form says in the same way."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from shop.catalogue.book import Sheet
from shop.craft.hardware import Article
from shop.craft.words import several


def moment(at: datetime) -> str:
    """A moment on the shop's clock, as it stays readable for years."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def hand_and_strings(sheet: Sheet) -> str:
    return f"{sheet.spec.hand.value} · {several(sheet.spec.strings, 'string')}"


def named(article: Article, quantity: int = 1) -> str:
    """An article in words: how many, what, of which metal."""
    metal = f", {article.metal.value}" if article.metal else ""
    count = f"{quantity} × " if quantity > 1 else ""
    return f"{count}{article.name}{metal}"


def sides(left: int, right: int) -> str:
    """How many machines belong on each side.

    >>> sides(6, 0)
    '6 L'
    """
    return " + ".join(f"{count} {side}" for count, side in ((left, "L"), (right, "R")) if count)
