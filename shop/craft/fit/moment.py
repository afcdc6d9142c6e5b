"""Whether this is the moment for an operation: R33, R37, R38, R39 and R40.

What lies in the tray may be right and the moment wrong: the element not in yet, the room
too cold for the glue, the finish too young, another body's neck, a paper missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from math import ceil
from typing import Final

from shop.craft.finding import Finding, Severity, worst_first
from shop.craft.fit.rule import Case, Limit, rule
from shop.craft.hardware import Call, Coat
from shop.craft.route import OperationFacts
from shop.craft.size import plain
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import THIN, mm, several

# All common practice; a lead may set others for a spec revision.
WHITE = Limit("R37.white", Decimal(13), "°C", "white glue not below")
YELLOW = Limit("R37.yellow", Decimal("4.5"), "°C", "yellow glue not below")
RH_LEAST = Limit("R37.rh_least", Decimal(40), "%RH", "least humidity")
RH_MOST = Limit("R37.rh_most", Decimal(60), "%RH", "most")
READ = Limit("R37.read", Decimal(12), "h", "the room read within")
LACQUER = Limit("R38.lacquer", Decimal(14), "days", "least age of lacquer")
POLYESTER = Limit("R38.polyester", Decimal(2), "days", "least age of polyester")

_NOT_BELOW: Final = {"white": WHITE, "yellow": YELLOW}
_AGE_OF: Final = {Coat.LACQUER: LACQUER, Coat.POLYESTER: POLYESTER}

# Which woods are listed changes from one meeting of the parties to the next.
AUTHORITY: Final = "the lists of protected species in force: ask the authority"


@dataclass(frozen=True, slots=True)
class Room:
    """The room as somebody read it: °C, per cent of relative humidity, when (aware), who."""

    temp_c: Decimal
    rh_pct: Decimal
    at: datetime
    by: str = ""

    @property
    def words(self) -> str:
        return f"{plain(self.temp_c)}{THIN}°C, {plain(self.rh_pct)}{THIN}%RH"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One operation about to be done, and what stands round it.

    ``at`` is aware, on the shop's clock. ``electronics`` is the operation that fits the
    electronics, ``element_mm`` the height of their element: given where this operation sets
    the saddle over it, else ``None``. ``permits`` are the woods, by botanical name, that a
    permit is noted for; without a ``destination`` the guitar crosses no border.
    """

    operation: OperationFacts
    at: datetime
    room: Room | None = None
    coated_on: date | None = None
    done: frozenset[str] = frozenset()
    electronics: OperationFacts | None = None
    element_mm: Decimal | None = None
    destination: str = ""
    permits: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Necks:
    """The necks at one body, by serial: the one ``scanned``, the one ``awaited``.

    ``whose`` is the body the scanned neck belongs to; empty, it is kept for none yet.
    ``cut``: the body's pocket is cut for the awaited neck, ``cut_elsewhere``: the scanned
    neck has a body that is cut for it.
    """

    scanned: str
    awaited: str
    whose: str = ""
    cut: bool = False
    cut_elsewhere: bool = False


@dataclass(slots=True)
class MomentCase(Case):
    """One operation at one moment."""

    moment: Moment


@dataclass(slots=True)
class PairCase(Case):
    """A neck beside a body."""

    necks: Necks


@rule("R33", "Under-saddle element before the saddle", reads=("element_mm",))
def element_first(case: MomentCase) -> Iterator[Finding]:
    now = case.moment
    fits = now.electronics
    if fits is None:
        return
    if fits.code != now.operation.code and fits.code not in now.done:
        yield case.stop(
            f"Electronics first: the element lies under the saddle, and {fits.code} is still open.",
            f"Do {fits.words} ({fits.station}), then set the saddle on it.",
            case.basis(
                (now.operation.words, "to do now"),
                (fits.words, "not recorded"),
                limit=f"{fits.code} before {now.operation.code}",
            ),
        )
    if now.element_mm is not None:
        yield case.note(
            f"The element under the saddle is {mm(now.element_mm)} high.",
            f"Take {mm(now.element_mm)} more off the base of the saddle.",
            case.basis(
                ("Element", mm(now.element_mm)),
                reckoning=f"base of the saddle \u2212 {mm(now.element_mm)}",
                limit="the saddle as high above the bridge as without an element",
            ),
        )


@rule(
    "R37",
    "The room when glue is used",
    reads=("temp_c", "rh_pct"),
    limits=(WHITE, YELLOW, RH_LEAST, RH_MOST, READ),
)
def glue(case: MomentCase) -> Iterator[Finding]:
    """A reading too old says nothing about the room as it is now, neither good nor bad."""
    now = case.moment
    if not now.operation.glue:
        return
    if now.room is None:
        yield _unread(case, "Nobody has read the room yet.", ("Read", "never"))
        return
    age = in_utc(now.at) - in_utc(now.room.at)
    if age > timedelta(hours=float(case.limit(READ))):
        since = when_words(now.room.at, now.at)
        words = f"Nobody has read the room for {span_words(age)}: {now.room.words} on {since}."
        yield _unread(case, words, ("Read", since), ("Now", when_words(now.at, now.at)))
        return
    yield from _too_cold(case, now.room)
    yield from _too_dry_or_damp(case, now.room)


def _unread(case: MomentCase, words: str, *sides: tuple[str, str]) -> Finding:
    then = "Read it and note it under Room, or say why you go on."
    return case.warn(words, then, case.basis(*sides, uses=(READ,)))


def _too_cold(case: MomentCase, room: Room) -> Iterator[Finding]:
    kind = case.moment.operation.glue
    limit = _NOT_BELOW[kind]
    least = case.limit(limit)
    if room.temp_c < least:
        low, needs = (f"{plain(one)}{THIN}°C" for one in (room.temp_c, least))
        yield case.stop(
            f"Room {low}, {kind} glue needs {needs}. Too cold: glue will chalk.",
            f"Bring room, parts and glue to {needs} at least, then read the room again.",
            case.basis(
                ("Room", low),
                (f"{kind.capitalize()} glue", f"{needs} at least"),
                reckoning=f"{plain(room.temp_c)} \u2212 {plain(least)} = "
                f"{plain(room.temp_c - least)}{THIN}°C",
                uses=(limit,),
            ),
        )


def _too_dry_or_damp(case: MomentCase, room: Room) -> Iterator[Finding]:
    least, most = case.limit(RH_LEAST), case.limit(RH_MOST)
    if least <= room.rh_pct <= most:
        return
    what = "dry" if room.rh_pct < least else "damp"
    moves = "swells" if what == "dry" else "shrinks"
    has = f"{plain(room.rh_pct)}{THIN}%RH"
    takes = f"{plain(least)} to {plain(most)}{THIN}%RH"
    yield case.stop(
        f"Room {has}, gluing needs {takes}. Too {what}: the wood {moves} once it is glued.",
        f"Bring the room to {takes}, let the parts rest in it, then read it again.",
        case.basis(("Room", has), ("Gluing", takes), uses=(RH_LEAST, RH_MOST)),
    )


@rule("R38", "Age of the finish", reads=("coated_on",), limits=(LACQUER, POLYESTER))
def finish_age(case: MomentCase) -> Iterator[Finding]:
    """How much it matters is the operation's own: a push of the wheel or a guard for good
    stops, a bushing near the edge warns."""
    now, coat = case.moment, case.spec.coat
    limit = _AGE_OF.get(coat)
    if not now.operation.finish_age or limit is None:
        return
    least = case.limit(limit)
    if now.coated_on is None:
        yield case.warn(
            f"The day of this body's last coat is not known; {coat.value} is left for "
            f"{_days(least)}.",
            "Ask who coated it, or say why you go on.",
            case.basis(("Last coat", "not known"), uses=(limit,)),
        )
        return
    today = now.at.date()
    age = (today - now.coated_on).days
    if age >= least:
        return
    ready = now.coated_on + timedelta(days=ceil(least))
    severe = now.operation.finish_age == "stop"
    yield Finding(
        case.rule.id,
        Severity.STOP if severe else Severity.WARN,
        f"Finish is {several(age, 'day')} old; {coat.value} is left for {_days(least)}.",
        f"Leave it until {ready}." if severe else f"Leave it until {ready}, or say why you go on.",
        "lead" if severe else "",
        case.basis(
            ("Last coat", now.coated_on.isoformat()),
            ("Today", today.isoformat()),
            reckoning=f"{today} \u2212 {now.coated_on} = {several(age, 'day')}",
            uses=(limit,),
        ),
    )


def _days(count: Decimal) -> str:
    return "1 day" if count == 1 else f"{plain(count)} days"


@rule("R39", "Neck and body of one pair", reads=("neck",))
def one_pair(case: PairCase) -> Iterator[Finding]:
    necks = case.necks
    if necks.scanned == necks.awaited:
        return
    belongs = "has its pocket in" if necks.cut_elsewhere else "belongs to"
    whose = f"{belongs} {necks.whose}" if necks.whose else "is kept for no body yet"
    waits = "is cut for" if necks.cut else "waits for"
    yield case.stop(
        f"This neck is {necks.scanned} and {whose}. {case.call.serial} {waits} {necks.awaited}.",
        "Hold both. Call the lead.",
        case.basis(
            ("Neck scanned", necks.scanned),
            (f"Neck of {case.call.serial}", necks.awaited),
            limit="the neck this body is cut for"
            if necks.cut
            else "the neck that waits for this body",
        ),
    )


@rule("R40", "Papers of protected woods", reads=("woods",), origin=AUTHORITY)
def papers(case: MomentCase) -> Iterator[Finding]:
    now = case.moment
    if not (now.operation.papers and now.destination):
        return
    for wood in case.spec.woods:
        if wood.permit and wood.botanical not in now.permits:
            yield case.stop(
                f"{wood.name.capitalize()} ({wood.botanical}) has no paper for {now.destination}.",
                "Ask the authority what is in force now: the law changes. "
                "Then the lead notes the paper's number.",
                case.basis(
                    (wood.name.capitalize(), wood.botanical),
                    ("Goes to", now.destination),
                    ("Number of its paper", "none noted"),
                    limit="a paper for each wood that needs one",
                ),
            )


_OF_A_MOMENT: Final = (element_first, glue, finish_age, papers)

RULES = (element_first, glue, finish_age, one_pair, papers)


def judge(moment: Moment, call: Call) -> tuple[Finding, ...]:
    """What stands against doing the operation at this moment, worst first.

    Raises ``ValueError`` for a moment without a time zone.
    """
    return worst_first(
        finding for one in _OF_A_MOMENT for finding in one.judge(MomentCase(one, call, moment))
    )


def paired(necks: Necks, call: Call) -> tuple[Finding, ...]:
    """What stands against making these two one pair: nothing where the neck is the one that
    waits for this body."""
    return tuple(one_pair.judge(PairCase(one_pair, call, necks)))
