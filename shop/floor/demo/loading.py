"""Filling an empty database with the demo workshop."""

from __future__ import annotations

import json
import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, Literal

from django.db import transaction
from django.utils import timezone

from shop.catalogue import book, revising
from shop.catalogue.book import Sheet
from shop.craft.hardware import Family
from shop.craft.route import Done, ready_at
from shop.craft.start import Person
from shop.floor import states
from shop.floor.areas import looks_of
from shop.floor.demo import gauges, measuring, racking
from shop.floor.door import (
    Act,
    Agreed,
    Gauged,
    Outcome,
    PartArrived,
    Placed,
    Racked,
    Released,
    RoomRead,
    StepDone,
    TrayChecked,
    TrayClosed,
    record,
)
from shop.floor.models import Body, Entry, Instrument, Tag
from shop.floor.state import State
from shop.people import badges
from shop.stock import ledger, shelf

WORKSHOP = Path(__file__).with_name("workshop.json")
LEAD, CLERK = "P-01", "P-41"
STEP = timedelta(minutes=25)
# Before a step is recorded: its room is read, its tray scanned, it is measured, posts looked at.
READ_H, SCAN_H, GAUGE_H, LOOK_H = -0.06, -0.05, -0.04, -0.02
KEPT_H = -96.0  # before the morning: when the gauges were entered
RACK_H = -480.0  # when the hold rack was put up
RACKED_H = 0.05  # after its last step: when its case was put into its slot
ROOM = RoomRead(Decimal("21.0"), Decimal("47.0"))
COATED = timedelta(days=30)  # before the morning: older than any finish has to be
BATTERY_YEARS = 3  # good for so long after the morning
SIGNED_DAYS = 120  # before the morning: when people were signed off for their stations
SPARE = 1  # screw beside one for each machine
DEVICE = "demo"
PART_OF: Final[dict[str, Literal["body", "neck"]]] = {"bodies": "body", "necks": "neck"}
Row = Mapping[str, Any]


class RealWork(Exception):
    """The database holds work that is not the demo's."""


class Awry(Exception):
    """The demo data met a gate it should pass; the message says which."""


def empty() -> bool:
    """Whether nothing has been entered yet: no catalogue, no floor, no badge."""
    return book.empty() and not Body.objects.exists() and not badges.on_the_floor()


def loaded() -> bool:
    """Whether the demo workshop is what this database was filled with."""
    return Entry.objects.filter(device=DEVICE).exists()


def pin_of(badge: str) -> str:
    """The demo PIN of a badge: its digits twice."""
    return badge.split("-")[1] * 2


def example_tag() -> str:
    """The code of the body tag to try first."""
    return Tag.objects.get(body__serial="Q-1043", void_at__isnull=True).code


def tray_code(serial: str) -> str:
    """The code on the label of an instrument's tray."""
    return Instrument.objects.values_list("tray__code", flat=True).get(body__serial=serial)


def load(now: datetime, *, checklist: bool = False) -> None:
    """Load the demo workshop. Raises ``RealWork`` when the database holds anything else.

    ``checklist``: its looks ask for every area of the checklist, as the workshop that is shown
    does; without, they are as they were before there was one.
    """
    if not empty():
        raise RealWork(
            "This database holds work already. Give the demo a folder of its own, "
            "as in: bash shop/run --data /tmp/demo"
        )
    data = json.loads(WORKSHOP.read_text(encoding="utf-8"))
    if not checklist:
        for row in data["operations"]:
            row.pop("checklist", None)
    with transaction.atomic():
        Morning(data, now).fill()


@dataclass(frozen=True, slots=True)
class Doer:
    id: int
    code: str
    person: Person


class Morning:
    """One Monday at seven, and the days before it that led there."""

    def __init__(self, data: Row, now: datetime) -> None:
        self.data = data
        local = timezone.localtime(now)
        self.seven = timezone.make_aware(datetime.combine(local.date(), time(7)))
        issued = {
            row["code"]: badges.issue(
                row["code"], pin_of(row["code"]), row["roles"], row["station"]
            )
            for row in data["people"]
        }
        for row in data["people"]:
            signed_on = self.seven.date() - timedelta(days=row.get("signed_days_ago", SIGNED_DAYS))
            for station in row.get("trained", ()):
                badges.train(issued[row["code"]], station, issued[LEAD], signed_on)
        self.people = {
            code: Doer(badge.pk, code, badges.person(badge)) for code, badge in issued.items()
        }

    def fill(self) -> None:
        for revision in revising.read_in(self.data):
            revising.open_revision(revision)
        used = self._used_up()
        lots = self._receive(used)
        self._order()
        for deed in gauges.deeds(self.seven.date()):
            self._expect(self._do(LEAD, KEPT_H, deed))
        for kept in racking.deeds():
            self._expect(self._do(LEAD, RACK_H, kept))
        for part, rows in self.data["waiting"].items():
            for row in rows:
                self._arrive(PART_OF[part], row["serial"], row["spec"], -72)
        for row in self.data["instruments"]:
            self._instrument(row)
        self._do(LEAD, -0.25, ROOM)
        self._promise(lots)

    # --- the shelf ---

    def _used_up(self) -> Counter[str]:
        """How many of each item the closed trays took, and the benches out of their batches."""
        kits = {row["key"]: row["kit"] for row in self.data["specs"]}
        used: Counter[str] = Counter()
        for row in self.data["instruments"]:
            done = self._done(row)
            for one in kits[row["spec"]]:
                if one.get("in_tray", True):
                    used[one["item"]] += row.get("tray", "closed") == "closed"
                else:
                    used[one["item"]] += one["used_at"] in done
        return used

    def _receive(self, used: Counter[str]) -> dict[str, int]:
        ids = book.item_ids(list(self.data["lots"]))
        day = self.seven - timedelta(days=20)
        items = {row["key"]: row for row in self.data["items"]}
        lots = {}
        for key, row in self.data["lots"].items():
            quantity, item = row["on_hand"] + used[key], items[key]
            ledger.keep_rule(ids[key], least=row["least"], **self._kept(item, row))
            lots[key] = ledger.receive(
                ids[key],
                row["bin"],
                f"{day:%y-%m}A",
                quantity,
                day.date(),
                day,
                self._best_before() if item["family"] == Family.BATTERY else None,
                _bath(day.date(), row["plating"]) if "plating" in row else "",
            )
            ledger.place_bin(row["bin"], *_place(row["bin"]))
            ledger.count(lots[key], quantity, self.people[CLERK].id, day)
        return lots

    def _kept(self, item: Row, row: Row) -> dict[str, Any]:
        """How an item is kept: as its family is, and then as its own row says."""
        kept = self.data["kept"].get(item["family"], {}) | row["kept"]
        if item["family"] == Family.TUNERS:
            kept["small_parts"] = item["left"] + item["right"] + SPARE
        return dict(kept)

    def _order(self) -> None:
        """What is on order, and which orders of instruments are not released yet."""
        today = self.seven.date()
        ids = book.item_ids([row["item"] for row in self.data["deliveries"]])
        for row in self.data["deliveries"]:
            due_on = today + timedelta(days=row["due"])
            ledger.expect(ids[row["item"]], row["quantity"], due_on, row["order"])
        for row in self.data["orders"]:
            spec = book.spec_id(row["spec"])
            assert spec is not None  # of this very data
            due_on = today + timedelta(days=row["due"])
            ledger.book_order(
                row["ref"], spec, row["quantity"], due_on, row.get("as_agreed", False)
            )

    def _best_before(self) -> date:
        """As batteries are marked: the first of a month."""
        return self.seven.date().replace(year=self.seven.year + BATTERY_YEARS, day=1)

    def _promise(self, lots: Mapping[str, int]) -> None:
        """What is reserved beyond the demo's own trays is promised to orders to come."""
        for key, row in self.data["lots"].items():
            more = row["reserved"] - shelf.reserved(lots[key])
            if more > 0:
                ledger.promise(lots[key], more, self.seven, "promised to orders not released yet")

    # --- instruments ---

    def _arrive(self, part: Literal["body", "neck"], serial: str, spec: str, hours: float) -> None:
        coated_on = (self.seven - COATED).date() if part == "body" else None
        self._expect(self._do(LEAD, hours, PartArrived(part, serial, spec, coated_on)))

    def _instrument(self, row: Row) -> None:
        sheet, done = self._sheet(row["spec"]), self._done(row)
        times = self._times(sheet, done, row.get("last_h", -15))
        first = (times[0] - self.seven).total_seconds() / 3600 if times else -15.0
        self._arrive("body", row["body"], row["spec"], first - 60)
        self._arrive("neck", row["neck"], row["spec"], first - 60)
        self._release(row, first - 24)
        tray = row.get("tray", "closed")
        if tray != "asked":
            self._pick(row, first - 20, close=tray == "closed")
        for code, at in zip(done, times, strict=True):
            self._step(row["body"], sheet, code, (at - self.seven).total_seconds() / 3600)
        if slot := racking.LIES_IN.get(row["body"]):
            racked = Racked(self._now(row["body"]).id, slot)
            self._expect(self._do(self.data["doers"]["H"], row["last_h"] + RACKED_H, racked, "H"))

    def _done(self, row: Row) -> Sequence[str]:
        """The operations done on it so far, in their order."""
        if "done" in row:
            done: Sequence[str] = row["done"]
            return done
        codes = [stop.code for stop in self._sheet(row["spec"]).stops]
        return codes[: codes.index(row["done_to"]) + 1] if "done_to" in row else []

    def _sheet(self, spec: str) -> Sheet:
        revision = next(one for one in book.open_revisions() if one["spec__key"] == spec)
        return book.sheet(revision["id"], revision["version"])

    def _times(self, sheet: Sheet, done: Sequence[str], last_h: float) -> list[datetime]:
        """When each step was done: one after another, waits kept, the last at ``last_h``."""
        at = self.seven
        steps: list[Done] = []
        for code in done:
            ready = ready_at(sheet.route, code, steps)
            at = max(at + STEP, ready) if ready else at + STEP
            steps.append(Done(code, "", at))
        if not steps:
            return []
        shift = self.seven + timedelta(hours=last_h) - steps[-1].at
        return [one.at + shift for one in steps]

    def _release(self, row: Row, hours: float) -> None:
        today = self.seven.date()
        outcome = self._do(
            LEAD,
            hours,
            Released(
                body=row["body"],
                neck=row["neck"],
                spec=row["spec"],
                due_on=today + timedelta(days=row["due"]),
                release_on=today + timedelta(days=row.get("release", 0)),
                order=row.get("order", ""),
                urgent=row.get("urgent", False),
                destination=row.get("destination", ""),
                agreed=tuple(
                    Agreed(one["words"], one["approved"], one["out"], one["in"])
                    for one in row.get("agreed", ())
                ),
            ),
            reason="Demo",
        )
        self._expect(outcome)

    def _pick(self, row: Row, hours: float, close: bool) -> None:
        tray_id = Instrument.objects.get(body__serial=row["body"]).tray_id
        tray = shelf.tray(tray_id)
        assert tray is not None  # released just now
        left_right = row.get("counted")
        picks = []
        for line in tray["lines"]:
            short = line["article"].key in row.get("short", ())
            wells: tuple[int, int] | tuple[None, None] = (None, None)
            if line["article"].family is Family.TUNERS and not short:
                wells = (line["article"].left, line["article"].right)
                wells = (left_right[0], left_right[1]) if left_right else wells
            picks.append(
                ledger.PutIn(line["id"], None if short else line["item_id"], wells[0], wells[1])
            )
        ledger.put_in(tray_id, picks)
        if not close:
            return
        at = self.seven + timedelta(hours=hours)
        for line, pick in zip(tray["lines"], picks, strict=True):
            if pick.item_id is not None:
                ledger.check_line(line["id"], "count", line["quantity"], self.people[CLERK].id, at)
        if left_right:
            # The story of this tray: it was closed by eye, before wells were counted.
            ledger.close_tray(tray_id, self.people[CLERK].id, at)
        else:
            self._expect(self._do(CLERK, hours, TrayClosed(tray_id), station="K"))

    def _step(self, serial: str, sheet: Sheet, code: str, hours: float) -> None:
        stop = sheet.stop(code)
        assert stop is not None  # the route is this very data's
        by, station = self.data["doers"][stop.station_code], stop.station_code
        if stop.facts.glue:
            self._expect(self._do(by, hours + READ_H, ROOM))
        now = self._now(serial)
        if stop.facts.needs == "tray" and now.checked_station != station:
            tray = TrayChecked(now.id, now.tray_code)
            self._expect(self._do(by, hours + SCAN_H, tray, station))
        if values := measuring.readings(now, stop):
            # A look is not measured before it may be taken.
            at = hours if code in looks_of(now) else hours + GAUGE_H
            self._expect(self._do(by, at, Gauged(now.id, code, values), station))
        if stop.facts.positions:
            placed = Placed(now.id, code, measuring.marks(now))
            self._expect(self._do(by, hours + LOOK_H, placed, station, "The demo has no camera"))
        if stop.facts.checklist:
            for looked in measuring.looked_at(now, stop):
                self._expect(self._do(by, hours, looked, station))
        neck = ""
        if stop.facts.needs == "neck":
            neck = Tag.objects.get(neck__serial=now.neck, void_at__isnull=True).code
        self._expect(self._do(by, hours, StepDone(now.id, code, neck), station))

    @staticmethod
    def _now(serial: str) -> State:
        now = states.by_serial(serial)
        assert now is not None  # released from this very data
        return now

    def _do(self, by: str, hours: float, deed: Any, station: str = "", reason: str = "") -> Outcome:
        doer = self.people[by]
        act = Act(
            key=uuid.uuid4(),
            by_id=doer.id,
            by=doer.code,
            at=self.seven + timedelta(hours=hours),
            station=station,
            device=DEVICE,
            reason=reason,
            person=doer.person,
        )
        return record(act, deed)

    @staticmethod
    def _expect(outcome: Outcome) -> None:
        if not outcome.done:
            raise Awry(f"{outcome.subject}: " + " ".join(one.words for one in outcome.findings))


def _bath(day: date, letter: str) -> str:
    """A plating lot as it is marked: its year, its week, and which bath of that week."""
    year, week, _ = day.isocalendar()
    return f"{year % 100:02}-{week:02}{letter}"


def _place(bin_code: str) -> tuple[int, Decimal]:
    """Where a bin stands: its letter is its aisle, its number the metres along it."""
    letter, _, number = bin_code.partition("-")
    return ord(letter) - ord("A") + 1, Decimal(number)
