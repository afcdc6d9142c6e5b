"""Another item in the place of one of the kit, on an instrument that is released already."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any, ClassVar, Final, Literal, get_args

from django.db.models import F
from django.utils.timezone import localtime

from shop.catalogue import book
from shop.catalogue.book import KitItem
from shop.craft import fit, visible
from shop.craft.finding import Finding, Severity, note, stop
from shop.craft.hardware import Article, Picked
from shop.craft.words import listed
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import closed
from shop.floor.deeds.trays import judged
from shop.floor.models import Deviation, Entry, Instrument
from shop.floor.state import Departure, State
from shop.stock import ledger, shelf

Asked = Literal["yes", "no", "not needed"]
"""Whether the buyer was asked."""
ASKED: Final[dict[Asked, str]] = {
    "yes": "buyer asked",
    "no": "buyer not asked",
    "not needed": "no need to ask the buyer",
}
WORDS: Final = 200  # what a deviation is told in, at most


@dataclass(frozen=True, slots=True)
class Substituted(Deed):
    """From now on the instrument is built with ``in_key`` in the place of ``out_key``, on the
    lead's word. What its spec approves needs no such word: the clerk picks it.
    """

    kind: ClassVar[str] = "substitute"
    instrument_id: int
    out_key: str
    in_key: str
    asked: Asked

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := closed(now):
            return over
        out = next((one for one in now.kit if one.article.key == self.out_key), None)
        if out is None:
            words = f"{self.out_key} is not in the kit of {now.serial}."
            return (stop("kit", words, "Choose an item that it is to get.", call=""),)
        custom = shelf.as_agreed([now.order] if now.order else [])
        if kept := stays(now, out, shelf.lying([now.tray_id]), custom):
            return (kept,)
        if not act.reason:
            words = f"{self.out_key} of {now.serial} is exchanged for a reason."
            return (stop("substitute", words, "Say why.", call=""),)
        if self.asked not in get_args(Asked):
            words = "Whether the buyer was asked is not said."
            return (stop("buyer", words, "Tap one of the answers.", call=""),)
        into_id = book.item_ids([self.in_key]).get(self.in_key)
        if into_id is None or self.in_key not in dict(book.items()):
            words = f"{self.in_key} is no item in use."
            return (stop("item", words, "Choose one of the list.", call=""),)
        into = book.articles([into_id])[into_id]
        ground.seen = seen = Exchange.of(now, out, into, into_id, act, self.asked)
        return (*against(now, seen), *self._unasked(out.article, into), *_short(seen))

    def _unasked(self, out: Article, into: Article) -> Iterator[Finding]:
        """What the buyer will see, the buyer is asked about."""
        shows = visible.changes(out, into) if out.family is into.family else ()
        if shows and self.asked != "yes":
            words = f"The buyer sees it: {listed(shows)}."
            yield stop("buyer", words, "Ask the buyer first, then say so here.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        seen: Exchange = ground.seen
        if seen.out.in_tray:
            ledger.swap_line(now.tray_id, seen.out.item_id, seen.into_id, act.by_id, act.at)
        then = seen.then
        if now.readings.values:
            then = then.with_standing("readings", judged(then))
        return {
            "out_id": seen.out.item_id,
            "in_id": seen.into_id,
            "words": seen.words,
            "approved": seen.approved,
            "standing": then.kept_standing,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        Deviation.objects.create(
            instrument_id=row.number,
            words=said["words"],
            approved=said["approved"],
            out_item_id=said["out_id"],
            in_item_id=said["in_id"],
        )
        Instrument.objects.filter(pk=row.number).update(
            deviations_count=F("deviations_count") + 1, standing=said["standing"]
        )


@dataclass(frozen=True, slots=True)
class Exchange:
    """One line of an instrument's kit and what is to stand in its place; ``then`` is the
    instrument with it."""

    out: KitItem
    into: Article
    into_id: int
    words: str
    approved: str
    then: State

    @classmethod
    def of(
        cls, now: State, out: KitItem, into: Article, into_id: int, act: Act, asked: Asked
    ) -> Exchange:
        words = f"{into.key} {into.name} instead of {out.article.key}: {act.reason}"[:WORDS]
        approved = f"{act.by}, {localtime(act.at):%Y-%m-%d}, {ASKED[asked]}"
        return cls.tried(now, out, into, into_id, words, approved)

    @classmethod
    def tried(
        cls,
        now: State,
        out: KitItem,
        into: Article,
        into_id: int,
        words: str = "",
        approved: str = "asked",
    ) -> Exchange:
        one = Departure(words, approved, out.article.key, into, into_id)
        then = replace(
            now, deviations_count=now.deviations_count + 1, departed=(*now.departures, one)
        )
        return cls(out, into, into_id, words, approved, then)


def against(now: State, seen: Exchange) -> tuple[Finding, ...]:
    """What stands against this exchange by what the two are and by the fit of the whole kit,
    beside what stands against the kit as it is."""
    out, into = seen.out.article, seen.into
    if into.family is not out.family:
        words = (
            f"{into.key} ({into.family.words}) cannot take the place of "
            f"{out.key} ({out.family.words})."
        )
        return (stop("substitute", words, "Put in an item of the same family.", call=""),)
    if into.key in {one.article.key for one in now.kit}:
        words = f"{into.key} is in the kit of {now.serial} already."
        return (stop("substitute", words, "Choose an item that it does not have yet.", call=""),)
    if approval := dict(seen.out.approvals).get(into.key):
        words = f"{into.key} is approved in the place of {out.key} already: {approval.rstrip('.')}."
        return (stop("approved", words, "The clerk picks it as it is.", call="clerk"),)
    known = _fit(now)
    then = f"Leave {out.key} in its place, or choose other {out.family.words}."
    return tuple(
        replace(one, then=then) if one.severity is Severity.STOP else one
        for one in _fit(seen.then)
        if one not in known
    )


def _fit(one: State) -> tuple[Finding, ...]:
    """What the fit rules say against the whole kit, measured values taken for what they are."""
    lines = [Picked(article=line.article, quantity=line.quantity) for line in one.kit]
    found = dict.fromkeys(fit.of_lines(one.whole_call, lines))
    return tuple(it for it in found if it.severity is not Severity.NOTE)


def _short(seen: Exchange) -> Iterator[Finding]:
    if not seen.out.in_tray:
        return
    free, wanted = shelf.free([seen.into_id])[seen.into_id], seen.out.quantity
    if free < wanted:
        words = f"{seen.into.key}: {free} free, {wanted} needed."
        yield note("short", words, "The tray shows it short until it comes.")


def stays(
    now: State,
    line: KitItem,
    lying: Collection[tuple[int, int]],
    as_agreed: Collection[tuple[str, str]],
) -> Finding | None:
    """Why this line of the kit is not exchanged now; nothing while it can be.

    ``lying`` holds tray and item of what lies in trays, ``as_agreed`` the orders, each with
    its spec, of which nothing is exchanged.
    """
    key, serial = line.article.key, now.serial
    for one in now.departures:
        if key == one.out_key or (one.into and key == one.into.key):
            words = f"{key} of {serial} is as agreed: {one.words} ({one.approved})."
            return stop("agreed", words, "Build what was agreed.", call="")
    if (now.order, now.sheet.spec.key) in as_agreed:
        words = f"{serial} is for order {now.order}, a sample or a custom build."
        return stop("agreed", words, f"Nothing of it is exchanged: wait for {key}.", call="")
    if line.used_at in now.done_codes:
        words = f"{key} is on {serial} already: {line.used_at} is done."
        return stop("fitted", words, "If it is wrong there, report a defect.", call="")
    if now.open and now.open.operation == line.used_at:
        words = f"{line.used_at} of {serial} is open with {now.open.by}: {key} is in hand."
        return stop("fitted", words, "Have it parked or given up first.", call="")
    if line.in_tray and now.tray_state == "closed":
        words = f"The tray of {serial} is closed with {key} as it is."
        return stop("tray", words, "The tray is opened again first.", call="clerk")
    if line.in_tray and (now.tray_id, line.item_id) in lying:
        words = f"{key} lies in the tray of {serial} already."
        return stop("tray", words, "The clerk takes it out first.", call="clerk")
    return None
