"""English words in the reader's language: ``{{ finding.words|said }}``."""

from __future__ import annotations

from typing import Any

from django import template

from shop.people.languages import say

register = template.Library()


@register.filter
def said(words: Any) -> Any:
    """Words as the record has them, in the language in force. What is no text stays."""
    return say(words) if isinstance(words, str) else words
