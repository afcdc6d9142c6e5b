"""How a lot is named that is set apart: off an instrument, or found on a day."""

from __future__ import annotations

from typing import Final

OFF: Final = "off "
FOUND: Final = "found "


def is_apart(code: str) -> bool:
    """Whether a lot of this name is what came off an instrument or was found.

    >>> is_apart("off Q-1043"), is_apart("31-02A")
    (True, False)
    """
    return code.casefold().startswith((OFF, FOUND))


def off(code: str) -> str:
    """The instrument that what is set apart came off; nothing for what was found.

    >>> off("off Q-1043"), off("found 2031-03-03")
    ('Q-1043', '')
    """
    return code.removeprefix(OFF) if code.startswith(OFF) else ""
