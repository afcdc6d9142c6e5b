"""What was found wrong, as far as whoever asks may see it: a second look has fresh eyes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar

from shop.craft.looks import Entered
from shop.craft.start import Asking
from shop.floor import history
from shop.floor.areas import AreaLooks, Seen
from shop.floor.state import State


class _Found(Protocol):
    """What was found wrong, as far as it decides who may see it."""

    @property
    def number(self) -> int: ...
    @property
    def found_at(self) -> str: ...
    @property
    def found_by(self) -> str: ...


OneFound = TypeVar("OneFound", bound=_Found)


def with_fresh_eyes(rows: Iterable[OneFound], now: State, asking: Asking) -> tuple[OneFound, ...]:
    """Those that whoever asks may see: not what others found at the first look, while they
    could still take the second and have entered nothing of their own."""
    look = history.look_of(now, asking)
    if look is None:
        return tuple(rows)
    return tuple(
        one
        for one in rows
        if not look.keeps(Entered("noted", (one.found_by,), frozenset({one.found_at}), one.number))
    )


def to_choose(now: State, looks: AreaLooks, asking: Asking) -> tuple[Seen, ...]:
    """Those that an area of this look may be told by, which whoever asks may see; those that are
    ``offered`` may be chosen anew. No statement where there is none."""
    return with_fresh_eyes(looks.seen, now, asking) if looks.seen else ()
