"""The square on a form and the code printed beside it."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings

from shop.craft.code import pretty
from shop.paper.symbol import Symbol, symbol


@dataclass(frozen=True, slots=True)
class Scan:
    """``code``: what is printed beside the square, for who has to type it."""

    code: str
    square: Symbol

    @classmethod
    def of(cls, code: str) -> Scan:
        """Of a tag's code. Raises ``AddressTooLong`` and ``AddressUnfit`` as ``symbol``."""
        return cls(code, symbol(tag_address(code)))

    @property
    def printed(self) -> str:
        return pretty(self.code)

    @property
    def halves(self) -> tuple[str, str]:
        """The printed code on two lines, where the form is narrow."""
        head, tail = self.printed.split("-")
        return f"{head}-", tail


def tag_address(code: str) -> str:
    """What a tag's square holds: capitals only, so that it is read as alphanumeric."""
    return f"{settings.ADDRESS}/{code}".upper()
