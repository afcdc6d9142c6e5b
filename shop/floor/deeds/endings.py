"""An instrument that ends as scrap: its number is closed, and what comes off it is set apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Final

from django.utils.timezone import localtime

from shop.craft.finding import Finding, note, stop
from shop.craft.hardware import Article
from shop.craft.words import several
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.tags import new_code, void
from shop.floor.models import AsBuilt, Body, Entry, HelpCall, Instrument, Neck, Pair, Rework, Tag
from shop.floor.state import State
from shop.stock import ledger, shelf

SHORT: Final = 120  # letters of a reason that an instrument's own row keeps


@dataclass(frozen=True, slots=True)
class Return:
    """So many of an item come off. One that is not whole, as a set that lacks a machine, is
    told and not put back."""

    item_id: int
    quantity: int
    whole: bool = True


@dataclass(frozen=True, slots=True)
class Part:
    """What can come off an instrument: the article, and how many of it were put on at most."""

    item_id: int
    article: Article
    quantity: int


@dataclass(frozen=True, slots=True)
class Scrapped(Deed):
    """The instrument is scrap. Each part that comes off lies held, in a lot of its own, until
    the lead gives it free.

    A pair ends with both its parts. A neck that only waits for the cut goes back to the store
    under its tag, to be paired with another body; ``neck_too``: it is scrap as well.
    """

    kind: ClassVar[str] = "scrap"
    instrument_id: int
    returns: tuple[Return, ...] = ()
    neck_too: bool = False

    def plain(self) -> dict[str, Any]:
        said = {
            "instrument_id": self.instrument_id,
            "returns": [asdict(one) for one in self.returns],
        }
        return said | ({"neck_too": True} if self.neck_too else {})

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := ended(now) or finished(now):
            return over
        ground.seen = {one.item_id: one for one in comes_off(now)}
        return (*_unreasoned(now, act), *self._unlikely(now, ground.seen))

    def _unlikely(self, now: State, parts: dict[int, Part]) -> Iterator[Finding]:
        """Returns of what was never put on."""
        asked: Counter[int] = Counter()
        for one in self.returns:
            if one.quantity < 1:
                yield stop("returns", f"{one.quantity} come off: that is none.", "Count again.", "")
            asked[one.item_id] += one.quantity
        for item_id, quantity in asked.items():
            part = parts.get(item_id)
            if part is None:
                words = f"An item that {now.serial} does not have is named."
                yield stop("returns", words, "Choose of the parts listed.", call="")
            elif quantity > part.quantity:
                words = f"{part.article.key}: {quantity} named, {part.quantity} were put on."
                yield stop("returns", words, "Count again.", call="")

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """What is left to do by hand."""
        now: State = ground.facts
        found = []
        if count := sum(one.quantity for one in self.returns if one.whole):
            words = f"{several(count, 'piece')} held as lot {_lot(now)}."
            then = "Mark them with the lot and set them apart until they are looked at."
            found.append(note("quarantine", words, then))
        if now.tray_state != "closed":
            words = f"The tray of {now.serial} is given up; it was not closed yet."
            found.append(note("tray", words, "Put what lies in it back into its bins.", "clerk"))
        if stored := self._stored(now):
            words = f"{stored} was no pair with {now.serial} yet: it goes back to the store."
            found.append(note("neck", words, "Set it back with its tag on."))
        return tuple(found)

    def _stored(self, now: State) -> str:
        """The neck that stays, by its serial; "" where none does."""
        stays = now.neck is not None and not self.neck_too and not paired(now)
        return (now.neck or "") if stays else ""

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        if now.tray_state != "closed":
            ledger.give_up_tray(now.tray_id, act.by_id, act.at)
        else:
            ledger.consume(now.tray_id, None, act.by_id, act.at, f"{now.serial} scrapped")
            ledger.let_go(shelf.kept_for(now.tray_id), act.by_id, act.at, f"{now.serial} scrapped")
        parts: dict[int, Part] = ground.seen
        stored = self._stored(now)
        tagged = Tag.objects.filter(neck__serial=stored, void_at__isnull=True).exists()
        return {
            "neck": "" if stored else now.neck or "",
            "stored": stored,
            "tag": new_code("neck") if stored and not tagged else "",
            "parts": [
                {
                    "item": parts[one.item_id].article.key,
                    "quantity": one.quantity,
                    "lot": self._set_apart(now, one, act) if one.whole else "",
                }
                for one in self.returns
            ],
        }

    @staticmethod
    def _set_apart(now: State, one: Return, act: Act) -> str:
        why = f"Off {now.serial}, scrapped: {act.reason}"
        ledger.quarantine(
            one.item_id, one.quantity, _lot(now), why, act.by_id, act.at, serial=now.serial
        )
        return _lot(now)

    @classmethod
    def follow(cls, row: Entry) -> None:
        number = row.number
        Pair.objects.filter(instrument_id=number, ended_at__isnull=True).update(
            ended_at=row.at, ended_why=row.reason
        )
        Body.objects.filter(instrument=number).update(scrapped_at=row.at)
        Neck.objects.filter(serial=row.data["neck"]).update(scrapped_at=row.at)
        for tag in Tag.objects.filter(body__instrument=number, void_at__isnull=True):
            void(tag, row.at, "scrapped")
        for tag in Tag.objects.filter(neck__serial=row.data["neck"], void_at__isnull=True):
            void(tag, row.at, "scrapped")
        if stored := row.data.get("stored"):  # rows of before scrapped the neck with its body
            Instrument.objects.filter(pk=number).update(neck=None)
            if row.data["tag"]:
                neck = Neck.objects.get(serial=stored)
                Tag.objects.create(code=row.data["tag"], neck=neck, made_at=row.at)
        Rework.objects.filter(instrument_id=number, closed_at__isnull=True).update(closed_at=row.at)
        HelpCall.objects.filter(instrument_id=number, answered_at__isnull=True).update(
            answered_at=row.at, answered_by_id=row.by_id
        )
        Instrument.objects.filter(pk=number).update(
            ended=row.reason[:SHORT],
            finished_at=row.at,
            open_step={},
            frozen={},
            rework={},
            slot="",
        )


def _lot(now: State) -> str:
    """What the lot of what comes off this instrument is called."""
    return f"off {now.serial}"


def _unreasoned(now: State, act: Act) -> tuple[Finding, ...]:
    if act.reason:
        return ()
    words = f"{now.serial} is scrapped for a reason."
    return (stop("scrap", words, "Say what cannot be mended.", call=""),)


def paired(now: State) -> bool:
    """Whether the pocket is cut for its neck: the 2 are a pair from then on."""
    return Pair.objects.filter(instrument_id=now.id, ended_at__isnull=True).exists()


def comes_off(now: State) -> tuple[Part, ...]:
    """What can come off this instrument, in the order a kit is fitted: what lay in its tray,
    once that was closed, and what was put on it out of a batch at the bench. Of what lies in
    a tray that is open only what is fitted already left the shelf."""
    articles: dict[int, Article] = {}
    count: Counter[int] = Counter()
    tray = shelf.tray(now.tray_id)
    for line in tray["lines"] if tray else ():
        there = now.tray_state == "closed"
        rest = line["quantity"] - line["returned"] if there else line["fitted"]
        if line["put_in"] and rest:
            articles[line["put_in_id"]] = line["put_in"]
            count[line["put_in_id"]] += rest
    put_on = {one.operation for one in (*now.done, *now.past)}
    for one in now.kit:
        if not one.in_tray and one.used_at in put_on:
            articles[one.item_id] = one.article
            count[one.item_id] += one.quantity
    return tuple(Part(item_id, one, count[item_id]) for item_id, one in articles.items())


def ended(now: State) -> tuple[Finding, ...]:
    """Nothing more is done on an instrument that is scrap."""
    if not now.ended:
        return ()
    words = f"{now.serial} is scrap: {now.ended.rstrip('.')}."
    return (stop("ended", words, "Nothing more is done on it.", call=""),)


def finished(now: State) -> tuple[Finding, ...]:
    """All is done on it, and it has left the floor."""
    if now.finished_at is None:
        return ()
    words = f"{now.serial} was finished {localtime(now.finished_at):%Y-%m-%d}."
    return (stop("finished", words, "It has left the floor: nothing to do.", call=""),)


def on_record(now: State) -> tuple[Finding, ...]:
    """What an instrument is built of is not changed once it is on record as built."""
    released_at = AsBuilt.objects.filter(instrument_id=now.id).values_list("at", flat=True).first()
    if released_at is None:
        return ()
    words = f"{now.serial} was released {localtime(released_at):%Y-%m-%d}: that record stays."
    return (stop("released", words, "Report what is wrong with it as a defect.", call=""),)


def closed(now: State) -> tuple[Finding, ...]:
    """Why what an instrument is built of cannot be changed any more; nothing while it can."""
    return ended(now) or finished(now) or on_record(now)
