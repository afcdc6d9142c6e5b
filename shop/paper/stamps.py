"""What differs from one copy of a page to the next, and room for it on the page.

Laying a page out takes the press a hundred times as long as drawing it again with other
figures in the same places. So a page is laid out once with stand-ins, each in a colour of
its own by which it is found again (``plates.py``), and stamped for every instrument whose
page is the same but for these. Figures have one width in the press's type, and so have all
symbols of a code in its mono type: what is stamped lies where it would have been laid out.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from typing import Final, Literal

from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.craft.code import SYMBOLS
from shop.paper.symbol import Symbol

Kind = Literal["figures", "code"]
VARIES: Final[dict[Kind, re.Pattern[str]]] = {
    "figures": re.compile(r"[0-9]"),
    "code": re.compile(f"[{SYMBOLS}]"),
}
STAND_IN: Final = "0"
LEFTWARD: Final = {"R", "AL", "AN"}  # letters and figures of lines that run to the left (UAX #9)
MOST: Final = 0xFFFF  # stamps on one page: each has a colour


@dataclass(frozen=True, slots=True)
class Stamp:
    """What one place is to show: words, or the path of a square."""

    words: str = ""
    square: Symbol | None = None
    kind: Kind = "figures"

    @property
    def stand_in(self) -> str:
        """What is laid out in the place of the words."""
        return VARIES[self.kind].sub(STAND_IN, self.words)


@dataclass(slots=True)
class Stamps:
    """Collects what a template stamps. With ``plain`` everything is laid out as it is."""

    plain: bool = False
    them: list[Stamp] = field(default_factory=list)

    def text(self, value: object, kind: Kind = "figures") -> SafeString:
        """The value as it goes into the page. Raises ``KeyError`` for a kind there is not."""
        stamp = Stamp(str(value), kind=kind)
        words = stamp.words
        if not VARIES[kind].search(words) or _turns(words):
            return format_html("{}", words)
        if self.plain:
            return format_html('<span class="s">{}</span>', words)
        colour = self._next(stamp)
        return format_html('<span class="s" style="color:{}">{}</span>', colour, stamp.stand_in)

    def square(self, symbol: Symbol, label: str) -> SafeString:
        """The square as a drawing. ``label`` is the printed code, for who cannot see it."""
        path, colour = symbol.path, "#000000"
        if not self.plain:
            path = "M0 0h1v1h-1z"
            colour = self._next(Stamp(square=symbol))
        return format_html(
            '<svg class="scan" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0} {0}"'
            ' role="img" aria-label="{1}"><path d="{2}" fill="{3}"/></svg>',
            symbol.side,
            label if self.plain else "",
            path,
            colour,
        )

    def _next(self, stamp: Stamp) -> str:
        self.them.append(stamp)
        if len(self.them) > MOST:
            raise ValueError(f"A page has {MOST} places to stamp at most.")
        return f"#00{len(self.them):04x}"


def _turns(words: str) -> bool:
    """Whether some of it runs from right to left: the figures then lie in another order on the
    page than in the words, and none of them can be put in by its number."""
    return any(unicodedata.bidirectional(letter) in LEFTWARD for letter in words)
