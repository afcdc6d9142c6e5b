"""The rules of the routes said a second time, in plain data, for people who try anything.

Read from the workshop's data and kept in dicts and sets: nothing here asks the code that
keeps the rules on the floor. The limits of the hold are common practice, no source.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from math import ceil
from typing import Any

from django.utils.timezone import localtime

from shop.floor.demo.loading import SIGNED_DAYS, WORKSHOP
from tests.floor.morning import SEVEN

DATA = json.loads(WORKSHOP.read_text(encoding="utf-8"))
OPERATIONS: dict[str, dict[str, Any]] = {row["code"]: row for row in DATA["operations"]}
STATIONS = [row["code"] for row in DATA["stations"]]
ROUTES = {row["key"]: DATA["routes"][row["route"]] for row in DATA["specs"]}
LOOPS: dict[str, dict[str, Any]] = {row["key"]: row for row in DATA["loops"]}
PEOPLE: dict[str, dict[str, Any]] = {row["code"]: row for row in DATA["people"]}
LEARNING = {code for code, row in PEOPLE.items() if row["roles"] == ["trainee"]}
GRADERS = {code for code, row in PEOPLE.items() if {*row["roles"]} & {"inspector", "lead"}}
LEADS = {code for code, row in PEOPLE.items() if "lead" in row["roles"]}

MONDAY = SEVEN.date()
YEAR = timedelta(days=365)  # none of the years begun here has a 29 February in it

HOUR = timedelta(hours=1)
GLANCE = timedelta(minutes=15)
AWAY, TOUCH_UP = 2 * HOUR, 72 * HOUR
AGAIN, CHECKED = {"glued", "recut", "restrung", "dropped"}, {"string", "trimmed"}
NOTE_ONLY = 4  # the class that keeps nothing back
PAIRING, CASED, HELD = "J10", "I20", "I30"  # the cut that pairs, and what the hold lies between

# What every guitar has, whatever its spec: where an operation measures one of these, it has
# values of its own before it is recorded, and those of another operation are none.
ON_EVERY_GUITAR = {
    "bridge_place", "saddle_slot", "nut_slot", "first_fret", "proud", "relief", "action",
    "octave_off",
}  # fmt: skip

# What is said here of an attempt, by the rules an answer names.
SAYS = {
    "ended", "frozen", "open", "parked", "power cut", "rework", "route", "done", "order",
    "station", "person", "training", "beside", "doubt", "joined", "handed", "cut seen", "repair",
    "uncased", "undecided",
}  # fmt: skip


def trained(code: str, station: str, at: datetime) -> bool:
    """Signed off there, and not more than a year ago: common practice, no source."""
    row = PEOPLE[code]
    signed = MONDAY - timedelta(days=row.get("signed_days_ago", SIGNED_DAYS))
    return station in row.get("trained", ()) and localtime(at).date() <= signed + YEAR


@dataclass
class Made:
    """A step that counts: the moment its clocks run from, and everybody's hands in it."""

    at: datetime
    hands: frozenset[str]
    seq: int
    noted_at: datetime  # when its row was written
    doubt: bool = False


@dataclass
class Begun:
    """The step somebody has in hand."""

    operation: str
    by: str
    since: datetime
    helpers: set[str] = field(default_factory=set)
    parked: bool = False
    unsure: bool = False

    @property
    def hands(self) -> set[str]:
        return {self.by, *self.helpers}


@dataclass
class Loop:
    """The rework it is on; the loops that joined are one."""

    to_repair: bool
    since: datetime  # it was sent on it, or repaired last
    redo: set[str] = field(default_factory=set)
    dries_h: list[int] = field(default_factory=list)  # of what is still to be repaired
    dry_until: datetime | None = None
    keep_hold: bool = True


@dataclass
class Away:
    """Out of its case from ``begin`` until ``end``, or still."""

    begin: datetime
    end: datetime | None = None
    touch_up: bool = False


@dataclass
class Hung:
    """The tag in use on a body or a neck."""

    code: str
    printed: bool = False


@dataclass
class Guitar:
    """One instrument as the tries that were taken have left it."""

    serial: str
    spec: str
    neck: str | None
    made: dict[str, Made] = field(default_factory=dict)
    once: list[tuple[str, Made]] = field(default_factory=list)  # done, and to be done again
    begun: Begun | None = None
    frozen: bool = False
    ended: bool = False
    loop: Loop | None = None
    released_seq: int = 0  # the row it was last released by
    repairs: list[Made] = field(default_factory=list)
    undecided: dict[int, int] = field(default_factory=dict)  # by their rows: the class
    held: set[int] = field(default_factory=set)  # those of them that the lead is to decide
    found: dict[int, str] = field(default_factory=dict)  # by their rows: where each was
    signed: list[tuple[str, str]] = field(default_factory=list)  # where it was found, who decided
    longer: dict[str, int] = field(default_factory=dict)
    away: list[Away] = field(default_factory=list)
    changes: list[tuple[str, datetime, timedelta]] = field(default_factory=list)
    copies: dict[tuple[str, str], int] = field(default_factory=dict)  # by form and part

    # --- the route ---

    @property
    def stops(self) -> list[str]:
        stops: list[str] = ROUTES[self.spec]["stops"]
        return stops

    @property
    def rules(self) -> list[dict[str, Any]]:
        rules: list[dict[str, Any]] = ROUTES[self.spec]["precedences"]
        return rules

    def into(self, code: str) -> list[dict[str, Any]]:
        return [rule for rule in self.rules if rule["after"] == code]

    def behind(self, code: str) -> set[str]:
        """All that comes before an operation, however far back."""
        found: set[str] = set()
        ends = [code]
        while ends:
            more = {rule["before"] for rule in self.into(ends.pop())} - found
            found |= more
            ends.extend(more)
        return found

    def beyond(self, code: str) -> set[str]:
        return {one for one in self.stops if code in self.behind(one)}

    @property
    def up(self) -> list[str]:
        """What is next, by the route alone."""
        return [
            one
            for one in self.stops
            if one not in self.made and all(it["before"] in self.made for it in self.into(one))
        ]

    # --- what stands against a step ---

    def against(
        self, code: str, by: str, beside: str, station: str, at: datetime, *, late: bool = False
    ) -> set[str]:
        """Everything of ``SAYS`` that keeps these people from the operation at this moment."""
        if self.ended:
            return {"ended"}
        found = {"frozen"} if self.frozen else set()
        found |= self._in_hand(code, by)
        if self.loop and self.loop.to_repair:
            found.add("rework")
        if code not in self.stops:
            return found | {"route"}
        if code in self.made:
            return found | {"done"}
        facts = OPERATIONS[code]
        if self._missing(code):
            found.add("order")
        if not late and facts["station"] != station:
            found.add("station")
        if any(self._too_near(code, one, at) for one in {by, beside} - {""}):
            found.add("person")
        alone = not beside or beside in LEARNING or beside == by
        eyes = {by} if alone else {by, beside}
        if facts.get("trained") and not any(trained(one, facts["station"], at) for one in eyes):
            found.add("training")
        if self._unsigned(facts, by, beside, alone):
            found.add("beside")
        if facts.get("proves") and any(one.doubt for one in self.made.values()):
            found.add("doubt")
        if self.inspected(code) and any(grade < NOTE_ONLY for grade in self.undecided.values()):
            found.add("undecided")
        return found

    @staticmethod
    def _unsigned(facts: dict[str, Any], by: str, beside: str, alone: bool) -> bool:
        """Whether somebody learns and has no trainer, or the lead releases alone."""
        if by in LEARNING and alone:
            return True
        return bool(facts.get("freezes")) and by in LEADS and (alone or beside in LEADS)

    def inspected(self, code: str) -> bool:
        """Whether it is the first inspection, or comes after it."""
        return any(OPERATIONS[one].get("proves") for one in {code, *self.behind(code)})

    def _in_hand(self, code: str, by: str) -> set[str]:
        one = self.begun
        if one is None:
            return set()
        if one.unsure:
            return {"power cut"}
        if one.parked:
            return {"parked"}
        return set() if code == one.operation and by in one.hands else {"open"}

    def _missing(self, code: str) -> set[str]:
        missing = {rule["before"] for rule in self.into(code)} - self.made.keys()
        far = self.behind(code) - self.made.keys()
        if OPERATIONS[code].get("proves"):
            return missing | far
        return missing | (far & (self.loop.redo if self.loop else set()))

    def _too_near(self, code: str, who: str, at: datetime) -> bool:
        """Whether somebody would judge their own work, do anew what they have judged, or look
        again where they decided on what the first look found."""
        apart = [rule for rule in self.into(code) if rule.get("other_person")]
        if OPERATIONS[code].get("freezes"):
            judged = [
                rule
                for rule in self.rules
                if rule.get("other_person") and rule["after"] in self.behind(code)
            ]
            apart += [rule for rule in judged if not OPERATIONS[rule["before"]].get("proves")]
        firsts = [rule["before"] for rule in self.into(code) if rule.get("other_person")]
        looks = [one for one in firsts if OPERATIONS[one].get("proves")]
        if any((place, who) in self.signed for one in looks for place in self.places(one)):
            return True
        times = [*self.made.items(), *self.once]
        for rule in apart:
            days = timedelta(days=rule.get("apart_days", 100_000))
            for one, made in times:
                if one == rule["before"] and who in made.hands and at - made.at < days:
                    return True
        for rule in self.rules:
            if rule["before"] == code and rule.get("other_person"):
                days = timedelta(days=rule.get("apart_days", 100_000))
                look = self.made.get(rule["after"])
                if look and who in look.hands and at - look.at < days:
                    return True
        week = timedelta(days=7)
        return bool(apart) and any(who in one.hands and at - one.at < week for one in self.repairs)

    @staticmethod
    def places(code: str) -> tuple[str, str]:
        """What a defect says of where it was found, when that was at this operation."""
        return code, OPERATIONS[code]["station"]

    def decided(self, number: int, by: str, beside: str) -> None:
        """These signed what becomes of the defect of that row."""
        self.signed += [(self.found[number], who) for who in (by, beside) if who]

    def measures(self, code: str) -> tuple[set[str], int]:
        """What is measured at an operation before it is recorded there, and the row after
        which: that of the last time it was done, where it is done again."""
        before = [made.seq for one, made in self.once if one == code]
        return ON_EVERY_GUITAR & {*OPERATIONS[code].get("gauges", ())}, max(before, default=0)

    def early(self, code: str, at: datetime) -> bool:
        """Whether glue, strings or a repair still dry, or the days in the case still run."""
        for rule in self.into(code):
            before, hours = self.made.get(rule["before"]), rule.get("wait_h", 0)
            if before is None or rule.get("clock") == "hold":
                continue
            hours += self.longer.get(rule.get("clock", ""), 0) if hours else 0
            if at < before.at + (0 if rule.get("noted") else hours) * HOUR:
                return True
        if self.loop and self.loop.dry_until and at < self.loop.dry_until:
            return True
        after_hold = code == HELD or HELD in self.behind(code)
        return after_hold and CASED in self.made and not self.rested(at)

    # --- the days in the case ---

    def rested(self, at: datetime) -> bool:
        """Whether it can have lain in its case so long: ``False`` is sure, ``True`` may still
        be too soon where the room was dry."""
        cased = self.made[CASED].at
        need = (96 + self.longer.get("hold", 0)) * HOUR
        away = [one for one in self.away if one.begin >= cased or (one.end and one.end > cased)]
        begins = [cased, *(t + cure for what, t, cure in self.changes if what in AGAIN)]
        checks = [t for what, t, _ in self.changes if what in CHECKED and t >= cased]
        for one in sorted(away, key=lambda it: it.begin):
            if one.end is None or (not one.touch_up and self._shared(one, away)):
                continue
            most = TOUCH_UP if one.touch_up else AWAY
            before = [t for t in begins if t <= max(one.begin, cased)]
            if one.end - max(one.begin, cased) > most and (
                self._in_case(max(before), one.begin, away) < need
            ):
                begins.append(one.end)
        if any(self._in_case(t, at, away) < 24 * HOUR for t in checks):
            return False
        return self._in_case(max(begins), at, away) >= need

    def _in_case(self, start: datetime, at: datetime, away: list[Away]) -> timedelta:
        """The time from one moment to another that it was not out of its case."""
        out, last = timedelta(), start
        for one in sorted(away, key=lambda it: it.begin):
            if not one.touch_up and (self._shared(one, away) or self._glance(one, start, at)):
                continue
            begin, end = max(one.begin, last), min(one.end or at, at)
            if end > begin:
                out += end - begin
                last = end
        return at - start - out

    @staticmethod
    def _glance(one: Away, start: datetime, at: datetime) -> bool:
        return min(one.end or at, at) - max(one.begin, start) < GLANCE

    @staticmethod
    def _shared(one: Away, away: list[Away]) -> bool:
        """Whether it was out for a touch-up in part of that time: that counts by itself."""
        return any(
            it.touch_up
            and (one.end is None or it.begin < one.end)
            and (it.end is None or it.end > one.begin)
            for it in away
        )

    @property
    def out(self) -> Away | None:
        if CASED not in self.made:
            return None
        since = self.made[CASED].at
        return next((it for it in self.away if it.end is None and it.begin >= since), None)

    # --- what is printed ---

    def drawn(self, form: str, hung: dict[str, Hung]) -> tuple[str, int, bool] | None:
        """Of which part its next copy is, the how manieth, and whether a printed tag is void
        by it; ``None`` where there is no tag to print."""
        of = self.neck if form == "neck_tag" else self.serial
        tag = hung.get(of or "")
        if of is None or (form != "traveller" and tag is None):
            return None
        voids = form != "traveller" and tag is not None and tag.printed
        return of, self.copies.get((form, of), 0) + 1, voids

    def against_print(
        self, form: str, of: str, copy: int, code: str, hung: dict[str, Hung]
    ) -> set[str]:
        """What stands against a copy that was drawn, by how things are when it is recorded."""
        if of not in {self.serial, self.neck}:
            return {"print part"}
        if copy != self.copies.get((form, of), 0) + 1:
            return {"print copy"}
        if form == "traveller":
            return set()
        tag = hung.get(of)
        if tag is None or (not tag.printed and tag.code != code):
            return {"print tag"}
        return {"print again"} if tag.printed else set()

    # --- how it stands ---

    @property
    def doubtful(self) -> list[str]:
        return [code for code, one in self.made.items() if one.doubt]

    @property
    def next_cut(self) -> bool:
        """Whether a machine is what it goes to next."""
        free = not (self.begun or self.frozen or self.ended)
        return free and any(OPERATIONS[code].get("machine") for code in self.up[:1])

    @property
    def cutting(self) -> bool:
        """Whether a machine is at it."""
        return self.begun is not None and bool(OPERATIONS[self.begun.operation].get("machine"))

    @property
    def paired(self) -> bool:
        return PAIRING in self.made and not self.ended

    @property
    def finished(self) -> bool:
        return self.loop is None and self.made.keys() >= {*self.stops}

    @property
    def closed(self) -> bool:
        """Nothing it is built of changes any more."""
        return self.ended or self.finished or bool(self.released_seq)

    # --- what is taken changes it ---

    def did(self, code: str, step: Made) -> None:
        self.made[code] = step
        if OPERATIONS[code].get("freezes"):
            self.released_seq = step.seq
        self.begun = None
        if self.loop and not self.loop.to_repair and self.loop.redo <= self.made.keys():
            self.loop = None

    def sent(self, at: datetime, loop: dict[str, Any], depth_mm: Decimal | None = None) -> None:
        """It goes off its route, and what the loop undoes is open again."""
        keeps = loop.get("keeps_hold", False)
        again = {*loop["redo"]}
        if CASED in self.made and not keeps:
            again |= {CASED, HELD}
        redone = again & self.made.keys()
        again |= {one for one in self.beyond(HELD) if self.behind(one) & redone}
        again = (again & self.made.keys()) - {PAIRING}
        self.again(again)
        layers = ceil(depth_mm / Decimal(loop["per_mm"])) if depth_mm and "per_mm" in loop else 1
        dries = min(loop.get("dry_h", 0) * layers, loop.get("most_h", 10_000))
        self.loop = self.loop or Loop(to_repair=True, since=at)
        self.loop.to_repair = True
        self.loop.redo |= again
        self.loop.dries_h.append(dries)
        self.loop.keep_hold &= keeps
        if self.begun and not self.begun.unsure:
            self.begun = None

    def happened(self, what: str, when: datetime, cure: timedelta) -> None:
        """Something in the days of the hold. Where it begins these again or asks for a check of
        24 h, and a look came since or too soon after it, that look is taken again, and all
        that was done since."""
        look = self.made.get(HELD)
        was = self.over_at_look()
        self.changes.append((what, when, cure))
        if look is None or what not in AGAIN | CHECKED:
            return
        days = (24 if what in CHECKED else 96 + self.longer.get("hold", 0)) * HOUR
        if when + cure + days > look.at or (was and not self.over_at_look()):
            self.looks_again()

    def turned_out(self, was: bool) -> None:
        """Its days are told otherwise than they were at the look at their end: where they
        ``was`` over at it and turn out not to have been, it is taken again, and all since."""
        if was and not self.over_at_look():
            self.looks_again()

    def over_at_look(self) -> bool:
        """Whether the look at the end of its days was taken when they were over."""
        return {CASED, HELD} <= self.made.keys() and self.rested(self.made[HELD].at)

    def looks_again(self) -> None:
        self.again({HELD} | self.beyond(HELD))
        begun = self.begun
        if begun and not begun.unsure and begun.operation in {HELD} | self.beyond(HELD):
            self.begun = None

    def again(self, codes: set[str]) -> None:
        """These count no more and are done again; whose hands they were is not forgotten."""
        self.once += [(code, self.made.pop(code)) for code in sorted(codes & self.made.keys())]

    def repaired(self, step: Made) -> None:
        assert self.loop is not None, "a repair was taken that nothing asked for"
        hours = max(self.loop.dries_h, default=0)
        ends = [step.at + hours * HOUR] if hours else []
        ends += [self.loop.dry_until] if self.loop.dry_until else []
        self.loop.to_repair, self.loop.since, self.loop.dries_h = False, step.at, []
        self.loop.dry_until = max(ends, default=None)
        self.repairs.append(step)
        # What was filled or glued dries first, also where nothing is done again after it.
        dry = self.loop.dry_until is None or self.loop.dry_until <= step.at
        if self.loop.redo <= self.made.keys() and (dry or self.made.keys() >= {*self.stops}):
            self.loop = None

    def parted(self) -> None:
        """Its neck is gone, and all that was done on that neck or since with it."""
        again = {"N10"} | self.beyond("N10")
        self.again(again)
        clocks = {rule.get("clock") for rule in self.rules if rule["before"] in again}
        self.longer = {name: h for name, h in self.longer.items() if name not in clocks}
        self.neck, self.begun, self.loop, self.away, self.changes = None, None, None, [], []

    def doubted(self, since: datetime) -> None:
        for one in self.made.values():
            one.doubt |= one.noted_at >= since

    def story(self) -> Iterator[str]:
        """How it stands, for whoever reads why a walk failed."""
        yield f"{self.serial} ({self.spec}) with {self.neck}: {self.frozen=} {self.ended=}"
        yield f"  done {sorted(self.made, key=lambda one: self.made[one].at)}"
        yield f"  begun {self.begun}; loop {self.loop}; away {self.away}; changes {self.changes}"
