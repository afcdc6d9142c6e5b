"""The square on every form: a QR symbol of a tag's address (ISO/IEC 18004).

Always version 3 at level H, which holds 35 characters of the alphanumeric set and stays
readable with a tenth of it hidden under dust or compound. The same number of modules on
every form means that its size on paper is known before it is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import qrcode
from qrcode.constants import ERROR_CORRECT_H
from qrcode.util import ALPHA_NUM, MODE_ALPHA_NUM, QRData

from shop.paper.refusing import AddressTooLong, AddressUnfit

VERSION: Final = 3
QUIET: Final = 4  # modules of white on every side (ISO/IEC 18004)
MOST: Final = 35  # alphanumeric characters of version 3, level H (ISO/IEC 18004, table 7)
# The mask is written into the symbol and readers take any of the eight. Weighing them
# against each other is most of the work of making a symbol (3.5 against 0.5 ms measured),
# and no difference in reading was seen.
MASK: Final = 3

# Of the whole alphanumeric set an address uses neither the space nor the percent sign.
PLAIN: Final = frozenset(ALPHA_NUM.decode()) - set(" %")


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol. ``modules`` counts one side without the quiet zone; ``runs`` are its dark
    modules, neighbours in a row taken together: left, top and width in modules, with the
    quiet zone to the left and above."""

    version: int
    modules: int
    runs: tuple[tuple[int, int, int], ...]

    @property
    def side(self) -> int:
        """Modules along one side with the quiet zone: the width of the view box."""
        return self.modules + 2 * QUIET

    @property
    def path(self) -> str:
        """All dark modules as one path of an SVG. Separate shapes would show hairline gaps
        where they meet, and take the press several times as long."""
        return "".join(f"M{x} {y}h{width}v1h-{width}z" for x, y, width in self.runs)

    @property
    def drawing(self) -> bytes:
        """The same path as operators of a PDF, to be filled."""
        return "\n".join(
            f"{x} {y} m\n{x + width} {y} l\n{x + width} {y + 1} l\n{x} {y + 1} l\nh"
            for x, y, width in self.runs
        ).encode()


def symbol(address: str) -> Symbol:
    """The symbol of an address in capitals.

    Raises ``AddressTooLong`` beyond 35 characters and ``AddressUnfit`` for a character
    that the alphanumeric set lacks, such as a small letter.
    """
    strange = next((one for one in address if one not in PLAIN), None)
    if strange is not None:
        raise AddressUnfit(address, strange)
    if len(address) > MOST:
        raise AddressTooLong(address, MOST)
    code = qrcode.QRCode(
        version=VERSION, error_correction=ERROR_CORRECT_H, border=0, mask_pattern=MASK
    )
    code.add_data(QRData(address.encode(), mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=False)
    rows = code.get_matrix()
    return Symbol(VERSION, len(rows), tuple(_runs(rows)))


def _runs(rows: Sequence[Sequence[bool]]) -> Iterator[tuple[int, int, int]]:
    for y, row in enumerate(rows, QUIET):
        x = QUIET
        for dark, run in groupby(row):
            width = len(list(run))
            if dark:
                yield x, y, width
            x += width
