"""The labels of the shelf: on a bin, and on a lot in it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from shop.craft.hardware import Article
from shop.craft.size import plain
from shop.craft.words import THIN
from shop.paper.facts.saying import named
from shop.paper.facts.sizing import type_size
from shop.paper.scan import Scan
from shop.stock.shelf import BinSays, LotSays


def bin_label(one: BinSays, now: datetime) -> dict[str, Any]:
    """The A7 label on a bin, read from 2 m off."""
    place = one.place
    return {
        "scan": Scan.at(f"B/{one.code}", f"BIN {one.code}"),
        "size": type_size(one.code, 97, 23),
        "typed_size": type_size(f"BIN {one.code}", 66, 7),
        "aisle": place.aisle if place else "",
        "along": f"{plain(place.along_m)}{THIN}m" if place else "",
        "belongs": [(it.article, _full_name(it.article, it.piece)) for it in one.belongs],
    }


def lot_label(one: LotSays, now: datetime) -> dict[str, Any]:
    """The A8 label on a box or bag of a lot."""
    words, printed = f"{one.article.key} {one.code}", f"LOT {one.number}"
    return {
        "scan": Scan.at(f"L/{one.number}", printed),
        "words": words,
        "size": type_size(words, 66, 10),
        "typed_size": type_size(printed, 39, 8.5),
        "name": _full_name(one.article, one.piece),
    }


def _full_name(article: Article, piece: str) -> str:
    """An article in words; single machines of a broken set are told from whole ones."""
    return f"{named(article)}: {_(piece)}" if piece else named(article)
