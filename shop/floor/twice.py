"""Two looks at one instrument side by side: what each found, and whether it may be seen yet.

Nobody who could still take the second look sees any of it before all of their own is entered:
every value that both looks measure, and every area of the checklist where the look has one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from shop.craft import looks
from shop.craft.route import Done, OperationFacts, last_of
from shop.craft.start import Asking
from shop.floor import compared, defects, history
from shop.floor.compared import LookValue
from shop.floor.defects import DefectRow
from shop.floor.models import Step
from shop.floor.state import State

Found = Literal["both", "second", "first"]
"""Which look found a defect. ``second``: at that one alone, so the first let it through, or it
came up in the days between."""


@dataclass(frozen=True, slots=True)
class FoundTwice:
    """One defect as the two looks have it. ``first`` may also be what was known
    before the first look."""

    kind: Found
    first: DefectRow | None
    second: DefectRow | None

    @property
    def row(self) -> DefectRow:
        """The one it is told by, the newer of the two."""
        one = self.second or self.first
        assert one is not None  # at least one look found it
        return one


@dataclass(frozen=True, slots=True)
class Twice:
    """Both looks of an instrument. ``first_done`` and ``second_done`` are ``None`` while they
    are not recorded."""

    first: OperationFacts
    second: OperationFacts
    first_done: Done | None
    second_done: Done | None
    found: tuple[FoundTwice, ...]
    values: tuple[LookValue, ...]

    @property
    def escapes(self) -> int:
        """How many the second look found that nobody had noted before."""
        return sum(one.kind == "second" for one in self.found)


def pair_of(now: State) -> tuple[OperationFacts, OperationFacts] | None:
    """The two looks of its route; the last pair where there are several."""
    found = looks.pairs(now.sheet.route)
    return found[-1] if found else None


def may_compare(now: State, asking: Asking) -> bool:
    """Whether whoever asks may see both looks side by side already."""
    pair = pair_of(now)
    if pair is None:
        return False
    _, second = pair
    if last_of(second.code, now.done) is not None:
        return True
    if looks.still_to_take(now.sheet.route, now.done, asking) is None:
        return False  # not theirs to take: they see it once it is taken
    return history.look_of(now, asking) is None and not history.values_kept(now, asking)


def compare(now: State) -> Twice | None:
    """Both looks; ``None`` where its route has no second one. Whether it may be seen is for
    ``may_compare``."""
    pair = pair_of(now)
    if pair is None:
        return None
    first, second = pair
    return Twice(
        first=first,
        second=second,
        first_done=last_of(first.code, now.done),
        second_done=last_of(second.code, now.done),
        found=tuple(_found(now, first, second)),
        values=compared.look_values(now, second.code),
    )


def _found(now: State, first: OperationFacts, second: OperationFacts) -> Iterator[FoundTwice]:
    """Escapes first, then what both found, then what only the first did. Each that the second
    look found stands by itself, also where it found the like of it before."""
    real = [one for one in defects.defects(now.id) if one.standing != "withdrawn"]
    at_first = [one for one in real if one.found_at in (first.code, first.station_code)]
    at_second = [one for one in real if one.found_at in (second.code, second.station_code)]
    looked = _rows_of(now, first)
    both: list[FoundTwice] = []
    alone: list[FoundTwice] = []
    seen: set[int] = set()
    for one in at_second:
        known = [
            it
            for it in real
            if it.number < one.number
            and _same(it, one)
            # What the same look had found already is not known before it.
            and (it not in at_second or any(it.number < row < one.number for row in looked))
        ]
        if not known:
            alone.append(FoundTwice("second", None, one))
            continue
        # Two of a kind are those two that were known, while there are so many.
        before = next((it for it in known if it.number not in seen), known[-1])
        both.append(FoundTwice("both", before, one))
        seen.add(before.number)
    yield from alone
    yield from both
    yield from (FoundTwice("first", one, None) for one in at_first if one.number not in seen)


def _rows_of(now: State, look: OperationFacts) -> list[int]:
    """The rows of the journal that recorded a look, also where it was taken again; one
    statement."""
    rows = Step.objects.filter(instrument_id=now.id, operation__code=look.code, struck=False)
    return list(rows.values_list("seq", flat=True))


def _same(one: DefectRow, other: DefectRow) -> bool:
    """The same word at the same place, as the figures of escapes have it."""
    return (one.family, one.word, one.zone) == (other.family, other.word, other.zone)
