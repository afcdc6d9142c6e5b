"""The short codes on tags, tray labels and badge cards.

Seven symbols of base 32 as D. Crockford defined it (crockford.com/base32.html): no I, L,
O or U to mistake. The first symbol tells the kind of thing, five are drawn at random, the
last is the check: the first six read as one base-32 integer, modulo 37. As 37 is prime and
greater than any symbol's value, one wrong symbol, or two neighbours swapped, always shows.

Five of the 37 check values have no base-32 symbol (``* ~ $ = U``); codes that would end in
one are never minted, so a code fits a QR symbol's alphanumeric set and a plain keypad.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import urlsplit

from shop.craft.finding import Finding, Whom, stop
from shop.craft.words import several

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CHECK_SYMBOLS = SYMBOLS + "*~$=U"
LENGTH = 7
DRAWN = LENGTH - 2  # all but the kind and the check
PRINTED_HEAD = 4  # symbols before the hyphen in print
SHOWN = 40  # characters of foreign text a sentence quotes

ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1"})
JOINERS = {"Cc", "Cf", "Pd", "Zl", "Zp", "Zs"}  # Unicode: controls, dashes, spaces
PORTS = {"http": ":80", "https": ":443"}

# What stands on a station's card: scanned as an address that ends so, or typed.
STATION_PATH = re.compile(r"AT/(?P<station>[^/]{1,4})", re.IGNORECASE)
STATION_TYPED = re.compile(r"AT\s+(?P<station>[^\s/]{1,4})", re.IGNORECASE)


class Kind(StrEnum):
    """What a code is fixed to; the value is the code's first symbol."""

    BODY = "B"
    NECK = "N"
    TRAY = "T"
    CARD = "W"
    PAPER = "P"
    GAUGE = "G"
    SLOT = "H"

    @property
    def words(self) -> str:
        return {
            "B": "body tag",
            "N": "neck tag",
            "T": "tray label",
            "W": "badge card",
            "P": "printed sheet",
            "G": "gauge tag",
            "H": "slot label",
        }[self.value]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a scan or typed text turned out to be.

    Either ``code`` and ``kind`` are set and ``finding`` is ``None``, or ``code`` is empty
    and ``finding`` says why. Whether a good code is known or void is for the floor to say.
    """

    code: str
    kind: Kind | None
    finding: Finding | None


def check_character(symbols: str) -> str:
    """The check character of base-32 symbols in capitals, of any length.

    Raises ``ValueError`` naming the first symbol that is not one, or for no symbols.

    >>> check_character("H88CMK9BVJ1V")
    'P'
    """
    if not symbols:
        raise ValueError("There are no symbols to check: give at least one.")
    value = 0
    for symbol in symbols:
        place = SYMBOLS.find(symbol)
        if place < 0:
            raise ValueError(
                f"{symbol!r} in {symbols!r} is not a base-32 symbol: use one of {SYMBOLS}."
            )
        value = value * len(SYMBOLS) + place
    return CHECK_SYMBOLS[value % len(CHECK_SYMBOLS)]


def mint(kind: Kind, below: Callable[[int], int]) -> str:
    """A new code of a kind. ``below(n)`` draws from 0 to n-1, as ``secrets.randbelow`` does."""
    while True:
        symbols = kind.value + "".join(SYMBOLS[below(len(SYMBOLS))] for _ in range(DRAWN))
        check = check_character(symbols)
        if check in SYMBOLS:
            return symbols + check


def pretty(code: str) -> str:
    """The printed form, easier to keep in mind while typing.

    >>> pretty("B7M49Q2")
    'B7M4-9Q2'
    """
    return f"{code[:PRINTED_HEAD]}-{code[PRINTED_HEAD:]}"


def read(text: str, own_addresses: Collection[str]) -> Reading:
    """Read a scanned or typed code, bare or as an address of this workshop.

    Case, spaces, hyphens and the look-alikes O/0 and I, L/1 do not matter.
    ``own_addresses`` are the workshop's own as ``host`` or ``host:port``.
    Never raises: what is wrong is the reading's finding.
    """
    symbols = _symbols(text)
    if not symbols:
        return _unread(
            "code empty",
            "Nothing was read.",
            f"Hold the tag flat in the frame and scan again, or type its {LENGTH} symbols.",
        )
    if "/" in text:
        host, path = _address(text)
        if host.isdisjoint(address.lower() for address in own_addresses):
            return _foreign(text, "is an address outside this workshop")
        if "/" in path or not _symbols(path):
            return _foreign(text, "is a page of this workshop, not a tag")
        text, symbols = path, _symbols(path)
    return _judged(text, symbols)


def read_station(text: str, own_addresses: Collection[str]) -> str:
    """The station whose card of this workshop was scanned, or typed as it is printed; empty for
    any other text. Whether there is such a station is for the floor to say.

    >>> read_station("HTTP://FLOOR:8000/AT/J", {"floor:8000"}), read_station("at j", ())
    ('J', 'J')
    """
    found = STATION_TYPED.fullmatch(text.strip())
    if "/" in text:
        host, path = _address(text)
        own = not host.isdisjoint(address.lower() for address in own_addresses)
        found = STATION_PATH.fullmatch(path) if own else None
    return found["station"].upper() if found else ""


def _judged(text: str, symbols: str) -> Reading:
    if abs(len(symbols) - LENGTH) > 1:
        return _foreign(text, "is not one of this workshop's codes")
    strange = next((symbol for symbol in symbols if symbol not in SYMBOLS), None)
    if strange is not None:
        return _damaged(symbols, f"has “{strange}” in it, which no code of this workshop uses")
    if len(symbols) != LENGTH:
        return _damaged(symbols, f"has {several(len(symbols), 'symbol')}, a code has {LENGTH}")
    if check_character(symbols[:-1]) != symbols[-1]:
        return _damaged(pretty(symbols), "does not add up: a symbol is misread or two are swapped")
    if symbols[0] not in set(Kind):
        return _foreign(text, "is not one of this workshop's codes")
    return Reading(symbols, Kind(symbols[0]), None)


def _symbols(text: str) -> str:
    """The text in capitals without spaces and hyphens, look-alikes resolved."""
    kept = (one for one in text if unicodedata.category(one) not in JOINERS)
    return "".join(kept).upper().translate(ALIKE)


def _address(text: str) -> tuple[set[str], str]:
    """The forms an address's host may be written in, and its path; no host if it cannot be read."""
    seen = "".join(one for one in text if unicodedata.category(one) not in JOINERS - {"Pd"})
    try:
        parts = urlsplit(seen if "://" in seen else f"//{seen}")
    except ValueError:  # such as an unclosed bracket: no address of ours looks like that
        return set(), ""
    if parts.scheme not in {"", *PORTS}:
        return set(), ""
    host, port = parts.netloc.lower(), PORTS.get(parts.scheme, "")
    return {host, host.removesuffix(port), host + port}, parts.path.strip("/")


def _shown(text: str) -> str:
    line = " ".join("".join(one if one.isprintable() else " " for one in text).split())
    return line if len(line) <= SHOWN else f"{line[:SHOWN]}…"


def _foreign(text: str, why: str) -> Reading:
    return _unread(
        "code foreign",
        f"“{_shown(text)}” {why}.",
        "Scan the square on the tag, tray label or badge card, "
        f"or type the {LENGTH} symbols beside it.",
    )


def _damaged(shown: str, why: str) -> Reading:
    return _unread(
        "code damaged",
        f"{_shown(shown)} {why}.",
        f"Scan again, or type the {LENGTH} symbols beside the square. "
        "If they cannot be read, the lead prints a new one.",
        "lead",
    )


def _unread(rule: str, words: str, then: str, call: Whom = "") -> Reading:
    return Reading("", None, stop(rule, words, then, call))
