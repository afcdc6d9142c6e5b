"""One area of the checklist, looked at and answered item by item."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Final

from shop.craft.finding import Finding, any_stop, stop
from shop.craft.inspecting.areas import Area
from shop.craft.inspecting.progress import RULE, Answer, Progress
from shop.floor import areas
from shop.floor.areas import AreaLooks
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import AreaLook, Entry
from shop.floor.state import State

MOST_TOLD: Final = 20  # letters of an answer that is none, as it is told again


@dataclass(frozen=True, slots=True)
class AreaLooked(Deed):
    """All items of one area of a look, each with its answer: ``answers`` by the item's key.

    ``operation`` is the look, ``area`` the number of the area. An answer says a defect only
    where one was noted at this look, or waits for a decision since before it.
    """

    kind: ClassVar[str] = "area"
    instrument_id: int
    operation: str
    area: int
    answers: Mapping[str, str] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            "area": self.area,
            "answers": dict(self.answers),
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
        return (*against, *self._answered(row.area, looks))

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
        """Whether a defect noted at this look, or known before it, stands for this area, once
        those that the other areas tell of are counted off."""
        (area,) = progress.areas
        return areas.noted(progress, looks.left_for(area))

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
        return {"title": row.area.title, "asked": len(row.area.items), "wrong": wrong}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        AreaLook.objects.create(
            instrument_id=row.number,
            number=row.seq,
            operation=said["operation"],
            area=said["area"],
            answers=said["answers"],
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )
