"""The machines on their posts, looked at and photographed before anything is drilled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from shop.craft import fit
from shop.craft.finding import Finding, any_stop, stop, warn
from shop.craft.hardware import TunerSet
from shop.craft.head import posts
from shop.craft.words import several
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.gating import place_gate, reading_gate, tray_gate
from shop.floor.deeds.trays import parts
from shop.floor.models import Entry, Instrument, Photo
from shop.floor.photos import Picture, keep
from shop.floor.state import State


@dataclass(frozen=True, slots=True)
class Placed(Deed):
    """The machines sit on their posts as looked at: ``marks`` holds the mark read on each
    marked machine by the key of its post, ``picture`` the head seen from the back."""

    kind: ClassVar[str] = "positions"
    instrument_id: int
    operation: str
    marks: Mapping[str, str] = field(default_factory=dict)
    picture: Picture | None = None

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            "marks": dict(self.marks),
            "photo": self.picture.sha256 if self.picture else "",
        }

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """The tray and the readings come first; every marked machine is looked at; a photo
        is kept, or a reason why there is none."""
        now: State = ground.facts
        sheet = now.sheet.stop(self.operation)
        if sheet is None or not sheet.facts.positions:
            words = f"{self.operation} is not where machines are placed on {now.serial}."
            return (stop("positions", words, "Open the instrument again.", call=""),)
        return (
            *place_gate(now, self.operation, act.asking),
            *tray_gate(now, self.operation, act.station),
            *reading_gate(now, sheet),
            *self._unread(now),
            *(() if self.picture else (_no_photo(),)),
        )

    def _unread(self, now: State) -> tuple[Finding, ...]:
        """There are machines to look at, and where they are marked each mark was read."""
        machines = machines_of(now)
        if machines is None:
            words = f"No machines lie in the tray of {now.serial}."
            return (stop("machines", words, "Give the tray back to kitting.", call="clerk"),)
        if not machines.marked:
            return ()
        left = [post.words for post in posts(now.sheet.spec) if not self.marks.get(post.key)]
        if not left:
            return ()
        words = (
            f"{several(len(left), 'post')} not looked at, as seen from the FRONT: "
            f"{'; '.join(left)}."
        )
        return (stop("marks", words, "Read the mark on each machine.", call=""),)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """Only a missing photo asks for its reason here; a tray passed with a warning and a
        doubtful reading ask for theirs at the step."""
        unseen = any(one.rule == "photo" for one in findings)
        return not any_stop(findings) and (bool(act.reason) or not unseen)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        return fit.placed(now.call, self.marks)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        wrong = self.saw(act, ground)
        if self.picture:
            keep(self.picture)
        after = now.with_standing("positions", wrong)
        ground.after = after = after if wrong else after.with_placed()
        return {
            "bytes": len(self.picture.jpeg) if self.picture else 0,
            "standing": after.kept_standing,
            "placed": after.placed_version,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        if row.data["photo"]:
            Photo.objects.create(
                instrument_id=row.number,
                operation=row.data["operation"],
                view="back",
                sha256=row.data["photo"],
                bytes=row.data["bytes"],
                by_id=row.by_id,
                at=row.at,
                entry=row,
            )
        Instrument.objects.filter(pk=row.number).update(
            standing=row.data["standing"], placed_version=row.data["placed"]
        )


def machines_of(now: State) -> TunerSet | None:
    """The machines this instrument is fitted with."""
    found = (line.article for line in parts(now))
    return next((one for one in found if isinstance(one, TunerSet)), None)


def _no_photo() -> Finding:
    return warn("photo", "No photo from the back.", "Take one, or say why there is none.")
