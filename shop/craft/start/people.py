"""Who may do an operation: other eyes than did the work, signed-off hands, a trainer beside."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Final

from shop.craft.finding import Finding, stop
from shop.craft.route import Done, OperationFacts, Precedence, last_of
from shop.craft.start import fresh
from shop.craft.start.standing import Asking, Person, Standing
from shop.craft.when import in_utc, on_the_minute, when_words
from shop.craft.words import listed

REPAIR_APART: Final = timedelta(days=7)  # common practice, without a published source
FOR_EVER: Final = datetime.max.replace(tzinfo=UTC)

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def against(now: Standing, facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    yield from _other_eyes(now, facts, asking)
    if facts.trained:
        yield from _signed_off(facts, asking)
    if asking.who.learns and asking.signer is None:
        yield stop(
            "beside",
            f"{asking.who.code} is learning: a trainer signs beside you.",
            "Ask a trainer to sign beside you.",
        )
    if facts.freezes and asking.who.leads and (asking.signer is None or asking.signer.leads):
        yield stop(
            "beside",
            f"{facts.words} is never done by the lead alone: {asking.who.code} leads.",
            "Ask an inspector to sign beside you, or to do it.",
        )


def _other_eyes(now: Standing, facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    """Nobody judges their own work, neither alone nor beside somebody; nor does, while their
    judgement stands, what they judged. Who signed what becomes of something that the first look
    found takes no second one: they know what there is to be seen."""
    apart, judges, knows = _apart(now, facts), _judges(now, facts), _knows(now, facts)
    if not apart and not judges:
        return
    at = in_utc(asking.at)
    needs = f"{facts.words} needs other eyes."
    for person, named, then in _present(asking, facts):
        barred = {
            step.before: end for step in apart if (end := _apart_until(now, step, person)) > at
        } | {
            step.after: end
            for step, one in judges
            if person.code in one.hands and (end := _judged_until(step, one)) > at
        }
        if barred:
            did = listed([one.words for one in now.route.operations if one.code in barred])
            yield stop(
                "person",
                f"{named} did {did} on this guitar. {needs}",
                f"{then}, {_or_else(max(barred.values()), asking)}.",
            )
        elif person.code in knows:
            yield stop(
                "person",
                f"{named} signed a decision on what the first look of this guitar found. {needs}",
                f"{then}, {_or_else(FOR_EVER, asking)}.",
            )
        repairs = [in_utc(one.at) for one in now.repairs if apart and person.code in one.hands]
        if repairs and (end := max(repairs) + REPAIR_APART) > at:
            yield stop(
                "person",
                f"{named} repaired this guitar {when_words(max(repairs), asking.at)}. {needs}",
                f"{then}, {_or_else(end, asking)}.",
            )


def kept_apart(now: Standing, facts: OperationFacts, at: datetime) -> frozenset[str]:
    """The badges that may not do an operation ``at`` this moment, because they did what other
    eyes are to judge or repaired it lately, because they judged it, or because they signed a
    decision on what the first look found."""
    apart, judges = _apart(now, facts), _judges(now, facts)
    moment = in_utc(at)
    judged = [one.hands for step, one in judges if _judged_until(step, one) > moment]
    if not apart:
        return frozenset(code for hands in judged for code in hands)
    done = {code for one in (*now.done, *now.past) for code in one.hands}
    kept = {
        code
        for code in done
        if any(_apart_until(now, step, Person(code)) > moment for step in apart)
    }
    for one in now.repairs:
        if in_utc(one.at) + REPAIR_APART > moment:
            kept.update(one.hands)
    return frozenset(kept.union(_knows(now, facts), *judged))


def _knows(now: Standing, facts: OperationFacts) -> frozenset[str]:
    """The badges that signed a decision on what the first look found, of which this is the
    second."""
    firsts = [first for first, second in fresh.pairs(now.route) if second.code == facts.code]
    return frozenset(code for first in firsts for code in fresh.knowing(first, now.decided))


def _apart(now: Standing, facts: OperationFacts) -> list[Precedence]:
    """What other eyes are to have done than whoever does this. What freezes the record asks it
    for all that was judged before, so that nobody signs for their own work."""
    found = [step for step in now.route.into(facts.code) if step.other_person]
    if facts.freezes:
        before = [step for code in now.route.before(facts.code) for step in now.route.into(code)]
        looks = {step.after for step in before if step.other_person}
        found += [step for step in before if step.other_person and step.before not in looks]
    return found


def _judges(now: Standing, facts: OperationFacts) -> list[tuple[Precedence, Done]]:
    """The looks that count already and that other eyes are to have taken than do this: it was
    struck since, and is done anew."""
    looks = [one for one in now.route.precedences if one.before == facts.code and one.other_person]
    taken = [(step, last_of(step.after, now.counted)) for step in looks]
    return [(step, one) for step, one in taken if one is not None]


def _present(asking: Asking, facts: OperationFacts) -> Iterator[tuple[Person, str, str]]:
    """Who has a hand in it: the person, what they are called, how another takes their place."""
    yield asking.who, "You", f"Hand it to another person who may do {facts.code}"
    if asking.beside and asking.beside.code != asking.who.code:
        yield asking.beside, f"{asking.beside.code} beside you", "Have another sign beside you"


def _apart_until(now: Standing, step: Precedence, person: Person) -> datetime:
    """Until when having done the one operation keeps a person from the other; the beginning
    of time for who had no hand in it. Every time it was done counts."""
    ends = [
        FOR_EVER if step.apart_days is None else in_utc(one.at) + timedelta(days=step.apart_days)
        for one in (*now.done, *now.past)
        if one.operation == step.before and person.code in one.hands
    ]
    return max(ends, default=datetime.min.replace(tzinfo=UTC))


def _judged_until(step: Precedence, look: Done) -> datetime:
    """Until when having taken a look keeps from doing what it judged."""
    if step.apart_days is None:
        return FOR_EVER
    return in_utc(look.at) + timedelta(days=step.apart_days)


def _or_else(end: datetime, asking: Asking) -> str:
    if end == FOR_EVER:
        return "or ask the lead for one"
    return f"or come back {when_words(on_the_minute(end), asking.at)}"


def _signed_off(facts: OperationFacts, asking: Asking) -> Iterator[Finding]:
    """Somebody who counts here is signed off for the station on this day."""
    today = asking.at.date()
    people = (asking.who, asking.signer)
    last_days = [one.trained.get(facts.station_code) for one in people if one]
    if any(last is not None and last >= today for last in last_days):
        return
    who, last = asking.who.code, asking.who.trained.get(facts.station_code)
    yield stop(
        "training",
        f"{who} is not signed off for {facts.station}."
        if last is None
        else f"{who}'s training for {facts.station} expired {_day_words(last, today)}.",
        "Work with a trained badge beside you, or ask the lead.",
    )


def _day_words(day: date, today: date) -> str:
    words = f"{day.day} {MONTHS[day.month - 1]}"
    return words if day.year == today.year else f"{words} {day.year}"
