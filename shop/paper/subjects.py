"""What a form can be of, and how the things are found and chosen."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal

from shop.catalogue import book
from shop.floor import board
from shop.people import badges
from shop.stock import shelf
from shop.stock.shelf import BinSays, LotSays

Subject = Literal["instrument", "badge", "bin", "lot", "station", "gauge", "slot", "manifest"]
"""What a form can be of."""

Choice = tuple[str, str]
"""A name, and the words it is chosen by."""

_LOT: Final = re.compile(r"(?:LOT\s+)?([0-9]{1,9})")


def _lots(names: Sequence[str]) -> dict[str, LotSays]:
    """Lots by their numbers, bare or as printed: "47", "LOT 47"."""
    read = {name: _LOT.fullmatch(name) for name in names}
    numbers = {name: int(found[1]) for name, found in read.items() if found}
    lots = shelf.lot_labels(list(numbers.values()))
    return {name: lots[number] for name, number in numbers.items() if number in lots}


FIND: Final[dict[Subject, Callable[[Sequence[str]], Mapping[str, Any]]]] = {
    "instrument": board.by_serials,
    "badge": badges.cards,
    "bin": shelf.bin_labels,
    "lot": _lots,
    "station": book.station_sheets,
    "gauge": board.tools_by_name,
    "slot": board.slots_by_code,
    "manifest": board.manifests_by_number,
}
"""By what a form is of: the things that these names stand for, those that there are."""


def _badge_choices() -> list[Choice]:
    homes = dict(book.stations())
    found = []
    for one in badges.on_the_floor():
        told = (one["roles"], homes.get(one["home"], ""))
        found.append((one["code"], " · ".join(words for words in told if words)))
    return found


def _bin_choices() -> list[Choice]:
    """The bins in walking order, each with what belongs in it."""
    says = shelf.bin_labels()
    return [(code, _belongs(says[code])) for code in shelf.walking_order(list(says))]


def _belongs(label: BinSays) -> str:
    told = (f"{one.article.key} {one.article.name}" for one in label.belongs)
    return " · ".join(dict.fromkeys(told))


def _lot_choices() -> list[Choice]:
    """The lots that lie in a bin, the newest first."""
    return [
        (str(number), f"{one.article.key} {one.code} · {one.bin} · {one.article.name}")
        for number, one in shelf.lot_labels().items()
    ]


CHOICES: Final[dict[Subject, Callable[[], list[Choice]]]] = {
    "badge": _badge_choices,
    "bin": _bin_choices,
    "lot": _lot_choices,
    "station": lambda: list(book.stations()),
    "gauge": lambda: [(one.name, one.words) for one in board.tools()],
    "slot": lambda: [(one.code, one.serial) for one in board.slots()],
    "manifest": lambda: [(one.number, one.carrier) for one in board.manifests()],
}
"""By what a form is of: all there is to choose from. Instruments are chosen by what is to be
done with them next, so there is no one list of them."""
