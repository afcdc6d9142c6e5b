"""Lengths in the units of whoever looks: ``{% lengths words %}`` and ``{% size value 2 %}``;
in what the shop wrote itself ``{% as_given words %}``.

A page knows its reader's units by ``units`` in its context; a page for nobody in particular
has none and stays in millimetres.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import template

from shop.craft.lengths import beside, in_units, length
from shop.people.languages import say

register = template.Library()


@register.simple_tag(takes_context=True)
def lengths(context: dict[str, Any], words: str) -> str:
    """A sentence in the reader's language, each of its lengths in the reader's units."""
    return in_units(say(words), context.get("units", "mm"))


@register.simple_tag(takes_context=True)
def as_given(context: dict[str, Any], words: str) -> str:
    """What the shop wrote itself, its lengths in the reader's units and its words as they are."""
    return in_units(words, context.get("units", "mm"))


@register.simple_tag(takes_context=True)
def reckoned(context: dict[str, Any], words: str) -> str:
    """Arithmetic done in millimetres, inches beside it for whoever reads those."""
    return beside(say(words), context.get("units", "mm"))


@register.simple_tag(takes_context=True)
def size(context: dict[str, Any], value_mm: Decimal | None, places: int | None = None) -> str:
    """One length in the reader's units, its millimetres to so many places; "" for none."""
    if value_mm is None:
        return ""
    return length(value_mm, context.get("units", "mm"), places)
