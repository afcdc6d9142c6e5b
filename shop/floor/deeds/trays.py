"""Checking a tray at the bench; closing one at the kitting desk, and opening it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any, ClassVar

from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft import fit, partial
from shop.craft.finding import Finding, any_stop, stop
from shop.craft.hardware import Picked
from shop.craft.needed import on_the_shelf
from shop.craft.partial import Missing
from shop.floor import needs
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.prints import no_proof
from shop.floor.models import Entry, Instrument
from shop.floor.state import State
from shop.stock import ledger, shelf
from shop.stock.shelf import Coming, TrayRow


@dataclass(frozen=True, slots=True)
class TrayChecked(Deed):
    """A tray was scanned beside the body: is it this body's, and does it fit?"""

    kind: ClassVar[str] = "tray"
    follows_refused: ClassVar[bool] = True
    instrument_id: int
    tray_code: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        ground.seen = shelf.tray(self.tray_code)
        return tray_findings(now, self.tray_code, ground.seen, act.at)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A warning is taken up with a reason when the step is recorded."""
        return not any_stop(findings)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        """What the tray itself says and what the readings say stand apart: the one is cleared
        by the right tray, the other by measuring again. So readings are judged against this
        instrument's own parts, whatever was scanned."""
        now: State = ground.facts
        by_reading = fit.rules_reading({one.quantity for one in now.readings.values})
        own = tuple(one for one in findings if one.rule not in by_reading)
        worst = own[0].severity.value if own else ""
        after = now.with_check(act.station, worst).with_standing("tray", own)
        if now.readings.values:
            own_tray = ground.seen if ground.seen and ground.seen["id"] == now.tray_id else None
            after = after.with_standing("readings", judged(now, own_tray))
        ground.after = after
        return {
            "version": after.checked_version,
            "worst": after.checked_worst,
            "standing": after.kept_standing,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        Instrument.objects.filter(pk=row.number).update(
            checked_version=row.data["version"],
            checked_station=row.station,
            checked_worst=row.data["worst"],
            standing=row.data["standing"],
        )


def parts(now: State, row: TrayRow | None = None) -> tuple[Picked, ...]:
    """The parts this instrument is fitted with: what lies in its tray once that is closed,
    until then what is ordered; and what goes to the bench by batch. ``row``: its tray, where
    that was read already."""
    if now.tray_state != "closed":
        row = None
    elif row is None:
        row = shelf.tray(now.tray_id)
    batch = tuple(
        Picked(article=line.article, quantity=line.quantity)
        for line in now.kit
        if row is None or not line.in_tray
    )
    return (shelf.tray_facts(row).lines if row else ()) + batch


def judged(now: State, row: TrayRow | None = None) -> tuple[Finding, ...]:
    """What the readings in force say about the parts this instrument is fitted with, out of
    its tray ``row`` where that was read already."""
    quantities = {one.quantity for one in now.readings.values}
    return fit.measured(now.whole_call, parts(now, row), quantities)


def tray_findings(now: State, code: str, row: TrayRow | None, at: datetime) -> tuple[Finding, ...]:
    """What the tray with this code, or that there is none, says against this instrument."""
    if sheet := no_proof(code, "the label at the tray's end"):
        return sheet
    if row is None:
        return (
            stop(
                "tray unknown",
                f"No tray here carries {code}.",
                "Scan the label at the tray's end, or call the clerk.",
                call="clerk",
            ),
        )
    if row["serial"] == now.serial and row["state"] != "closed":
        return (
            stop(
                "tray open",
                f"The tray of {now.serial} is not closed by the clerk yet.",
                "Give it back to kitting to be finished.",
                call="clerk",
            ),
        )
    own = lacking(now, row, at) if row["serial"] == now.serial else ()
    return (*fit.check(now.call, shelf.tray_facts(row)), *own)


def lacking(now: State, row: TrayRow, at: datetime) -> tuple[Finding, ...]:
    """What keeps a tray with lines short from the bench: what it lacks is used next, or is
    not promised in time. Where nothing is short nothing is asked for."""
    short = [line for line in row["lines"] if line["state"] == "short"]
    if not short:
        return ()
    instead = shelf.drawn(now.serial)  # for its repair: on the guitar, whatever its tray lacks
    short = [one for one in short if len(instead.get(one["item_id"], ())) < one["quantity"]]
    local = localtime(at)
    earliest = needs.of(now, local)
    items = sorted({line["item_id"] for line in short})
    coming = shelf.coming(items)
    # At the bin the clerk has just said that there is none, whatever the figures say.
    free = shelf.free(items) if row["state"] == "closed" else dict.fromkeys(items, 0)
    missing = []
    for line in short:
        kept = line["reserved"] if row["state"] == "closed" else 0
        here = max(kept, free[line["item_id"]]) >= line["quantity"]
        day = _promised(coming[line["item_id"]], line["quantity"], local.date())
        missing.append(
            Missing(
                key=line["article"].key,
                name=line["article"].name,
                used_at=line["used_at"],
                needed_at=earliest.get(line["used_at"]),
                promised=local if here else on_the_shelf(day, local) if day else None,
                here=here,
            )
        )
    stands = now.stands(local)
    done = {one.operation for one in stands.counted}
    return partial.may_go(missing, partial.next_of(stands.route, done), local)


def _promised(coming: Sequence[Coming], quantity: int, today: date) -> date | None:
    """The day by which so many of an item have come, by what is on order of it. What is
    overdue counts for nothing; where all of it is, its day tells so."""
    ahead = [one for one in coming if one.due_on >= today]
    so_far = 0
    for one in ahead:
        so_far += one.quantity
        if so_far >= quantity:
            return one.due_on
    overdue = [one.due_on for one in coming if one.due_on < today]
    return max(overdue, default=None)


@dataclass(frozen=True, slots=True)
class TrayClosed(Deed):
    """The clerk closes a tray; what lies in it leaves the shelf."""

    kind: ClassVar[str] = "tray close"
    tray_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        rows = Instrument.objects.filter(tray_id=self.tray_id).values_list("pk", flat=True)
        return held(rows.first() or 0)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        return close_findings(now, act.at)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        ledger.close_tray(self.tray_id, act.by_id, act.at)
        now: State = ground.facts
        # What follows into a tray that was opened again may be on the guitar already.
        for code in sorted({one.operation for one in now.stands(localtime(act.at)).counted}):
            if any(one.in_tray and one.used_at == code for one in now.kit):
                ledger.consume(self.tray_id, code, act.by_id, act.at)
        return {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own: nothing of the floor follows."""


@dataclass(frozen=True, slots=True)
class TrayOpened(Deed):
    """A closed tray is opened again: what was short follows, or something is exchanged.

    What is fitted stays fitted. What still lies in the tray is in its bin again by the
    figures, and kept for this tray. The bench scans it anew once it is closed again.
    """

    kind: ClassVar[str] = "tray open"
    tray_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        rows = Instrument.objects.filter(tray_id=self.tray_id).values_list("pk", flat=True)
        return held(rows.first() or 0)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        found = []
        if now.ended or now.finished_at is not None:
            words = (
                f"{now.serial} is {now.ended or 'finished'}: nothing goes into its tray any more."
            )
            found.append(stop("ended", words, "Leave the tray as it is.", call="lead"))
        elif now.tray_state != "closed":
            words = f"The tray of {now.serial} is open already."
            found.append(stop("tray open", words, "Take what is to go in, and close it.", call=""))
        elif not act.reason:
            words = f"The tray of {now.serial} is closed. Opened again, it is checked anew."
            found.append(stop("why open", words, "Say why you open it.", call=""))
        return tuple(found)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if recorded:
            ledger.open_tray(self.tray_id, act.by_id, act.at)
        return {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own; its version has risen, so the bench asks for it."""


def close_findings(now: State, at: datetime) -> tuple[Finding, ...]:
    """What stands against closing this instrument's tray as it is picked now."""
    row = shelf.tray(now.tray_id)
    if row is None or row["state"] == "closed":
        return (
            stop(
                "tray closed",
                f"The tray of {now.serial} is closed already; stock went down then.",
                "Nothing more to do here.",
                call="",
            ),
        )
    if left := [line["article"].key for line in row["lines"] if line["state"] == "open"]:
        return (
            stop(
                "tray unpicked",
                f"{len(left)} still to pick: {', '.join(left)}.",
                "Take them, or mark them short.",
                call="",
            ),
        )
    unchecked: tuple[Finding, ...] = ()
    if left := [line["article"].key for line in row["lines"] if line["to_check"]]:
        words = f"{len(left)} still to check: {', '.join(left)}."
        then = "Scan or count each line as it lies in the tray."
        unchecked = (stop("tray unchecked", words, then, call=""),)
    return (
        *fit.check(now.call, shelf.tray_facts(row)),
        *_superseded(now, row),
        *_cover(row),
        *lacking(now, row, at),
        *unchecked,
    )


def _superseded(now: State, row: TrayRow) -> tuple[Finding, ...]:
    """An item that was superseded is kept for repairs: nothing new is built with it, unless
    the guitar's own kit still asks for it."""
    if now.rework is not None:
        return ()
    own = {line.article.key for line in now.kit}
    others = [
        line["put_in"].key
        for line in row["lines"]
        if line["put_in"]
        and line["put_in"].key not in own
        and line["quantity"] > line["fitted"] + line["returned"]
    ]
    gone = book.obsolete(others) if others else frozenset()
    return tuple(
        stop(
            "obsolete",
            f"{key} is superseded and kept for repairs; {now.serial} is new work.",
            "Put it back in its bin and take what is on the list.",
            call="lead",
        )
        for key in dict.fromkeys(others)
        if key in gone
    )


def _cover(row: dict[str, Any]) -> tuple[Finding, ...]:
    """Each line taken comes out of a lot that can give it."""
    bare = shelf.not_covered(row["id"])
    return tuple(
        stop(
            "count",
            line.held
            or f"{line.key}: {line.on_hand} on hand, {line.reserved} kept for others, "
            f"{line.quantity} put in.",
            "Take another lot, or mark the line short."
            if line.held
            else "Count the bin, or mark the line short.",
            call="lead",
        )
        for line in bare
    )
