"""The sheet that goes with the instrument."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.utils.translation import gettext as _

from shop.catalogue.book import KitItem, Sheet
from shop.craft import head
from shop.craft.fingerboard import Fingerboard, fingerboard
from shop.craft.hardware import Bushing, Family, Head, TunerSet
from shop.craft.words import mm
from shop.floor.board import State
from shop.paper.facts.saying import hand_and_strings, moment, named, sides

VIEWS: Final[tuple[head.View, ...]] = ("front", "back")


def traveller(one: State, now: datetime) -> dict[str, Any]:
    """The A5 sheet that goes with the instrument."""
    spec = one.sheet.spec
    articles = (line.article for line in one.kit)
    machines = next((part for part in articles if isinstance(part, TunerSet)), None)
    front, back = (head.draw(spec, view, machines) for view in VIEWS)
    return {
        "hand": hand_and_strings(one.sheet),
        "board": board(one),
        "hardware": hardware(one),
        "operations": operations(one),
        "limits": limits(one.sheet),
        "fit_limits": fit_limits(one.sheet),
        "front": front,
        "back": back,
        "keys": dict.fromkeys(line for it in (front, back) for _y, line in it.keys),
    }


def board(one: State) -> Fingerboard:
    """How far it is, drawn as on the phone. Whether what comes next is held is the phone's to
    say: it may change while the ink dries."""
    return fingerboard(one.sheet.route, one.done_codes, next(iter(one.next_codes), ""))


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


def hardware(one: State) -> list[Fitted]:
    """The hardware in the order in which the route fits it; what one operation fits stays in
    the order of the kit."""
    places = {stop.code: place for place, stop in enumerate(one.sheet.stops)}
    kit = sorted(one.kit, key=lambda line: places.get(line.used_at, len(places)))
    return [Fitted(line) for line in kit]


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
    rows = [(_(what), value) for what, value in sheet.targets]
    if spec.bushing is not Bushing.NONE and spec.bushing_hole_mm is not None:
        bushing = {"bushing": _(spec.bushing.words)}
        rows.append((_("hole, %(bushing)s") % bushing, mm(spec.bushing_hole_mm)))
    post = _("roller hole") if spec.head is Head.SLOTTED else _("post hole")
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
