"""What the clerk says at a bin."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Self
from urllib.parse import urlencode

from shop.craft.gauging import whole
from shop.stock.ledger import PutIn
from shop.stock.shelf import BinStop

MOST_MACHINES: Final = 14
COUNT: Final = (
    f"A well holds 0 to {MOST_MACHINES} machines. Count left and right, seen from the front."
)
UNSCANNED: Final = "0"  # in the place of a label: there was none
_WELL: Final = re.compile(r"(?:left|right)-[0-9]{1,9}")
_KEPT: Final = ("at", "bin", "lot", "found", "left", "short")


class Unclear(Exception):
    """What was sent cannot be taken as it is; the text says why and what to do."""


@dataclass(frozen=True)
class AtBin:
    """Where a clerk stands at one stop, as the page's address and its form carry it: which stop,
    what was scanned there, how many are counted. Nothing of it is kept anywhere else."""

    said: Mapping[str, str]

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> Self:
        """What of these fields belongs to a stop. A later field of a name counts."""
        return cls({name: sent[name] for name in sent if name in _KEPT or _WELL.fullmatch(name)})

    def having(self, **more: str) -> AtBin:
        return AtBin({**self.said, **more})

    @property
    def address(self) -> str:
        return urlencode(self.said)

    @property
    def stop(self) -> str:
        return self.said.get("at", "")

    @property
    def lot_id(self) -> int | None:
        """The lot that was scanned; none where there was no label, or no scan yet."""
        return whole(self.said.get("lot", "")) or None

    @property
    def bin_told(self) -> bool:
        return bool(self.said.get("bin"))

    @property
    def lot_told(self) -> bool:
        return bool(self.said.get("lot"))

    @property
    def asks_left(self) -> bool:
        """Whether fewer were found than wanted, and what is left in the bin is to be counted."""
        return bool(self.said.get("short"))

    def stepped(self, step: str) -> AtBin:
        """One more or one less in a field: "found:-1". What is no such step changes nothing."""
        name, _, by = step.partition(":")
        now = whole(self.said.get(name, "0") or "0")
        if by not in {"1", "-1"} or now is None:
            return self
        return self.having(**{name: str(max(0, now + int(by)))})

    def count(self, name: str, most: int, told: str) -> int:
        """The number in a field. Raises ``Unclear`` with these words where it cannot be."""
        found = whole(self.said.get(name, ""))
        if found is None or found > most:
            raise Unclear(told)
        return found

    def found(self, stop: BinStop) -> int:
        """How many were taken out of the bin. Raises ``Unclear``."""
        told = f"Take 0 to {stop.take} here, and say how many you took."
        return self.count("found", stop.take, told)

    def well(self, side: str, line_id: int, stop: BinStop) -> str:
        """What stands in the field of a well: as counted, or what the set is to have there."""
        usual = getattr(stop.article, side, 0)
        return self.said.get(f"{side}-{line_id}", str(usual))

    def put_in(self, stop: BinStop, line_id: int) -> PutIn:
        """What goes into the tray of a line. Raises ``Unclear`` where a well was not counted."""
        wells: tuple[int | None, int | None] = (None, None)
        if stop.by_wells:
            left, right = (
                self.count(f"{side}-{line_id}", MOST_MACHINES, COUNT) for side in ("left", "right")
            )  # fmt: skip
            wells = left, right
        return PutIn(line_id, stop.item_id, *wells, lot_id=self.lot_id)
