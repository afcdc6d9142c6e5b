"""The tag of a printed form for what is set as large as its room allows."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag
def sized(words: str, size: str) -> SafeString:
    """Words on a line of their own in this size of type (``facts/sizing.py``)."""
    return format_html('<span style="display:block;font-size:{}">{}</span>', size, words)
