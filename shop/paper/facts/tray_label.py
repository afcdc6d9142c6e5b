"""The label in the slot of the kit tray."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

from django.utils.translation import gettext as _

from shop.craft.hardware import Article, Family, TunerSet
from shop.floor.board import State
from shop.paper.facts.saying import moment, named, sides, strings
from shop.stock import shelf

Standing = Literal["in", "short", "open"]


def tray_label(one: State, now: datetime) -> dict[str, Any]:
    """The A7 label in the slot of the kit tray."""
    tray = shelf.tray(one.tray_id)
    if tray is None:
        raise LookupError(f"Instrument {one.serial} names tray {one.tray_id}, which is gone.")
    short = sorted({row["item_id"] for row in tray["lines"] if not row["put_in"]})
    coming = shelf.coming(short) if short else {}
    promised = {item: rows[0].due_on for item, rows in coming.items() if rows}
    lines = [Packed.of(row, promised.get(row["item_id"])) for row in tray["lines"]]
    missing = [line for line in lines if line.standing != "in"]
    return {
        "strings": strings(one.sheet),
        "lines": lines,
        "sets": [line for line in lines if line.article.family is Family.TUNERS],
        "missing": missing,
        "nothing_in": len(missing) == len(lines),
        "picked_by": tray["closer"] or "",
        "closed_at": moment(tray["closed_at"]) if tray["closed_at"] else "",
    }


@dataclass(frozen=True, slots=True)
class Packed:
    """A line of the tray label. ``article`` is what lies in the tray, or what is to;
    ``promised``: the day the next of it is to come, where it is missing."""

    article: Article
    quantity: int
    standing: Standing
    lot: str
    counted: tuple[int, int] | None
    promised: date | None = None

    @classmethod
    def of(cls, row: Mapping[str, Any], promised: date | None = None) -> Packed:
        left, right = row["left_counted"], row["right_counted"]
        return cls(
            article=row["put_in"] or row["article"],
            quantity=row["quantity"],
            standing="in" if row["put_in"] else "short" if row["state"] == "short" else "open",
            lot=row["lot_code"] or "",
            counted=None if left is None or right is None else (left, right),
            promised=None if row["put_in"] else promised,
        )

    @property
    def words(self) -> str:
        count = f"{self.quantity} × " if self.quantity > 1 else ""
        return f"{count}{_(self.article.family.words)}"

    @property
    def full_name(self) -> str:
        return f"{self.article.key} {named(self.article, self.quantity)}"

    @property
    def split(self) -> str:
        """How a set of machines is to lie in the two wells; empty for anything else."""
        article = self.article
        return sides(article.left, article.right) if isinstance(article, TunerSet) else ""

    @property
    def miscounted(self) -> str:
        """What was counted into the wells, where it is not what the set should hold."""
        article = self.article
        if not isinstance(article, TunerSet) or self.counted is None:
            return ""
        if self.counted == (article.left, article.right):
            return ""
        return sides(*self.counted) or "0"
