"""Where did pieces of a lot go? Every instrument, tray and person that had of it.

A lot is looked at with its kin: the singles its sets were broken into, what of it came off an
instrument and was set apart, and what these became. All that is one maker's lot in the end.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.db.models import F, Q

from shop.craft.apart import OFF, off
from shop.stock.answers.lots import PIECES
from shop.stock.models import Lot, Movement, TrayLine

# Movements of one act that lead from one lot into another.
BETWEEN: Final = ("moved", "broken", "made")


@dataclass(frozen=True, slots=True)
class Kin:
    """The lot itself, or one that pieces of it went into or came from."""

    id: int
    code: str
    piece: str
    plating: str
    bin: str
    on_hand: int
    held: str

    @property
    def words(self) -> str:
        """As in "31-02A, left singles"."""
        return ", ".join(filter(None, (self.code, PIECES[self.piece])))


@dataclass(slots=True)
class Use:
    """What one instrument had of one lot. Moments are those of the movements.

    ``quantity`` went out to it and did not come back sealed; ``fitted`` of that were put on;
    ``off`` came off it and were set apart. ``kept`` are reserved or picked, and in the bin by
    the figures.
    """

    serial: str
    lot: Kin
    tray: str = ""
    quantity: int = 0
    fitted: int = 0
    off: int = 0
    kept: int = 0
    drawn: bool = False  # for a repair, and not out of a tray
    picked_by: str = ""
    checked_by: str = ""
    closed_by: str = ""
    fitted_by: str = ""
    first_at: datetime | None = None
    fitted_at: datetime | None = None
    others: list[str] = field(default_factory=list)  # who gave it out, back, or for a repair

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody who had pieces of the lot in hand for it."""
        told = (self.picked_by, self.checked_by, self.closed_by, self.fitted_by, *self.others)
        return tuple(dict.fromkeys(filter(None, told)))

    @property
    def stage(self) -> str:
        """How far it went, in a word or two."""
        if self.drawn:
            return "drawn for its repair"
        if self.fitted:
            return "fitted"
        if self.quantity:
            return "in its tray"
        if self.kept:
            return "kept for it"
        return "came off it" if self.off else "came back"


@dataclass(frozen=True, slots=True)
class Used:
    """A lot with its kin, and every use of them: the earliest first."""

    lot: Kin
    key: str
    name: str
    kin: tuple[Kin, ...]
    uses: tuple[Use, ...]

    @property
    def serials(self) -> tuple[str, ...]:
        """Each instrument once."""
        return tuple(dict.fromkeys(one.serial for one in self.uses))

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody who had pieces of it in hand, each once."""
        return tuple(sorted({code for one in self.uses for code in one.people}))


def used(lot_id: int) -> Used | None:
    """Where the pieces of this lot and of its kin went, in seven statements at most."""
    asked = Lot.objects.filter(pk=lot_id).values_list("item_id", "item__key", "item__name").first()
    if asked is None:
        return None
    item_id, key, name = asked
    lots = {
        row[0]: Kin(*row)
        for row in Lot.objects.filter(item_id=item_id).values_list(
            "id", "code", "piece", "plating", "bin__code", "on_hand", "held"
        )
    }
    family = _family(lot_id, lots)
    uses = _uses({number: lots[number] for number in family})
    kin = sorted((lots[one] for one in family if one != lot_id), key=lambda one: one.id)
    return Used(lots[lot_id], key, name, tuple(kin), tuple(uses))


def _family(lot_id: int, lots: dict[int, Kin]) -> set[int]:
    """The lot and all that are linked to it, however far."""
    links: dict[int, set[int]] = defaultdict(set)
    for one, other in (*_converted(lots), *_came_off(lots)):
        links[one].add(other)
        links[other].add(one)
    found: set[int] = set()
    ends = [lot_id]
    while ends:
        one = ends.pop()
        found.add(one)
        ends.extend(links[one] - found)
    return found


def _converted(lots: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Lots between which one act moved pieces: a set broken, made, or looked at."""
    rows = Movement.objects.filter(lot_id__in=list(lots), kind__in=BETWEEN)
    acts: dict[Any, list[int]] = defaultdict(list)
    for lot_id, *act in rows.order_by("id").values_list("lot_id", "at", "by_id", "serial"):
        acts[tuple(act)].append(lot_id)
    for together in acts.values():
        yield from ((together[0], other) for other in together[1:])


def _came_off(lots: dict[int, Kin]) -> Iterator[tuple[int, int]]:
    """Lots set apart off an instrument, each with the lots its trays had of the item."""
    apart = {serial: one.id for one in lots.values() if (serial := off(one.code))}
    if not apart:
        return
    lines = TrayLine.objects.filter(tray__serial__in=list(apart), lot_id__in=list(lots))
    for serial, lot_id in lines.values_list("tray__serial", "lot_id"):
        yield apart[serial], lot_id


def _uses(lots: dict[int, Kin]) -> list[Use]:
    found: dict[tuple[str, str, int], Use] = {}

    def of(serial: str, tray: str, lot_id: int) -> Use:
        key = serial, tray, lot_id
        if key not in found:
            found[key] = Use(serial, lots[lot_id], tray)
        return found[key]

    for row in _moved(lots):
        serial = row["tray__serial"] or row["serial"] or off(lots[row["lot_id"]].code)
        if serial:
            _add(of(serial, row["tray__code"] or "", row["lot_id"]), row)
    noted: Counter[int] = Counter()
    for line in _lines(lots):
        lot_id = line["lot_id"] if line["state"] == "taken" else line["reserved_lot_id"]
        if lot_id not in lots:
            continue
        one = of(line["tray__serial"], line["tray__code"], lot_id)
        if line["tray__state"] != "closed":
            one.kept += line["quantity"] if line["state"] == "taken" else line["reserved"]
        if line["state"] == "taken":
            one.picked_by = line["walk__by__code"] or one.picked_by
            one.checked_by = line["checked_by__code"] or one.checked_by
            one.closed_by = line["tray__closed_by__code"] or one.closed_by
            noted[id(one)] += line["fitted"]
    for one in found.values():
        # Of what was fitted before movements said so, the lines alone know.
        one.fitted = max(one.fitted, noted[id(one)])
    uses = [one for one in found.values() if one.first_at or one.kept]
    return sorted(uses, key=_when)


def _when(one: Use) -> tuple[bool, float, str, int]:
    at = one.first_at.timestamp() if one.first_at else 0.0
    return one.first_at is None, at, one.serial, one.lot.id


def _moved(lots: Iterable[int]) -> Iterable[Mapping[str, Any]]:
    """What went out of these lots to an instrument, and what came back from one."""
    out = Q(kind__in=("deducted", "consumed", "returned", "drawn"))
    came_off = Q(kind="received") & (~Q(serial="") | Q(lot__code__startswith=OFF))
    rows = Movement.objects.filter(out | came_off, lot_id__in=list(lots))
    return rows.order_by("id").values(
        "lot_id", "kind", "on_hand", "out", "serial", "at",
        "by__code", "tray__serial", "tray__code",
    )  # fmt: skip


def _add(one: Use, row: Mapping[str, Any]) -> None:
    """One movement more of what an instrument had of a lot."""
    kind, by = row["kind"], row["by__code"] or ""
    one.first_at = one.first_at or row["at"]
    if kind == "consumed":
        # Out of a tray, or straight out of its bin where it went to the bench by batch.
        one.fitted -= row["out"] + row["on_hand"]
        one.quantity -= row["on_hand"]
        one.fitted_by, one.fitted_at = by, row["at"]
    elif kind == "received":
        one.off += row["on_hand"]
        one.others.append(by)
    else:
        one.quantity -= row["on_hand"]
        one.drawn |= kind == "drawn"
        one.others.append(by)


def _lines(lots: Iterable[int]) -> Iterator[Mapping[str, Any]]:
    """The lines that lie in a tray from these lots, and those that wait and are kept of them.

    Asked for one after the other: each goes by its own index.
    """
    numbers = list(lots)
    columns = (
        "state", "quantity", "reserved", "fitted", "lot_id", "reserved_lot_id",
        "tray__serial", "tray__code", "tray__state", "tray__closed_by__code",
        "walk__by__code", "checked_by__code",
    )  # fmt: skip
    yield from TrayLine.objects.filter(lot_id__in=numbers).values(*columns)
    kept = TrayLine.objects.filter(reserved_lot_id__in=numbers, reserved__gt=0)
    yield from (one for one in kept.values(*columns) if one["state"] != "taken")


@dataclass(frozen=True, slots=True)
class Named:
    """A lot found by what is written on its label."""

    id: int
    key: str
    name: str
    code: str
    piece: str
    bin: str
    on_hand: int


MOST_NAMED: Final = 40


def lots_named(text: str) -> list[Named]:
    """The lots, singles too, whose code or plating lot has this in it: the newest first, so
    many at most. Words beside it may name the item."""
    words = text.split()
    if not words:
        return []
    rows = Lot.objects.all()
    for one in words:
        rows = rows.filter(
            Q(code__icontains=one) | Q(plating__icontains=one) | Q(item__key__iexact=one)
        )
    return [
        Named(*row)
        for row in rows.order_by("-received_on", "-id").values_list(
            "id", "item__key", F("item__name"), "code", "piece", "bin__code", "on_hand"
        )[:MOST_NAMED]
    ]
