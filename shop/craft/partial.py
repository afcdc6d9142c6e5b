"""Whether a tray that lacks something may go to the bench all the same.

It may where nothing that is missing is used in the operations that come next, and each part
is promised to be there before it is needed. A promise whose day has gone by is none. Common
practice, no source. The moment a part is needed is worked out anew each time, so a tray that
may go today may not once a delivery slips or the work runs ahead.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from shop.craft.finding import Basis, Finding, stop
from shop.craft.route import Route, topological
from shop.craft.when import in_utc, when_words
from shop.craft.words import listed, several

NEXT: Final = 2  # operations that must need nothing of what is missing; common practice

TITLE: Final = "A tray that lacks something goes to the bench"
LIMIT: Final = f"used after the next {NEXT} operations, and promised before it is needed"


@dataclass(frozen=True, slots=True)
class Missing:
    """One line that is not in the tray. ``used_at``: the operation that fits it, by its code.

    ``needed_at``: the earliest start of that operation; none where it is done. ``promised``:
    from when enough of it can be counted on, on the shelf or off a delivery; none where
    nobody promised any. ``here``: it lies on the shelf now.
    """

    key: str
    name: str
    used_at: str
    needed_at: datetime | None
    promised: datetime | None = None
    here: bool = False

    @property
    def words(self) -> str:
        return f"{self.key} {self.name}"


def next_of(route: Route, done_codes: Collection[str], count: int = NEXT) -> tuple[str, ...]:
    """The operations that come next, in the order of the route: the first that are not done.

    Raises ``ValueError`` for a route that goes round in a circle.
    """
    return tuple(code for code in topological(route) if code not in done_codes)[:count]


def may_go(
    missing: Sequence[Missing], next_ones: Sequence[str], now: datetime
) -> tuple[Finding, ...]:
    """What keeps a tray from the bench that lacks these lines; nothing where it may go.

    ``next_ones`` are the codes of the operations that come next. Moments are told on the
    clock of ``now``. Raises ``ValueError`` for a moment without a time zone.
    """
    return tuple(_against(missing, next_ones, now))


def _against(
    missing: Sequence[Missing], next_ones: Sequence[str], now: datetime
) -> Iterator[Finding]:
    for one in missing:
        if one.needed_at is None:
            continue  # the work that uses it is done
        due = when_words(one.needed_at, now)
        if one.used_at in next_ones:
            words = (
                f"{one.words} is missing, needed {due} at {one.used_at}. "
                f"The next {several(len(next_ones), 'operation')}: {listed(next_ones)}."
            )
            yield _stop(one, words, next_ones, now)
        elif one.here:
            continue
        elif one.promised is None:
            words = (
                f"{one.words} is missing, needed {due} at {one.used_at}, and no date is promised."
            )
            yield _stop(one, words, next_ones, now)
        elif one.promised.astimezone(now.tzinfo).date() < now.date():
            promised = when_words(one.promised, now)
            words = (
                f"{one.words} is missing, needed {due} at {one.used_at}. It was promised "
                f"{promised} and is not here."
            )
            yield _stop(one, words, next_ones, now)
        elif in_utc(one.promised) >= in_utc(one.needed_at):
            promised = when_words(one.promised, now)
            words = (
                f"{one.words} is missing, needed {due} at {one.used_at}, promised {promised}: "
                "it comes too late."
            )
            yield _stop(one, words, next_ones, now)


def _stop(one: Missing, words: str, next_ones: Sequence[str], now: datetime) -> Finding:
    needed = when_words(one.needed_at, now) if one.needed_at else ""
    promised = when_words(one.promised, now) if one.promised else "no date"
    if one.here:
        then = f"It lies on the shelf now: open the tray, put {one.key} in and close it again."
    elif one.used_at not in next_ones and one.promised is None:
        then = "Note when it comes. Until then the tray stays with kitting."
    else:
        then = f"The tray stays with kitting until {one.key} is in it."
    basis = Basis(
        TITLE,
        (
            (f"{one.key} used at", one.used_at),
            ("Next operations", listed(next_ones) if next_ones else "none"),
            ("Needed", needed),
            ("Promised", "on the shelf now" if one.here else promised),
        ),
        limit=LIMIT,
        origin="common practice",
    )
    return stop("partial", words, then, "clerk", basis)
