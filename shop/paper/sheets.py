"""What each form says of one instrument, ready for its template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

from django.utils import timezone

from shop.catalogue.book import KitItem, Sheet
from shop.craft import head
from shop.craft.hardware import Article, Bushing, Family, Head, TunerSet
from shop.craft.words import mm, several
from shop.floor.board import State
from shop.paper.refusing import NeckIsPaired, NoLiveTag, NoNeck, NotPrinted
from shop.stock import shelf

Standing = Literal["in", "short", "open"]


def traveller(one: State, now: datetime) -> dict[str, Any]:
    """The A5 sheet that goes with the instrument."""
    spec = one.sheet.spec
    articles = (line.article for line in one.kit)
    machines = next((part for part in articles if isinstance(part, TunerSet)), None)
    return {
        "hand": hand_and_strings(one.sheet),
        "hardware": [Fitted(line) for line in one.kit],
        "operations": operations(one),
        "limits": limits(one.sheet),
        "fit_limits": fit_limits(one.sheet),
        "front": head.draw(spec, "front", machines),
        "back": head.draw(spec, "back", machines),
        "printed_at": moment(now),
    }


def body_tag(one: State, now: datetime) -> dict[str, Any]:
    """The A7 tag on the body; what hangs for weeks carries nothing that goes stale soon."""
    return {"hand": hand_and_strings(one.sheet), "sides": ("front", "back")}


def neck_tag(one: State, now: datetime) -> dict[str, Any]:
    """The A8 tag on the neck. Raises ``NoNeck`` while there is none."""
    if one.neck is None:
        raise NoNeck(one.serial)
    return {
        "hand": hand_and_strings(one.sheet),
        "last_four": one.neck[-4:],
        "peghead": mm(one.sheet.spec.peghead_mm),
        "sides": ("front", "back"),
    }


def without_tag(one: State, part: str) -> NotPrinted:
    """Why no tag is printed for this body or neck, which has none in use."""
    if part == "neck" and one.neck is None:
        return NoNeck(one.serial)
    pairing = one.sheet.pairing
    if part == "neck" and one.neck and pairing and pairing.code in one.done_codes:
        return NeckIsPaired(one.serial, one.neck)
    return NoLiveTag(one.serial, part)


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
        "strings": several(one.sheet.spec.strings, "string"),
        "lines": lines,
        "sets": [line for line in lines if line.article.family is Family.TUNERS],
        "missing": missing,
        "nothing_in": len(missing) == len(lines),
        "picked_by": tray["closer"] or "",
        "closed_at": moment(tray["closed_at"]) if tray["closed_at"] else "",
    }


def moment(at: datetime) -> str:
    """A moment on the shop's clock, as it stays readable for years."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def hand_and_strings(sheet: Sheet) -> str:
    return f"{sheet.spec.hand.value} · {several(sheet.spec.strings, 'string')}"


@dataclass(frozen=True, slots=True)
class Fitted:
    """A line of hardware on the traveller."""

    line: KitItem

    @property
    def family(self) -> str:
        return self.line.article.family.value

    @property
    def words(self) -> str:
        article = self.line.article
        split = f", {sides(article.left, article.right)}" if isinstance(article, TunerSet) else ""
        return f"{named(article, self.line.quantity)}{split}"


def named(article: Article, quantity: int = 1) -> str:
    """An article in words: how many, what, of which metal."""
    metal = f", {article.metal.value}" if article.metal else ""
    count = f"{quantity} × " if quantity > 1 else ""
    return f"{count}{article.name}{metal}"


def sides(left: int, right: int) -> str:
    """How many machines belong on each side.

    >>> sides(6, 0)
    '6 L'
    """
    return " + ".join(f"{count} {side}" for count, side in ((left, "L"), (right, "R")) if count)


@dataclass(frozen=True, slots=True)
class Line:
    """An operation on the traveller; ``badge`` and ``at`` are empty until it is done."""

    code: str
    name: str
    badge: str
    at: str


def operations(one: State) -> list[Line]:
    """Every operation of the route in shop order, with who did it last and when."""
    done = {step.operation: step for step in sorted(one.done, key=lambda step: step.at)}
    return [
        Line(
            stop.code,
            stop.facts.name,
            done[stop.code].by if stop.code in done else "",
            moment(done[stop.code].at) if stop.code in done else "",
        )
        for stop in one.sheet.stops
    ]


def limits(sheet: Sheet) -> list[tuple[str, str]]:
    """The key figures of the spec: set-up and the holes in the head."""
    spec = sheet.spec
    rows = list(sheet.targets)
    if spec.bushing is not Bushing.NONE and spec.bushing_hole_mm is not None:
        rows.append((f"hole, {spec.bushing.words}", mm(spec.bushing_hole_mm)))
    post = "roller hole" if spec.head is Head.SLOTTED else "post hole"
    rows.append((post, mm(spec.post_hole_mm)))
    return rows


def fit_limits(sheet: Sheet) -> list[tuple[str, str]]:
    """Code and limits of the operations that fit the tuning machines: those that take the
    tray at the station where the machines are used."""
    stations = {
        stop.station_code
        for line in sheet.kit
        if line.article.family is Family.TUNERS and (stop := sheet.stop(line.used_at))
    }
    return [
        (stop.code, stop.limits)
        for stop in sheet.stops
        if stop.station_code in stations and stop.facts.needs == "tray" and stop.limits
    ]


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
        return f"{count}{self.article.family.words}"

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
