"""How large a code stands in the room it has."""

from __future__ import annotations

from typing import Final

WIDE: Final = 0.6021  # a symbol of DejaVu Sans Mono, of its size

CAPITAL: Final = 0.75  # likewise: a bold capital of DejaVu Sans with a space now and then


def type_size(code: str, width_mm: float, most_mm: float) -> str:
    """The size of type, as style sheets write it, in which a code fills this width at most.
    All symbols are as wide as the next in the type of codes. A capital has 0.729 of it.

    >>> type_size("A-03", 97, 30), type_size("AB-1234", 97, 30)
    ('30.00mm', '23.01mm')
    """
    return f"{min(most_mm, width_mm / (WIDE * max(len(code), 1))):.2f}mm"


def capitals_size(words: str, width_mm: float, most_mm: float) -> str:
    """The same for words in bold capitals, which are not all as wide as the next: what is
    wider than most takes a second line.

    >>> capitals_size("RELEASE NOT BEFORE", 88, 6.8)
    '6.52mm'
    """
    return f"{min(most_mm, width_mm / (CAPITAL * max(len(words), 1))):.2f}mm"
