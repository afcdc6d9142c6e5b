"""One area of the checklist, looked at and answered item by item."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Final

from shop.craft.finding import Finding, any_stop, stop
from shop.craft.inspecting.areas import Area
from shop.craft.inspecting.progress import RULE, Answer, Progress
from shop.craft.start import Asking
from shop.floor import areas, fresh_eyes
from shop.floor.areas import AreaLooks, Seen
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import AreaLook, Entry
from shop.floor.state import State

MOST_TOLD: Final = 20  # letters of an answer that is none, as it is told again


@dataclass(frozen=True, slots=True)
class AreaLooked(Deed):
    """All items of one area of a look, each with its answer: ``answers`` by the item's key.

    ``operation`` is the look, ``area`` the number of the area. An answer says a defect only
    where one was noted at this look, or waits for a decision since before it. Each stands for
    one area; ``told_by`` is the row of one that was chosen for this area as well, 0 for none.
    """

    kind: ClassVar[str] = "area"
    instrument_id: int
    operation: str
    area: int
    answers: Mapping[str, str] = field(default_factory=dict)
    told_by: int = areas.NOBODY

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            "area": self.area,
            "answers": dict(self.answers),
            "told_by": self.told_by,
        }

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """It is a look of the route, at its station and in its turn, by eyes that may take it;
        every item has an answer that can be given to it, and what is wrong is noted."""
        now: State = ground.facts
        ground.seen = looks = areas.area_looks(now, self.operation)
        if looks is None:
            words = f"{self.operation or 'No operation'} is no look at {now.serial}."
            return (stop(RULE, words, "Open the instrument again.", call=""),)
        against = areas.against_look(now, self.operation, act.asking)
        row = looks.row(self.area)
        if row is None:
            words = f"{now.serial} has no area {self.area} on its list."
            return (*against, stop(RULE, words, "Choose an area of the list.", call=""))
        return (*against, *self._answered(row.area, looks), *self._told(now, looks, act.asking))

    def _answered(self, area: Area, looks: AreaLooks) -> Iterator[Finding]:
        """Why the answers cannot be taken as they are."""
        said = {one.value for one in Answer}
        progress = Progress((area,))
        for key, word in self.answers.items():
            if word not in said:
                words = f"{word[:MOST_TOLD] or 'Nothing'} is no answer to an item."
                then = "Answer OK, defect or not applicable."
                yield stop(RULE, words, then, call="")
            elif refused := progress.refused(key, Answer(word)):
                yield from refused
            else:
                progress = progress.answered(key, Answer(word))
        if len(progress.answers) == len(self.answers):
            yield from progress.to_finish(self._noted(progress, looks))

    def _noted(self, progress: Progress, looks: AreaLooks) -> Mapping[int, int]:
        """Whether a defect stands for this area: the one that was chosen, else one noted at
        this look, or known before it, of which no other area tells."""
        (area,) = progress.areas
        return {area.number: int(bool(self.told_by) or looks.stands_for(area))}

    def _told(self, now: State, looks: AreaLooks, asking: Asking) -> Iterator[Finding]:
        """Why it cannot be told by the defect that was chosen."""
        if not self.told_by:
            return
        kept = looks.row(self.area)
        if Answer.DEFECT not in self.answers.values():
            words = f"Area {self.area}: a defect is chosen, and no item is answered as one."
            yield stop(RULE, words, "Answer what is wrong as a defect.", call="")
        elif not any(
            one.number == self.told_by
            # What was chosen before stays so, whatever was decided since.
            and (one.offered or (kept is not None and kept.told_by == one.number))
            for one in fresh_eyes.to_choose(now, looks, asking)
        ):
            words = f"Row {self.told_by} of {now.serial} is no defect that may be chosen here."
            then = "Choose one that the page of the area offers, or note it."
            yield stop(RULE, words, then, call="")

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A warning is taken up with a reason when the look is recorded."""
        return not any_stop(findings)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        looks: AreaLooks | None = ground.seen
        row = looks.row(self.area) if looks else None
        if row is None:
            return {}
        wrong = [one.words for one in row.area.items if self.answers.get(one.key) == Answer.DEFECT]
        said = {"title": row.area.title, "asked": len(row.area.items), "wrong": wrong}
        return said | (self._of_defect(looks) if recorded and looks else {})

    def _of_defect(self, looks: AreaLooks) -> dict[str, Any]:
        """The defect that was chosen, for whoever reads the row."""
        one: Seen | None = next((it for it in looks.seen if it.number == self.told_by), None)
        return {"defect": {"word": one.word, "grade": one.grade, "zone": one.zone}} if one else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        AreaLook.objects.create(
            instrument_id=row.number,
            number=row.seq,
            operation=said["operation"],
            area=said["area"],
            answers=said["answers"],
            told_by=said.get("told_by", areas.NOBODY),  # rows from before it say of none
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )
