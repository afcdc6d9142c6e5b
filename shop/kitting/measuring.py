"""What the clerk writes down at the receiving table."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.http import QueryDict

from shop.craft.fit import receiving
from shop.craft.gauging import NotANumber, number
from shop.craft.hardware import Article
from shop.craft.size import plain
from shop.craft.words import THIN
from shop.stock.ledger import MOST_MM

PIECES: Final = 5  # fields on the page; more pieces go in a second time


@dataclass(frozen=True, slots=True)
class Piece:
    """The field of one piece: as typed, what it is taken for, or why it is not taken."""

    text: str = ""
    value: Decimal | None = None
    fault: str = ""
    doubtful: bool = False  # taken once somebody says it is so


@dataclass(frozen=True, slots=True)
class Typed:
    """One dimension, measured on several pieces. All of them are taken, or none."""

    dimension: str = ""
    pieces: tuple[Piece, ...] = (Piece(),) * PIECES
    fault: str = ""  # of the whole, not of one piece

    @property
    def taken(self) -> bool:
        return not self.fault and not any(one.fault for one in self.pieces)

    @property
    def doubtful(self) -> bool:
        return any(one.doubtful for one in self.pieces)

    @property
    def values(self) -> list[tuple[str, Decimal]]:
        """What was measured, as the ledger takes it."""
        return [(self.dimension, one.value) for one in self.pieces if one.value is not None]


def typed(article: Article, sent: QueryDict) -> Typed:
    """What was sent of the form, read; what cannot be taken says why and stays as typed."""
    dimension, sure = sent.get("dimension", ""), "sure" in sent
    texts = [one.strip() for one in sent.getlist("value")]
    if dimension not in {one.dimension for one in receiving.measures(article)}:
        pieces = tuple(Piece(text) for text in texts)
        return Typed("", pieces, "Choose what you measured.")
    pieces = tuple(_piece(article, dimension, text, sure) for text in texts)
    empty = not any(texts)
    return Typed(dimension, pieces, "Write down at least one piece." if empty else "")


def _piece(article: Article, dimension: str, text: str, sure: bool) -> Piece:
    if not text:
        return Piece()
    try:
        value = number(text)
    except NotANumber as why:
        return Piece(text, fault=str(why))
    if not receiving.KEPT_MM <= value < MOST_MM:
        return Piece(text, fault=f"{plain(value)}{THIN}mm cannot be. Measure again.")
    doubt = "" if sure else receiving.doubt(article, dimension, value)
    return Piece(text, value, doubt, bool(doubt))
