"""The square on a form and the code printed beside it."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings

from shop.craft.code import pretty
from shop.paper.symbol import Symbol, symbol


@dataclass(frozen=True, slots=True)
class Scan:
    """``code``: what stands behind this shop's address. ``words``: what is printed beside the
    square for who has to type it, where that is not the code of a tag."""

    code: str
    square: Symbol
    words: str = ""

    @classmethod
    def of(cls, code: str) -> Scan:
        """Of a tag's code. Raises ``AddressTooLong`` and ``AddressUnfit`` as ``symbol``."""
        return cls(code, symbol(tag_address(code)))

    @classmethod
    def at(cls, path: str, printed: str) -> Scan:
        """Of a path behind the shop's address, such as ``BIN/A-03``. Raises likewise."""
        return cls(path, symbol(tag_address(path)), printed)

    @property
    def printed(self) -> str:
        return self.words or pretty(self.code)

    @property
    def halves(self) -> tuple[str, str]:
        """The printed code on two lines, where the form is narrow."""
        head, tail = self.printed.split("-")
        return f"{head}-", tail


def tag_address(path: str) -> str:
    """What a square holds, of a tag's code or another path: capitals only, so that it is read
    as alphanumeric."""
    return f"{settings.ADDRESS}/{path}".upper()
