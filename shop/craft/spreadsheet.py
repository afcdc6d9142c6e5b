"""Lists as a spreadsheet takes them."""

from __future__ import annotations

from typing import Final

# What starts so is run as a formula (OWASP ASVS 5.0, requirement 1.2.10; CWE-1236). The
# carriage return is there because some programs trim it off what follows; common practice.
FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\0")


def cells(*values: object) -> list[str]:
    """A row of which no spreadsheet takes a cell for a formula: an apostrophe says text.

    >>> cells("=1+1", "C-0417", 14)
    ["'=1+1", 'C-0417', '14']
    """
    return [f"'{text}" if (text := str(one)).startswith(FORMULA) else text for one in values]
