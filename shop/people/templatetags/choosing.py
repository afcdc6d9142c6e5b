"""What there is to choose from, and which of several ways is the one in force."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template

from shop.people.lately import lately

register = template.Library()


@register.filter
def of(chosen: Mapping[str, Any], what: str) -> Any:
    """What was chosen of one thing: ``{{ chosen|of:what }}``."""
    return chosen[what]


@register.simple_tag(takes_context=True)
def last_badges(context: Mapping[str, Any], but: str = "") -> list[str]:
    """The badges that signed in at this phone last: ``{% last_badges badge as last %}`` leaves
    one out."""
    request = context.get("request")
    return [one for one in lately(request) if one != but] if request else []
