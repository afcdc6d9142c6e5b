"""How far the checklist of one guitar is answered, and what keeps it from being done.

Answers are kept by the key of their item, so they outlast a revision of the list: an answer to
an item that is not asked any more is told and kept, a new item is open.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from shop.craft.finding import Finding, note, stop
from shop.craft.inspecting.areas import Area, Item

RULE = "checklist"


class Answer(StrEnum):
    """What an inspector says of an item."""

    OK = "ok"
    DEFECT = "defect"
    NOT_APPLICABLE = "not applicable"


@dataclass(frozen=True, slots=True)
class Progress:
    """The areas of a guitar and the answers given so far, by the key of their item.

    ``others`` are answers as they were kept that none of these areas can hold: to an item of
    another revision, or in another word. They count for nothing and are never lost.
    """

    areas: tuple[Area, ...]
    answers: Mapping[str, Answer] = field(default_factory=dict)
    others: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, areas: Sequence[Area], kept: Mapping[str, str]) -> Progress:
        """The progress that was kept in its plain form, over the areas as they are now."""
        known = {item.key for area in areas for item in area.items}
        said = {one.value for one in Answer}
        here = {key for key, word in kept.items() if key in known and word in said}
        return cls(
            tuple(areas),
            {key: Answer(word) for key, word in kept.items() if key in here},
            {key: word for key, word in kept.items() if key not in here},
        )

    def plain(self) -> dict[str, str]:
        """All answers as plain data, in the order of the list, then what it could not hold."""
        given = {
            item.key: self.answers[item.key].value
            for item in self._items()
            if item.key in self.answers
        }
        return given | dict(self.others)

    @property
    def asked(self) -> int:
        """How many items are asked in all."""
        return sum(len(area.items) for area in self.areas)

    @property
    def open(self) -> tuple[Item, ...]:
        """The items without an answer, in order."""
        return tuple(item for area in self.areas for item in self.open_in(area))

    @property
    def next(self) -> Area | None:
        """The first area with an item that is open; ``None`` when all are answered."""
        return next((area for area in self.areas if self.open_in(area)), None)

    @property
    def complete(self) -> bool:
        """Whether every item asked has an answer."""
        return self.next is None

    def open_in(self, area: Area) -> tuple[Item, ...]:
        """The items of an area without an answer."""
        return tuple(item for item in area.items if item.key not in self.answers)

    def answered(self, key: str, answer: Answer) -> Progress:
        """The same with this answer, in the place of an earlier one.

        Raises ``ValueError`` for an answer that :meth:`refused` speaks of: ask it first.
        """
        if self.refused(key, answer):
            raise ValueError(f"{answer.value!r} is no answer to {key!r} here.")
        others = {other: word for other, word in self.others.items() if other != key}
        return replace(self, answers={**self.answers, key: answer}, others=others)

    def refused(self, key: str, answer: Answer) -> tuple[Finding, ...]:
        """What keeps this answer from being taken; nothing where it may be given."""
        for area in self.areas:
            for item in area.items:
                if item.key == key:
                    return (_applies(area, item),) if _denied(item, answer) else ()
        return (_unasked(key, self.asked),)

    def findings(self, noted: Mapping[int, int]) -> tuple[Finding, ...]:
        """What is wrong with the answers given, area by area, and which are not asked here.

        ``noted``: how many defects are noted, by the number of the area they were found in.
        """
        return tuple(self._findings(noted))

    def to_finish(self, noted: Mapping[int, int]) -> tuple[Finding, ...]:
        """What keeps the look from being finished, and what is to be told: the findings, and
        the items that are open."""
        found = self.findings(noted)
        area = self.next
        if area is None:
            return found
        return (_unfinished(len(self.open), self.asked, area), *found)

    def _findings(self, noted: Mapping[int, int]) -> Iterator[Finding]:
        for key in sorted(self.answers.keys() - {item.key for item in self._items()}):
            yield _unasked(key, self.asked)
        for area in self.areas:
            given = [(item, self.answers.get(item.key)) for item in area.items]
            for item, answer in given:
                if _denied(item, answer):
                    yield _applies(area, item)
            told = [item for item, answer in given if answer is Answer.DEFECT]
            if told and not noted.get(area.number, 0):
                yield _unnoted(area, told)
        if self.others:
            yield _elsewhere(self.others)

    def _items(self) -> Iterator[Item]:
        for area in self.areas:
            yield from area.items


def _denied(item: Item, answer: Answer | None) -> bool:
    """Whether an item is said not to apply that every guitar of this spec has."""
    return answer is Answer.NOT_APPLICABLE and not item.may_not_apply


def _unasked(key: str, asked: int) -> Finding:
    return stop(
        RULE,
        f"{key} is none of the {asked} items asked of this guitar.",
        "Answer the items as they stand on the list of this guitar.",
        "",
    )


def _applies(area: Area, item: Item) -> Finding:
    asked = item.words
    return stop(
        RULE,
        f"Area {area.number} {area.title}, not applicable was said of what this guitar "
        f"has: {asked}.",
        "Look at it, then answer OK or defect.",
        "",
    )


def _unnoted(area: Area, told: Sequence[Item]) -> Finding:
    return stop(
        RULE,
        f"Area {area.number} {area.title}: answered as defect {len(told)}, defects noted 0.",
        "Note the defect with its word and its place, or correct the answer.",
        "",
    )


def _unfinished(left: int, asked: int, area: Area) -> Finding:
    return stop(
        RULE,
        f"{left} of {asked} items are still open, the first in area {area.number} {area.title}.",
        f"Go on with area {area.number} {area.title}.",
        "",
    )


def _elsewhere(others: Mapping[str, str]) -> Finding:
    told = ", ".join(f"{key} ({word})" for key, word in others.items())
    return note(
        RULE,
        f"Answers kept from another revision of the list, {len(others)}, not asked here: {told}.",
        "They stay as they are. Answer what is open.",
    )
