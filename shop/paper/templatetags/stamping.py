"""Tags of a printed form: what is stamped, see ``shop/paper/stamps.py``."""

from __future__ import annotations

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from shop.paper.stamps import Kind, Stamps
from shop.paper.symbol import Symbol

register = template.Library()


@register.simple_tag(takes_context=True)
def stamp(context: Context, value: object, kind: Kind = "figures") -> SafeString:
    """A value that differs between instruments whose page is otherwise the same."""
    stamps: Stamps = context["stamps"]
    return stamps.text(value, kind)


@register.simple_tag(takes_context=True)
def square(context: Context, symbol: Symbol, label: str) -> SafeString:
    """The square to be scanned."""
    stamps: Stamps = context["stamps"]
    return stamps.square(symbol, label)
