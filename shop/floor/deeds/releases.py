"""Parts arriving, and the lead releasing an instrument to the floor."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime
from typing import Any, ClassVar, Final, Literal

from django.conf import settings
from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft import fit
from shop.craft.finding import Finding, Severity, any_stop, note, stop, warn
from shop.craft.hardware import Picked
from shop.craft.needed import DAY, SHIFT
from shop.craft.when import WEEKDAYS
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.deeds.shorts import KitShorted
from shop.floor.deeds.tags import new_code
from shop.floor.models import Body, Deviation, Entry, Instrument, Neck, Tag
from shop.floor.sharing import Taken, taking
from shop.floor.shorts import Short
from shop.stock import ledger, shelf

# As stamped or branded on the part; it has to fit every tag and label.
SERIAL: Final = re.compile(r"[A-Z0-9][A-Z0-9-]{0,15}")


@dataclass(frozen=True, slots=True)
class PartArrived(Deed):
    """A body or a neck came in from the department that made it.

    ``coated_on`` is the day of a body's last coat of finish, where it is known.
    """

    kind: ClassVar[str] = "arrival"
    part: Literal["body", "neck"]
    serial: str
    spec: str
    coated_on: date | None = None

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {"coated_on": self.coated_on and self.coated_on.isoformat()}

    def ground(self) -> Ground:
        return Ground(self.serial, facts=book.spec_id(self.spec))

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        table = Body if self.part == "body" else Neck
        if not SERIAL.fullmatch(self.serial):
            return (
                stop(
                    "serial",
                    f"{self.serial!r} is not a serial: 1 to 16 capitals, digits and hyphens.",
                    "Read the mark again.",
                    call="",
                ),
            )
        if ground.facts is None:
            return (stop("spec", f"There is no spec {self.spec}.", "Choose one of the list."),)
        if table.objects.filter(serial=self.serial).exists():
            return (
                stop(
                    "arrived",
                    f"{self.part.capitalize()} {self.serial} is here already.",
                    "Read the mark again; two parts never share a number.",
                ),
            )
        return self._coat_findings(localtime(act.at).date())

    def _coat_findings(self, today: date) -> tuple[Finding, ...]:
        """Only a body has a last coat that counts, and it lies behind today."""
        if self.coated_on is None:
            return ()
        if self.part == "neck":
            words = f"{self.serial} is a neck: the day of the last coat is kept for bodies."
            return (stop("coat", words, "Leave the day empty.", call=""),)
        if self.coated_on > today:
            words = f"Last coat {self.coated_on}, but today is {today}: that day is still to come."
            return (stop("coat", words, "Give the day of the last coat, or leave it empty.", ""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        return {"tag": new_code(self.part), "spec_id": ground.facts} if recorded else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        came: dict[str, Any] = {
            "serial": row.data["serial"],
            "spec_id": row.data["spec_id"],
            "arrived_at": row.at,
        }
        tag: dict[str, Any] = {"code": row.data["tag"], "made_at": row.at}
        if row.data["part"] == "body":
            coat = row.data["coated_on"]
            coated_on = date.fromisoformat(coat) if coat else None
            Tag.objects.create(**tag, body=Body.objects.create(**came, coated_on=coated_on))
        else:
            Tag.objects.create(**tag, neck=Neck.objects.create(**came))


@dataclass(frozen=True, slots=True)
class Agreed:
    """A deviation the buyer agreed to: an item out, another in, or words alone."""

    words: str
    approved: str
    out_key: str = ""
    in_key: str = ""


@dataclass(frozen=True, slots=True)
class Released(Deed):
    """Body, neck and kit become one instrument to build, against a spec and a due date.

    ``destination`` is the country it is exported to; empty, it stays here.
    """

    kind: ClassVar[str] = "release"
    makes_instrument: ClassVar[bool] = True
    body: str
    neck: str
    spec: str
    due_on: date
    release_on: date
    order: str = ""
    urgent: bool = False
    agreed: tuple[Agreed, ...] = ()
    destination: str = ""

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {
            "due_on": self.due_on.isoformat(),
            "release_on": self.release_on.isoformat(),
        }

    def ground(self) -> Ground:
        return Ground(self.body, facts=look(self))

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        parts: Parts = ground.facts
        taken: dict[int, tuple[Taken, ...]] = {}
        if self.urgent and not any_stop(parts.findings):
            taken = taking([(item_id, count) for item_id, count, _ in parts.tray], act.at)
        ground.seen = taken
        return (
            *parts.findings,
            *(finding for item_id, finding in parts.short.items() if item_id not in taken),
            *(note("taken", _gives(one), "") for some in taken.values() for one in some),
            *_list_closed(self.release_on, localtime(act.at)),
        )

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        parts: Parts = ground.facts
        assert parts.revision is not None  # a stop has refused it otherwise
        tray = ledger.ask_tray(
            self.body,
            parts.revision["id"],
            self.release_on,
            [ledger.Ask(*one) for one in parts.tray],
            act.by_id,
            act.at,
            urgent=self.urgent,
        )
        _take(ground.seen, tray.pk, self.body, act)
        if self.order and (spec_id := book.spec_id(self.spec)) is not None:
            ledger.order_released(self.order, spec_id)
        swaps = [[parts.items.get(one.out_key), parts.items.get(one.in_key)] for one in self.agreed]
        return {"revision_id": parts.revision["id"], "tray_id": tray.pk, "swaps": swaps}

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """Whoever gives up a part to an urgent instrument has it in its own journal."""
        if not recorded:
            return ()
        return tuple(
            KitShorted.of(one.instrument_id, one.short, f"urgent {self.body}")
            for some in ground.seen.values()
            for one in some
        )

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The instrument, under the number its rows give it, or a new one the first time."""
        said = row.data
        instrument = Instrument.objects.create(
            pk=row.instrument_id,
            body=Body.objects.get(serial=said["body"]),
            neck=Neck.objects.get(serial=said["neck"]),
            revision_id=said["revision_id"],
            due_on=date.fromisoformat(said["due_on"]),
            release_on=date.fromisoformat(said["release_on"]),
            urgent=said["urgent"],
            order=said["order"],
            destination=said["destination"],
            tray_id=said["tray_id"],
            deviations_count=len(said["agreed"]),
        )
        for one, (out_id, in_id) in zip(said["agreed"], said["swaps"], strict=True):
            Deviation.objects.create(
                instrument=instrument,
                words=one["words"],
                approved=one["approved"],
                out_item_id=out_id,
                in_item_id=in_id,
            )
        row.instrument_id = instrument.pk


@dataclass(frozen=True, slots=True)
class Parts:
    """What a release stands on, and what is missing of it."""

    body: Body | None
    neck: Neck | None
    revision: dict[str, Any] | None
    tray: tuple[tuple[int, int, str], ...]  # item, how many, the operation that fits it
    items: dict[str, int]
    findings: tuple[Finding, ...]
    short: dict[int, Finding] = field(default_factory=dict)  # by item, of what is not free


def _take(taken: Mapping[int, Sequence[Taken]], tray_id: int, serial: str, act: Act) -> None:
    """What others give up is kept for this tray."""
    if not taken:
        return
    given_up = [one.short.line_id for some in taken.values() for one in some]
    ledger.let_go(given_up, act.by_id, act.at, f"to urgent {serial}")
    lines = [one.line_id for one in shelf.awaited([tray_id]) if one.item_id in taken]
    ledger.reserve_lines(lines, act.by_id, act.at)


def _gives(one: Taken) -> str:
    """From whom an urgent instrument takes what is not free, and what that means there."""
    short = one.short
    at = f" at {short.operation}" if short.operation else ""
    return (
        f"{short.item.key} is taken from {short.serial}: due {short.due_on}, needed there "
        f"{localtime(short.needed_at):%a %Y-%m-%d %H:%M}{at}, {_next_receipt(short)}."
    )


def _next_receipt(short: Short) -> str:
    if short.receipt is None:
        return "nothing more on order"
    return f"next receipt {short.receipt.due_on}: {short.slip_words}"


def _list_closed(release_on: date, now: datetime) -> Iterator[Finding]:
    """The list of a release day closes on the last working day before it."""
    if release_on < now.date():
        return  # entered afterwards: no list is open for it
    before = release_on - DAY
    while before.weekday() not in SHIFT.days:
        before -= DAY
    if now >= datetime.combine(before, settings.KITTING_CLOSES, now.tzinfo):
        closed = f"{WEEKDAYS[before.weekday()]} {settings.KITTING_CLOSES:%H:%M}"
        yield note(
            "list closed",
            f"The list for {release_on} closed {closed}.",
            "Tell the clerk: this tray is one more.",
        )


def look(order: Released) -> Parts:
    """Everything a release needs, with a finding for each thing that is missing."""
    findings: list[Finding] = []
    body = Body.objects.select_for_update(of=("self",)).filter(serial=order.body).first()
    neck = Neck.objects.select_for_update(of=("self",)).filter(serial=order.neck).first()
    revision = next((r for r in book.open_revisions() if r["spec__key"] == order.spec), None)
    findings += part_findings("body", order.body, body, order.spec)
    findings += part_findings("neck", order.neck, neck, order.spec)
    if revision is None:
        findings.append(
            stop("spec", f"{order.spec} has no open revision.", "Open one in the catalogue.")
        )
    if order.due_on < order.release_on:
        findings.append(
            stop(
                "dates",
                f"Due {order.due_on}, but released {order.release_on}.",
                "Give a due date after the release.",
            )
        )
    keys = [key for one in order.agreed for key in (one.out_key, one.in_key) if key]
    items = book.item_ids(keys)
    findings += [
        stop("item", f"There is no item {key}.", "Choose one of the catalogue.")
        for key in keys
        if key not in items
    ]
    tray: tuple[tuple[int, int, str], ...] = ()
    if revision is not None:
        tray, more = _tray_lines(revision, order.agreed, items)
        findings += more
        # Of a kit that is named wrongly the fit would only confuse.
        findings += () if any_stop(more) else _kit_findings(revision, order.agreed, items)
    return Parts(body, neck, revision, tray, items, tuple(findings), _short(tray))


def _kit_findings(
    revision: dict[str, Any], agreed: Sequence[Agreed], items: dict[str, int]
) -> list[Finding]:
    """What stands against building the kit as agreed: an item may have changed since the
    revision was opened, and what the buyer wants may not go on this guitar."""
    sheet = book.sheet(revision["id"], revision["version"])
    named = book.articles(list(items.values()))
    swaps = {
        one.out_key: (one.approved, named[items[one.in_key]])
        for one in agreed
        if one.out_key and one.in_key in items
    }
    wanted, lines = [], []
    for line in sheet.kit:
        approved, article = swaps.get(line.article.key, ("", line.article))
        if article.family is not line.article.family:
            words = (
                f"{article.key} ({article.family.words}) cannot take the place of "
                f"{line.article.key} ({line.article.family.words})."
            )
            return [stop("deviation", words, "Put in an item of the same family.")]
        wanted.append(
            replace(
                line.wanted,
                key=article.key,
                name=article.name,
                approved_metal=article.metal if approved else None,
                agreed=approved,
            )
        )
        lines.append(Picked(article=article, quantity=line.quantity))
    found = fit.kit(sheet.spec, wanted, lines)
    return [one for one in found if one.severity is not Severity.NOTE]


def part_findings(what: str, serial: str, part: Body | Neck | None, spec: str) -> list[Finding]:
    """What stands against making an instrument of this spec of a body or a neck."""
    if part is None:
        return [stop(what, f"No {what} {serial} has arrived.", f"Book the {what} in first.")]
    if part.scrapped_at is not None:
        gone = f"{localtime(part.scrapped_at):%Y-%m-%d}"
        words = f"{what.capitalize()} {serial} was scrapped {gone}."
        return [stop(what, words, f"Choose a {what} that waits.")]
    taken = Instrument.objects.filter(**{what: part}).select_related("body").first()
    if taken is not None:
        words = f"{what.capitalize()} {serial} is released already, as {taken}."
        return [stop(what, words, f"Choose a {what} that waits.")]
    if part.spec.key != spec:
        words = f"{what.capitalize()} {serial} was made as {part.spec.key}, not {spec}."
        return [stop(what, words, f"Choose a {what} made as {spec}, or the spec {part.spec.key}.")]
    return []


def _tray_lines(
    revision: dict[str, Any], agreed: Sequence[Agreed], items: dict[str, int]
) -> tuple[tuple[tuple[int, int, str], ...], list[Finding]]:
    kit = book.sheet(revision["id"], revision["version"]).kit
    swaps = {one.out_key: one.in_key for one in agreed if one.out_key and one.in_key}
    findings = [
        stop(
            "deviation",
            f"{key} is not in this kit, so nothing can take its place.",
            "Name an item of the kit to leave out.",
        )
        for key in swaps
        if key not in {line.article.key for line in kit}
    ]
    findings += [
        stop(
            "deviation",
            f"{into} is in this kit already, so it cannot take the place of {out}.",
            "Name an item that the kit does not have yet.",
        )
        for out, into in swaps.items()
        if into in {line.article.key for line in kit}
    ]
    lines = tuple(
        (items.get(swaps.get(line.article.key, ""), line.item_id), line.quantity, line.used_at)
        for line in kit
        if line.in_tray
    )
    return lines, findings


def _short(tray: Sequence[tuple[int, int, str]]) -> dict[int, Finding]:
    """A finding for each item of which no lot has as many free as the tray is to hold."""
    free = shelf.free([item_id for item_id, _, _ in tray])
    names = book.articles([item_id for item_id, _, _ in tray])
    return {
        item_id: warn(
            "short",
            f"{names[item_id].key} {names[item_id].name}: {free[item_id]} free, {count} needed.",
            "Release it and the tray shows the line short, or wait for the part.",
        )
        for item_id, count, _ in tray
        if free[item_id] < count
    }
