"""Moving an instrument to another revision of its spec."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any, ClassVar

from shop.catalogue import book
from shop.craft.finding import Finding, note, stop
from shop.craft.words import listed
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import closed
from shop.floor.deeds.trays import judged
from shop.floor.models import Entry, Instrument
from shop.floor.state import State
from shop.stock import ledger


@dataclass(frozen=True, slots=True)
class RevisionMoved(Deed):
    """From now on the instrument is built to this revision, the open one of its own spec.

    What is done stays done. What was measured is judged by the new revision at once; the
    tray keeps what lies in it and is scanned again.
    """

    kind: ClassVar[str] = "moved"
    instrument_id: int
    revision_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := closed(now):
            return over
        if self.revision_id == now.revision_id:
            words = f"{now.serial} is built to {now.sheet.spec.name} already."
            return (stop("revision", words, "Nothing to do.", call=""),)
        own = now.sheet.spec.key
        row = next((one for one in book.open_revisions() if one["id"] == self.revision_id), None)
        if row is None or row["spec__key"] != own:
            words = f"{now.serial} is a {own}, and this is no open revision of {own}."
            return (stop("revision", words, f"Choose the open revision of {own}.", call=""),)
        if not act.reason:
            words = f"{now.serial} moves to another revision for a reason."
            return (stop("moved", words, "Say why it is built otherwise.", call=""),)
        ground.seen = then = replace(now, revision_id=row["id"], version=row["version"])
        return (*_tray_differs(now, then), *_lost(now, then), *_off_the_route(now, then))

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        then: State = ground.seen
        ledger.rename_tray(then.tray_id, then.revision_id)
        return {
            "name": then.sheet.spec.name,
            "standing": then.with_standing("readings", judged(then)).kept_standing,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        Instrument.objects.filter(pk=row.number).update(
            revision_id=row.data["revision_id"], standing=row.data["standing"]
        )


def _tray_differs(now: State, then: State) -> Iterator[Finding]:
    """A tray is picked once: what is to lie in it has to be the same."""
    before, after = _in_tray(now), _in_tray(then)
    if before == after:
        return
    out, into = (
        listed(sorted(f"{count} × {key}" for key, count in lines)) if lines else "nothing"
        for lines in (before - after, after - before)
    )
    yield stop(
        "tray lines",
        f"The tray of {now.serial} was picked for {now.sheet.spec.name}: {out}. "
        f"{then.sheet.spec.name} asks for {into} there.",
        f"Leave it at {now.sheet.spec.name}.",
        call="",
    )


def _in_tray(one: State) -> set[tuple[str, int]]:
    return {(line.article.key, line.quantity) for line in one.kit if line.in_tray}


def _lost(now: State, then: State) -> Iterator[Finding]:
    """What the buyer agreed to has to have its place in the new kit too."""
    kit = {line.article.key for line in then.sheet.kit}
    for one in now.departures:
        if one.out_key and one.out_key not in kit:
            yield stop(
                "deviation",
                f"Agreed for {now.serial}: {one.words}. {then.sheet.spec.name} has no "
                f"{one.out_key} to leave out.",
                f"Leave it at {now.sheet.spec.name}.",
                call="",
            )


def _off_the_route(now: State, then: State) -> Iterator[Finding]:
    """What is in hand has to be on the new route; what is done may be off it."""
    route = then.sheet.route
    in_hand = ([now.open.operation] if now.open else []) + list(
        now.rework.redo if now.rework else ()
    )
    if gone := [code for code in dict.fromkeys(in_hand) if route.find(code) is None]:
        words = f"{listed(gone)} is in hand and is not on the route of {then.sheet.spec.name}."
        yield stop("in hand", words, "Finish it first.", call="")
    if past := [one.operation for one in now.done if route.find(one.operation) is None]:
        words = f"{listed(past)} done and not on the route of {then.sheet.spec.name}."
        yield note("off the route", words, "It stays in the history.")
