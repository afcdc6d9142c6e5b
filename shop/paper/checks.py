"""What keeps a shop from printing, found when it starts."""

from __future__ import annotations

from typing import Any

from django.core.checks import CheckMessage
from django.core.checks import Warning as Warned

from shop.craft.code import LENGTH
from shop.paper import press
from shop.paper.refusing import INSTALL, NotPrinted, PressMissing
from shop.paper.scan import Scan


def address_fits(**_: Any) -> list[CheckMessage]:
    """Whether a tag can hold this shop's address with a code behind it."""
    try:
        Scan.of("0" * LENGTH)
    except NotPrinted as why:
        return [
            Warned(
                str(why),
                hint="Tags cannot be printed until then; tags that hang already keep working "
                "as long as this machine answers at the address printed on them.",
                id="paper.W001",
            )
        ]
    return []


def press_is_there(**_: Any) -> list[CheckMessage]:
    """Whether the libraries that lay out a page are installed."""
    try:
        press.typesetter()
    except PressMissing as why:
        return [Warned(str(why), hint=f"On Debian: {INSTALL}", id="paper.W002")]
    return []
