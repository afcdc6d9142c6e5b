"""What one instrument is to get, and what lies in its tray."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from shop.craft.hardware.articles import Article, Family, Metal
from shop.craft.hardware.specs import SpecFacts
from shop.craft.reading import Readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One line of the kit this instrument is to get."""

    key: str
    name: str
    family: Family
    quantity: int = 1
    substitutes: frozenset[str] = frozenset()  # approved for this line
    approvals: tuple[tuple[str, str], ...] = ()  # who approved each substitute, when and why
    approved_metal: Metal | None = None  # a deviation the buyer agreed to
    agreed: str = ""  # by whom, where the line itself is a deviation

    def allows(self, key: str) -> bool:
        """Whether an article of this key is the one ordered or an approved substitute."""
        return key == self.key or key in self.substitutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """One line of what lies in the tray."""

    article: Article
    quantity: int = 1
    left_counted: int | None = None  # machines counted into the left well
    right_counted: int | None = None
    lot: str = ""
    plating: str = ""  # the bath it was plated in, where it is not the lot's own code
    best_before: date | None = None  # of the lot


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayFacts:
    """A kit tray: whose it is, which spec revision it was built to, what lies in it."""

    code: str
    serial: str
    spec: str
    revision: int
    lines: tuple[Picked, ...]
    missing: tuple[Wanted, ...] = ()  # lines picked short


UNMEASURED: Final = Readings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """What one instrument calls for: its serial, its spec, its own kit with deviations,
    and what has been measured on it so far."""

    serial: str
    spec: SpecFacts
    kit: tuple[Wanted, ...]
    readings: Readings = UNMEASURED
    whole: bool = True  # the kit is all of it, and not only what lies in a tray
    ship_on: date | None = None

    def line_for(self, article: Article) -> Wanted | None:
        """The kit line an article was picked for: the one that allows it, else its family's.

        ``None`` when this guitar takes nothing of that family.
        """
        of_family = [line for line in self.kit if line.family is article.family]
        allowing = [line for line in of_family if line.allows(article.key)]
        return next(iter(allowing + of_family), None)
