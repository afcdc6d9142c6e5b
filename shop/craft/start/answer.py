"""Every reason against starting, in the order in which they have to be cleared."""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding, note, stop, worst_first
from shop.craft.route import OperationFacts, last_of, next_up
from shop.craft.start import fresh, people, waits
from shop.craft.start.standing import Asking, Standing
from shop.craft.when import in_utc, when_words
from shop.craft.words import listed


def may_start(
    now: Standing, operation: str, asking: Asking, work: tuple[Finding, ...] = ()
) -> tuple[Finding, ...]:
    """Every reason why this person may not do this operation here and now, worst first;
    nothing when they may.

    ``work`` is what tray, readings, posts and room say, judged by their own rules; at another
    station than the operation's it is left out. An operation off the route, or one already
    recorded, has no further reasons, and neither has an instrument that is ended. Raises
    ``ValueError`` for a moment without a time zone.
    """
    in_utc(asking.at)
    if now.ended:
        return (_ended(now),)
    stands = (*_frozen(now, asking), *_open(now, operation, asking), *_at_repair(now, asking))
    facts = now.route.find(operation)
    if facts is None:
        return (*stands, _off_route(now, operation))
    if recorded := tuple(_recorded(now, facts, asking)):
        return (*stands, *recorded)
    elsewhere = tuple(_station(now, facts, asking))
    return worst_first(
        (
            *stands,
            *_order(now, facts),
            *waits.against(now, facts, asking.at),
            *elsewhere,
            *people.against(now, facts, asking),
            *_doubts(now, facts),
            *_undecided(now, facts, asking),
            *(() if elsewhere else work),
        )
    )


def _ended(now: Standing) -> Finding:
    return stop(
        "ended",
        f"{now.serial} has come to its end: {_full(now.ended)}",
        "Nothing more is done on it. Set it aside and ask the lead.",
    )


def _frozen(now: Standing, asking: Asking) -> Iterator[Finding]:
    if (one := now.frozen) is None:
        return
    since = when_words(one.since, asking.at)
    then = "Leave it as it is. The lead looks and frees it."
    if fresh.untold(now, asking, one):
        words = f"{now.serial} was frozen {since} by {one.by} for a defect of the first look."
        yield stop("frozen", words, then)
    else:
        words = f"{now.serial} was frozen {since} by {one.by}: {_full(one.words)}"
        yield stop("frozen", words, then)


def _open(now: Standing, operation: str, asking: Asking) -> Iterator[Finding]:
    """One step is open at a time, and it has somebody's hands on it."""
    one = now.open
    if one is None:
        return
    since = when_words(one.since, asking.at)
    if one.unsure:
        facts = now.route.find(one.operation)
        unknown = "the cut" if facts and facts.machine else "how far it came"
        yield stop(
            "power cut",
            f"The power went while {one.operation} was open: {unknown} is unknown until "
            "somebody looks.",
            "Look at it and say how it stands.",
        )
    elif one.parked:
        note = f": {_full(one.note)}" if one.note else "."
        yield stop(
            "parked",
            f"{one.operation} is parked by {one.by} since {since}{note}",
            "Take it over first.",
            call="",
        )
    elif asking.who.code == one.by:
        if operation != one.operation:
            words = f"You have {one.operation} open since {since}."
            yield stop("open", words, f"Record {one.operation}, or park it first.", call="")
    elif operation != one.operation or asking.who.code not in one.helpers:
        words = f"{one.by} has {one.operation} open since {since}."
        yield stop("open", words, "Join as helper, or wait until it is recorded.", call="")


def _at_repair(now: Standing, asking: Asking) -> Iterator[Finding]:
    one = now.rework
    if one is not None and one.stage == "repair":
        since = when_words(one.since, asking.at)
        untold = fresh.untold_loop(now, asking, one)
        words = "found at the first look" if untold else one.words
        yield stop(
            "rework",
            f"At Repair since {since}: {_full(words)}",
            "Take it to Repair. It goes on here once the repair is recorded.",
        )


def _off_route(now: Standing, operation: str) -> Finding:
    return stop(
        "route",
        f"{operation} is not on the route {now.route.name}.",
        _onward(now) or "Check the serial, or ask the lead to add it to the route.",
    )


def _recorded(now: Standing, facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    if last := last_of(facts.code, now.counted):
        yield stop(
            "done",
            f"{facts.words} was recorded {when_words(last.at, asking.at)} by {last.by}.",
            f"{_onward(now)} If it must be done again, the lead opens it.".strip(),
        )


def _order(now: Standing, facts: OperationFacts) -> Iterator[Finding]:
    """All that comes right before it is done. What a loop does again, or a step that was
    struck before all is to be proven, is looked for however far back."""
    behind = {one.operation for one in now.counted}
    missing = {step.before for step in now.route.into(facts.code)} - behind
    if not missing:
        again = now.rework.redo if now.rework else ()
        far = now.route.before(facts.code) - behind
        missing = {code for code in far if facts.proves or code in again}
    if missing:
        named = listed([_at_station(now, code) for code in _in_shop_order(now, missing)])
        yield stop(
            "order",
            f"{facts.words} comes after {named}, not recorded yet.",
            f"{_onward(now)} If the work is really done, the lead records it late.".strip(),
        )


def _station(now: Standing, facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    """The phone stands where the operation belongs."""
    if facts.station_code != asking.station and not asking.late:
        yield stop(
            "station",
            f"{facts.code} belongs to {facts.station}; this phone is at "
            f"{asking.station or 'no station'}.",
            f"Take {now.serial} to {facts.station}, or set your station.",
            call="",
        )


def _doubts(now: Standing, facts: OperationFacts) -> Iterator[Finding]:
    if facts.proves:
        for code in dict.fromkeys(one.operation for one in now.counted):
            last = last_of(code, now.counted)
            if last and last.doubt:
                yield stop(
                    "doubt",
                    f"{code} is not proven: {_full(last.doubt)}",
                    "The lead confirms or strikes it.",
                )


def _undecided(now: Standing, facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    """An operation that proves what came before it, and all after the first of these, waits
    until it is decided what becomes of each defect. A mere note is told, but to no second look:
    that one is to find it without being told. Of what the first look found, whoever could still
    take the second is told no more than that it waits."""
    if not facts.proves and not any(_proves(now, code) for code in now.route.before(facts.code)):
        return
    again = any(one.other_person and _proves(now, one.before) for one in now.route.into(facts.code))
    untold: set[bool] = set()  # whether one of those kept back is held for the lead
    for one in now.undecided:
        on_clock = in_utc(one.at).astimezone(asking.at.tzinfo)
        noted = f"{one.words}, noted {on_clock:%Y-%m-%d %H:%M}"
        if fresh.untold(now, asking, one):
            untold |= {bool(one.disposition)} if one.weighs else set()
        elif one.weighs and one.disposition:
            yield stop(
                "undecided",
                f"{noted}, is held for decision: {facts.code} waits.",
                "The lead decides what becomes of it.",
            )
        elif one.weighs:
            yield stop(
                "undecided",
                f"{noted}, is not decided: {facts.code} waits.",
                "Decide what becomes of it, or ask the lead.",
            )
        elif not again:
            yield note("undecided", f"{noted}, is not decided.", "Nothing waits for it.")
    if untold:  # told once: how many there are would lead the eyes too
        yield stop(
            "undecided",
            f"A defect of the first look waits for a decision: {facts.code} waits.",
            "The lead decides what becomes of it."
            if any(untold)
            else "Whoever found it decides, or the lead.",
        )


def _proves(now: Standing, code: str) -> bool:
    before = now.route.find(code)
    return before is not None and before.proves


def _onward(now: Standing) -> str:
    up = next_up(now.route, now.counted)
    return f"Next up: {listed([_at_station(now, code) for code in up])}." if up else ""


def _at_station(now: Standing, code: str) -> str:
    facts = now.route.find(code)
    return f"{facts.words} ({facts.station})" if facts else code


def _in_shop_order(now: Standing, codes: set[str]) -> list[str]:
    known = [one.code for one in now.route.operations if one.code in codes]
    return [*dict.fromkeys(known), *sorted(codes.difference(known))]


def _full(words: str) -> str:
    """Words that somebody typed, as the end of a sentence."""
    return f"{words.rstrip(' .')}."
