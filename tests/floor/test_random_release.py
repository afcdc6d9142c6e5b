"""Anybody does anything in the days of the hold: nothing is released that may not be.

Two instruments are inspected, cased, repaired, touched up and looked at again in whatever
order people act, and anybody tries to release and to box them at any moment. What is taken is
kept in plain data (``reckoned.py``); the days in the case are counted here minute by minute.
The limits of the days and of whose eyes are other eyes are common practice, no source.
"""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any, ClassVar, TypeVar

import pytest
from hypothesis import HealthCheck, Phase, currently_in_test_context, event, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    rule,
    run_state_machine_as_test,
)

from shop.craft.start import Person
from shop.floor import board, door, following, states, verifying
from shop.floor.models import AsBuilt, Carton, RoomReading, Step
from shop.people import badges
from shop.people.models import Badge
from tests.floor.looking import asks_for_areas
from tests.floor.morning import NOW, now, prepared, undone
from tests.floor.reckoned import (
    AGAIN,
    CASED,
    CHECKED,
    HELD,
    LEADS,
    LOOPS,
    OPERATIONS,
    Away,
    Guitar,
    Made,
)
from tests.floor.released import DOERS
from tests.floor.seeded import seed as seed_panels
from tests.floor.shipping import CARRIER, paper

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

WALKS, LONG = 5, 30
LEAST, MOST = 2, 6  # so many walks twice, and more where they did not come far enough

FIRST, RELEASE = "I10", "I50"
JUDGED = ("U10", "U30", "A30")  # whose work a look judges: nut, saddle, set-up
LOOKS = (FIRST, HELD)
LINE = ("U10", "U30", "Q10", "A30", FIRST, CASED, HELD, RELEASE)
HOLD_MIN, CHECK_MIN = 96 * 60, 24 * 60
GLANCE_MIN, AWAY_MIN, TOUCH_UP_MIN = 15, 2 * 60, 72 * 60
ROOM_MIN, DANGER_MIN = 24 * 60, 4 * 60
WEEK = timedelta(days=7)
MINUTE = timedelta(minutes=1)
WHY = "Seen so at the bench"

# The first inspector and the second, who did nut and saddle and who set up, the repairer, the
# lead, somebody who had no hand in it, and whoever packs.
ANYBODY = st.sampled_from(["P-31", "P-32", "P-32", "P-20", "P-22", "P-61", "P-01", "P-23", "P-51"])
INSPECTS = st.sampled_from(["P-31", "P-32"])
BESIDE = st.sampled_from(["", "", "", "P-01", "P-31", "P-32"])
WHICH = st.integers(0, 1)
AWHILE = st.sampled_from([1, 5, 14, 15, 40, 120, 121, 500, 1440, 1560, 4320, 4321, 5750, 5770])
KEEPING = ("finish chip", "cosmetic")  # loops that leave the strings at pitch

TOLD: Counter[tuple[str, bool]] = Counter()
"""How often each deed was tried, and whether it was taken, over all walks."""


# --- the days in the case, counted ---


@dataclass
class Days:
    """The minutes that count, as a clock beside the case counts them."""

    count: int = 0
    passed: bool = False
    dry: int = 0  # the minute from which on what was glued last is dry
    out: int = 0  # minutes of the absence that is going on, without those of a touch-up
    out_inside: int = 0  # those of them in which the room was as it should be
    touched: int = 0  # minutes of the touch-up that is going on
    room: int = 0  # 1 outside its limits, 2 in danger
    outside: int = 0  # minutes of the room outside since the count began
    danger: int = 0  # minutes of danger at this stretch

    def begin_again(self) -> None:
        self.count, self.passed, self.outside = 0, False, 0

    def turns(self, temp: Decimal, rh: Decimal) -> None:
        """The room is read: back from danger or from outside, what was too long begins again."""
        before, self.room = self.room, int(not (40 <= rh <= 60 and 16 <= temp <= 27))
        self.room = self.room if 37 <= rh <= 65 else 2
        if before == 2 > self.room:
            if self.danger > DANGER_MIN:
                self.begin_again()
            self.danger = 0
        if before and not self.room and self.outside > ROOM_MIN:
            self.begin_again()

    def touched_up(self) -> None:
        if self.touched > TOUCH_UP_MIN:
            self.begin_again()
        self.touched = 0

    def back(self) -> None:
        """It is back in its case: a glance counts on, a while does not, long begins again."""
        if self.out < GLANCE_MIN:
            self.more(self.out_inside)
        elif self.out > AWAY_MIN:
            self.begin_again()
        self.out = self.out_inside = 0

    def changed(self, dry: int) -> None:
        if dry > self.dry:
            self.begin_again()
            self.dry = dry

    def lasts(self, t: int, *, out: bool, touched: bool) -> None:
        """One more minute; once the days have passed nothing of it is counted."""
        if self.passed:
            return
        inside = not self.room and t >= self.dry
        self.outside += bool(self.room)
        self.danger += self.room == 2
        self.touched += touched
        self.out += out and not touched
        self.out_inside += out and not touched and inside
        if inside and not (out or touched):
            self.more(1)

    def more(self, minutes: int) -> None:
        self.count += minutes
        self.passed = self.passed or self.count >= HOLD_MIN


def rested(
    cased: datetime,
    at: datetime,
    away: Iterable[Away],
    changes: Iterable[tuple[str, datetime, timedelta]],
    air: Iterable[tuple[datetime, Decimal, Decimal]],
) -> bool:
    """Whether it lay in its case for 96 h that count, minute by minute, and for 24 h since a
    string or its height was changed."""

    def minute(moment: datetime | None) -> int:
        return min(int(((moment or at) - cased) / MINUTE), end)

    end = int((at - cased) / MINUTE)
    # What is still out from before was put in its case.
    spans = [one for one in away if one.end or one.begin >= cased]
    out, touched = (
        {
            t
            for one in spans
            if one.touch_up is touch_up
            for t in range(max(minute(one.begin), 0), minute(one.end))
        }
        for touch_up in (False, True)
    )
    told = [(what, int((when - cased) / MINUTE), cure) for what, when, cure in changes]
    if any(what in CHECKED and 0 <= t <= end < t + CHECK_MIN for what, t, _ in told):
        return False
    rooms = sorted((int((when - cased) / MINUTE), temp, rh) for when, temp, rh in air)
    again = [(t, t + int(cure / MINUTE)) for what, t, cure in told if what in AGAIN]
    days = Days(dry=max((dry for t, dry in again if t < 0), default=0))
    for _, temp, rh in [one for one in rooms if one[0] < 0]:
        days.turns(temp, rh)
    for t in range(end + 1):
        for _, temp, rh in [one for one in rooms if one[0] == t]:
            days.turns(temp, rh)
        if t - 1 in touched and t not in touched:
            days.touched_up()
        if t - 1 in out and t not in out:
            days.back()
        for _, dry in [one for one in again if one[0] == t]:
            days.changed(dry)
        if t < end:
            days.lasts(t, out=t in out, touched=t in touched)
    return days.passed


Tried = tuple[str, Callable[["Floor"], bool], st.SearchStrategy[dict[str, Any]]]
TRIED: list[Tried] = []
"""What can be tried, each as often as it is to be compared with the rest."""

F = TypeVar("F", bound=Callable[..., Any])


def tried(
    often: int, when: Callable[[Floor], bool] = lambda _: True, **draws: st.SearchStrategy[Any]
) -> Callable[[F], F]:
    """A method of ``Floor`` as a thing that people try, ``when`` there is anything to it."""

    def keep(method: F) -> F:
        TRIED.extend([(method.__name__, when, st.fixed_dictionaries(draws))] * often)
        return method

    return keep


@dataclass
class Story:
    """One instrument, what of it was released, and the papers that go with it."""

    guitar: Guitar
    number: int
    card: str = ""
    label: str = ""
    label_old: bool = False  # it says first quality and is sold as seconds
    seconds: bool = False
    releases: int = 0
    cartons: int = 0
    looked: dict[str, set[str]] = field(default_factory=dict)  # who had a part, by the look
    unjudged: list[Made] = field(default_factory=list)  # releases the walk has not looked at


class Floor(RuleBasedStateMachine):
    """One instrument that is set up and one whose days are nearly over."""

    people: ClassVar[dict[str, tuple[int, Person]]] = {}

    def __init__(self) -> None:
        super().__init__()
        self._undone = undone()
        self._undone.__enter__()
        self.at = NOW
        if not self.people:
            for badge in Badge.objects.all():
                self.people[badge.code] = badge.pk, badges.person(badge)
        self.air = list(RoomReading.objects.values_list("at", "temp_c", "rh_pct"))
        self.mine = [self.story(serial) for serial in ("Q-1037", "Q-1040")]
        assert seed_panels().done

    @rule(data=st.data())
    def somebody_tries(self, data: st.DataObject) -> None:
        open_to_all = [one for one in TRIED if one[1](self)]
        name, _, draws = data.draw(st.sampled_from(open_to_all))
        getattr(self, name)(**data.draw(draws))

    def story(self, serial: str) -> Story:
        it = now(serial)
        assert not it.happened
        made = {
            one.operation: Made(one.at, frozenset(one.hands), one.seq, one.at) for one in it.done
        }
        one = Story(Guitar(serial, it.sheet.spec.key, it.neck, made), it.id)
        one.card, one.label = (paper(serial, form, NOW) for form in ("hold_card", "box_label"))
        return one

    def teardown(self) -> None:
        try:
            if any(one.cartons for one in self.mine):
                self.made_again_it_is_the_same()
        finally:
            self._undone.__exit__(None, None, None)
        if currently_in_test_context():
            event(f"released {sum(one.releases for one in self.mine)}")

    def made_again_it_is_the_same(self) -> None:
        wrong: list[str] = []
        assert verifying.verify(wrong.append).wrong == 0, wrong
        assert following.differences()[1] == []

    # --- what holds after all that anybody did ---

    @invariant()
    def nothing_is_released_that_may_not_be(self) -> None:
        for one in self.mine:
            frozen = AsBuilt.objects.filter(instrument_id=one.number).count()
            assert frozen == one.releases, "a record is frozen by its release and nothing else"
            live = Step.objects.filter(instrument_id=one.number, void_at=None)
            codes = set(live.values_list("operation__code", flat=True))
            assert codes == one.guitar.made.keys(), "\n".join(one.guitar.story())
            for made in one.unjudged:
                self.judge(one.guitar, made)
            one.unjudged.clear()

    @invariant()
    def nothing_is_boxed_that_is_not_released(self) -> None:
        for one in self.mine:
            assert Carton.objects.filter(instrument_id=one.number).count() == one.cartons

    def judge(self, it: Guitar, release: Made) -> None:
        """All that a release takes, when it was taken."""
        story = "\n".join([f"released {release}", *it.story(), f"{it.repairs} {it.once}"])
        assert not {one for one in it.undecided.values() if one <= 3}, story
        assert it.loop is None, story
        assert not it.frozen, story
        assert not it.ended, story
        assert {FIRST, CASED, HELD, *JUDGED} <= it.made.keys(), story
        number = next(one.number for one in self.mine if one.guitar is it)
        doubts = Step.objects.filter(instrument_id=number, void_at=None).exclude(doubt="")
        assert not doubts.exists(), story
        assert self.rested(it, release.at), story
        assert release.hands - LEADS, f"the lead alone: {story}"
        first, second = it.made[FIRST], it.made[HELD]
        assert self.rested(it, second.at), f"what changed it came after its look: {story}"
        assert not first.hands & second.hands, f"one pair of eyes twice: {story}"
        every = [*it.made.items(), *it.once]
        for look in (first, second, release):
            own = {
                code for code, one in every
                if code in JUDGED and one.hands & look.hands and abs(look.at - one.at) < WEEK
            }  # fmt: skip
            assert not own, f"{sorted(look.hands)} did {sorted(own)}: {story}"
            for repair in it.repairs:
                near = timedelta() <= look.at - repair.at < WEEK
                assert not (near and repair.hands & look.hands), story

    def rested(self, it: Guitar, at: datetime) -> bool:
        return rested(it.made[CASED].at, at, it.away, it.changes, self.air)

    # --- one try ---

    def send(
        self, by: str, station: str, deed: Any, beside: str = "", reason: str = WHY
    ) -> door.Outcome:
        number, who = self.people[by]
        beside = "" if beside == by else beside
        outcome = door.record(
            door.Act(
                key=uuid.uuid4(), by_id=number, by=by, at=self.at, station=station,
                reason=reason, person=who, beside=self.people[beside][1] if beside else None,
            ),
            deed,
        )  # fmt: skip
        TOLD[deed.kind, outcome.done] += 1
        return outcome

    def do(self, one: Story, code: str, by: str, beside: str = "", ago: int = 0) -> bool:
        """Record an operation: now, or late, done so many minutes ago."""
        it, beside = one.guitar, "" if beside == by else beside
        done_at = self.at - ago * MINUTE if ago else None
        begun = self.on_the_floor(one).open
        deed = door.StepDone(one.number, code, "", done_at)
        outcome = self.send(by, OPERATIONS[code]["station"], deed, beside)
        if not outcome.done:
            return False
        counts = done_at if done_at and beside else self.at
        if code == HELD:
            assert self.rested(it, counts), f"looked at too early: {[*it.story()]}"
        helped = {begun.by, *begun.helpers} if begun and begun.helpers else set()
        part = one.looked.pop(code, set())
        hands = frozenset({by, beside, *helped, *part} - {""})
        made = Made(counts, hands, outcome.seq or 0, self.at)
        it.did(code, made)
        TOLD[code, True] += 1
        if code == RELEASE:
            one.releases += 1
            one.unjudged.append(made)
        return True

    def on_the_floor(self, one: Story) -> board.State:
        found = states.by_id(one.number)
        assert found is not None
        return found

    def ready(self, one: Story, code: str, by: str, most: int = 100) -> None:
        """What an operation asks for before, or the first of it, whatever comes of that."""
        station = OPERATIONS[code]["station"]
        for outcome in islice(prepared(one.guitar.serial, code, by, station, self.at), most):
            TOLD[f"before {code}", outcome.done] += 1
            if code in LOOKS and outcome.done and code not in one.guitar.made:
                one.looked.setdefault(code, set()).add(by)

    # --- time, and the usual way ---

    @tried(2, minutes=AWHILE)
    def time_passes(self, minutes: int) -> None:
        self.at += minutes * MINUTE

    @tried(9, which=WHICH, times=st.integers(1, 4), days=st.booleans())
    def go_on_to_its_release(self, which: int, times: int, days: bool) -> None:
        self.go_on(which, times, days=days, release=False)

    @tried(3, which=WHICH, times=st.integers(1, 4), days=st.booleans())
    def go_on(self, which: int, times: int, days: bool, release: bool = True) -> None:
        """What is next, by those who usually do it; ``days``: once it has lain its days."""
        one = self.mine[which]
        for _ in range(times):
            self.at += 31 * MINUTE
            up = one.guitar.up
            if not up or up[0] in {"Z10", "Z20"} or (up[0] == RELEASE and not release):
                return
            if up[0] == HELD and days:
                self.at += (HOLD_MIN + 5) * MINUTE
            by = DOERS[OPERATIONS[up[0]]["station"]]
            self.ready(one, up[0], by)
            if not self.do(one, up[0], by):
                return

    # --- looks ---

    @tried(3, which=WHICH, code=st.sampled_from(LOOKS), by=INSPECTS | ANYBODY, beside=BESIDE)
    def begin(self, which: int, code: str, by: str, beside: str) -> None:
        deed = door.StepStarted(self.mine[which].number, code)
        self.send(by, OPERATIONS[code]["station"], deed, beside)

    @tried(
        2,
        which=WHICH,
        what=st.sampled_from(["park", "take", "join", "hand"]),
        by=ANYBODY,
        to=ANYBODY,
    )
    def hand_on(self, which: int, what: str, by: str, to: str) -> None:
        number = self.mine[which].number
        begun = self.on_the_floor(self.mine[which]).open
        station = OPERATIONS[begun.operation]["station"] if begun else "I"
        deeds = {
            "park": door.StepHanded(number),
            "take": door.StepTaken(number),
            "join": door.StepJoined(number),
            "hand": door.StepHanded(number, to),
        }
        self.send(by, station, deeds[what])

    @tried(
        2,
        which=WHICH,
        code=st.sampled_from(LOOKS),
        by=ANYBODY,
        most=st.sampled_from([1, 9, 100]),
    )
    def look_at_areas(self, which: int, code: str, by: str, most: int) -> None:
        self.ready(self.mine[which], code, by, most)

    # --- steps ---

    @tried(
        5,
        which=WHICH,
        code=st.sampled_from(LINE),
        by=ANYBODY,
        beside=BESIDE,
        whole=st.booleans(),
        ago=st.sampled_from([0, 0, 0, 30, 1500, 6000]),
    )
    def try_a_step(
        self, which: int, code: str, by: str, beside: str, whole: bool, ago: int
    ) -> None:
        if whole:
            self.ready(self.mine[which], code, by)
        self.do(self.mine[which], code, by, beside, ago)

    @tried(7, which=WHICH, by=ANYBODY, beside=BESIDE, ago=st.sampled_from([0, 0, 30, 3000]))
    def try_to_release(self, which: int, by: str, beside: str, ago: int) -> None:
        self.do(self.mine[which], RELEASE, by, beside, ago)

    @tried(
        3,
        which=WHICH,
        code=st.sampled_from([*JUDGED, *LOOKS, CASED]),
        by=ANYBODY,
        again=st.booleans(),
    )
    def strike(self, which: int, code: str, by: str, again: bool) -> None:
        """A step counts no more, and somebody, anybody, does it again."""
        one = self.mine[which]
        made = one.guitar.made.get(code)
        if made is None:
            return
        if self.send("P-01", "", door.StepStruck(one.number, made.seq)).done:
            del one.guitar.made[code]
            if again:
                self.at += 31 * MINUTE
                self.ready(one, code, by)
                self.do(one, code, by)

    # --- defects and repairs ---

    @tried(2, which=WHICH, grade=st.integers(1, 4), found=st.sampled_from(["I", "R"]))
    def note_defect(self, which: int, grade: int, found: str) -> None:
        one = self.mine[which]
        by = DOERS[found]
        deed = door.DefectNoted(one.number, "finish", "swirl", grade, 6)
        outcome = self.send(by, found, deed)
        if outcome.done:
            one.guitar.undecided[outcome.seq or 0] = grade
            one.guitar.found[outcome.seq or 0] = found

    @tried(
        3,
        when=lambda self: any(one.guitar.undecided for one in self.mine),
        what=st.sampled_from(
            ["rework", "touch-up", "accept as is", "seconds", "hold for decision", "withdrawn"]
        ),
        loop=st.sampled_from([*KEEPING, "set-up"]),
        by=st.sampled_from(["P-01", "P-01", "P-31"]),
        beside=BESIDE,
    )
    def decide(self, what: str, loop: str, by: str, beside: str) -> None:
        one = next(it for it in self.mine if it.guitar.undecided)
        it, number = one.guitar, min(one.guitar.undecided)
        if what == "withdrawn":
            deed: Any = door.DefectWithdrawn(one.number, number)
        else:
            sent = loop if what in {"rework", "touch-up"} else ""
            deed = door.DefectDecided(one.number, number, what, sent)
        if not self.send(by, "I", deed, beside).done:
            return
        if what != "withdrawn":
            it.decided(number, by, "" if beside == by else beside)
        if what == "hold for decision":
            it.frozen = True
            return
        del it.undecided[number]
        if what in {"rework", "touch-up"}:
            it.sent(self.at, LOOPS[loop])
        if what == "seconds":
            self.sold_as_seconds(one)

    @tried(8, when=lambda self: any(one.guitar.undecided for one in self.mine))
    def close_all(self) -> None:
        """The lead and an inspector are done with what waits, and it is free again."""
        for one in self.mine:
            it = one.guitar
            for number, grade in sorted(it.undecided.items()):
                if grade == 4:
                    self.decide_as(one, door.DefectWithdrawn(one.number, number))
                    continue
                what = {1: "rework", 2: "seconds", 3: "accept as is"}[grade]
                sent = "cosmetic" if what == "rework" else ""
                self.decide_as(one, door.DefectDecided(one.number, number, what, sent))
            if it.frozen and self.send("P-01", "", door.Freed(one.number)).done:
                it.frozen = False

    def decide_as(self, one: Story, deed: Any) -> None:
        if self.send("P-01", "I", deed, "P-31").done:
            del one.guitar.undecided[deed.number]
            if isinstance(deed, door.DefectDecided):
                one.guitar.decided(deed.number, "P-01", "P-31")
            if getattr(deed, "loop", ""):
                one.guitar.sent(self.at, LOOPS[deed.loop])
            if getattr(deed, "disposition", "") == "seconds":
                self.sold_as_seconds(one)

    def sold_as_seconds(self, one: Story) -> None:
        one.label_old |= not one.seconds
        one.seconds = True

    @tried(4, when=lambda self: any(one.guitar.frozen for one in self.mine))
    def free(self) -> None:
        for one in self.mine:
            if one.guitar.frozen and self.send("P-01", "", door.Freed(one.number)).done:
                one.guitar.frozen = False

    @tried(1, which=WHICH, loop=st.sampled_from([*KEEPING, "set-up", "small hardware", "paper"]))
    def report(self, which: int, loop: str) -> None:
        """A defect that is decided as it is reported, by somebody who only reports."""
        one = self.mine[which]
        if self.send("P-22", "R", door.DefectFound(one.number, "chip", loop)).done:
            one.guitar.sent(self.at, LOOPS[loop])

    @tried(1, which=WHICH)
    def drop(self, which: int) -> None:
        one = self.mine[which]
        cased = CASED in one.guitar.made
        if self.send("P-22", "", door.Dropped(one.number)).done:
            if cased:
                one.guitar.changes.append(("dropped", self.at, timedelta()))
            one.guitar.sent(self.at, LOOPS["dropped"])

    @tried(
        8,
        when=lambda self: any(it.guitar.loop and it.guitar.loop.to_repair for it in self.mine),
        by=st.sampled_from(["P-61", "P-61", "P-22", "P-31", "P-32"]),
    )
    def repair(self, by: str) -> None:
        one = next(it for it in self.mine if it.guitar.loop and it.guitar.loop.to_repair)
        outcome = self.send(by, "X", door.RepairDone(one.number))
        if outcome.done:
            hands = frozenset({by})
            one.guitar.repaired(Made(self.at, hands, outcome.seq or 0, self.at))
            one.looked.clear()  # what was looked at before it is looked at anew

    # --- the case ---

    @tried(
        4,
        which=WHICH,
        what=st.sampled_from(["open", "open", "touch-up", "shut", "shut since"]),
        ago=AWHILE,
        shut_after=st.sampled_from([0, 14, 15, 40, 120, 121, 4320, 4321]),
    )
    def case(self, which: int, what: str, ago: int, shut_after: int) -> None:
        one = self.mine[which]
        if what in {"open", "touch-up"}:
            touch_up = what == "touch-up"
            if self.send("P-32", "R", door.CaseOpened(one.number, touch_up=touch_up)).done:
                one.guitar.away.append(Away(self.at, touch_up=touch_up))
            if not shut_after:
                return
            self.at += shut_after * MINUTE
        since = self.at - ago * MINUTE if what == "shut since" else None
        out = one.guitar.out
        if self.send("P-32", "R", door.CaseShut(one.number, since)).done:
            if since:
                was = one.guitar.over_at_look()
                one.guitar.away.append(Away(since, self.at))
                one.guitar.turned_out(was)
            else:
                assert out is not None, "put back and never taken out"
                out.end = self.at

    @tried(
        2,
        which=WHICH,
        what=st.sampled_from(["restrung", "string", "trimmed", "rack", "glued", "recut"]),
        ago=st.sampled_from([0, 0, 30, 1500]),
    )
    def happens(self, which: int, what: str, ago: int) -> None:
        one, cure_h = self.mine[which], 12 if what == "glued" else 0
        when = self.at - ago * MINUTE
        deed = door.Happened(one.number, what, when if ago else None, cure_h)
        if self.send("P-32", "R", deed).done:
            one.guitar.happened(what, when, timedelta(hours=cure_h))

    @tried(
        1, rh=st.sampled_from(["48", "48", "62", "36"]), back=st.sampled_from([0, 240, 241, 1500])
    )
    def read_the_room(self, rh: str, back: int) -> None:
        """The room is read; after a while, where it was outside, it is as it should be."""
        for value, after in ((rh, back), ("48", 0)):
            if self.send("P-16", "J", door.RoomRead(Decimal(21), Decimal(value))).done:
                self.air.append((self.at, Decimal(21), Decimal(value)))
            if not after:
                return
            self.at += after * MINUTE

    @tried(2, which=WHICH, slot=st.sampled_from(["H-109", "H-110", ""]))
    def rack(self, which: int, slot: str) -> None:
        number = self.mine[which].number
        self.send("P-31", "H", door.Racked(number, slot) if slot else door.Unracked(number))

    # --- the box ---

    @tried(4, which=WHICH, ready=st.booleans())
    def box(self, which: int, ready: bool) -> None:
        released = (it for it in self.mine if RELEASE in it.guitar.made and not it.cartons)
        one = next(released, self.mine[which])
        if ready:
            self.ready(one, "Z10", "P-51")
            if one.label_old:
                one.label = paper(one.guitar.serial, "box_label", self.at)
                one.label_old = False
        outcome = self.send("P-51", "Z", door.Boxed(one.number, one.card, one.label))
        if outcome.result == "recorded":
            assert not one.label_old, "boxed as of first quality"
            assert RELEASE in one.guitar.made, f"boxed before its release: {[*one.guitar.story()]}"
            one.cartons += 1
            self.comes_with_it(one, "Z10")

    @tried(3, when=lambda self: any(it.cartons for it in self.mine), which=WHICH)
    def hand_over(self, which: int) -> None:
        one = self.mine[which]
        deed = door.HandedOver((one.number,), CARRIER, 1)
        if self.send("P-51", "Z", deed).done:
            assert {RELEASE, "Z10"} <= one.guitar.made.keys(), [*one.guitar.story()]
            self.comes_with_it(one, "Z20")

    def comes_with_it(self, one: Story, code: str) -> None:
        """The operation is recorded by the deed itself, where it was not yet."""
        if code not in one.guitar.made:
            live = Step.objects.filter(instrument_id=one.number, void_at=None)
            seq = live.values_list("seq", flat=True).get(operation__code=code)
            one.guitar.did(code, Made(self.at, frozenset({"P-51"}), seq, self.at))

    # --- beside it ---

    @tried(1, panel=st.integers(1, 20), found=st.booleans(), by=st.sampled_from(["P-31", "P-32"]))
    def call_a_panel(self, panel: int, found: bool, by: str) -> None:
        self.send(by, "I", door.PanelCalled(1, panel, found))


FAR = {
    ("step", True), ("step", False), (RELEASE, True), ("before I10", True), ("before I30", True),
    ("before I10", False), ("before I30", False),
    ("boxed", False), ("panel call", True), ("racked", True), ("strike", True), ("noted", True),
    ("repair", True), ("case open", True), ("case shut", True), ("happened", True),
    ("dropped", True), ("start", True),
}  # fmt: skip
"""What is tried, and taken or not, at least once in all walks together."""


def test_nothing_is_released_that_may_not_be_in_whatever_order_people_act() -> None:
    asks_for_areas()
    TOLD.clear()
    Floor.people = {}
    for number in range(1, MOST + 1):
        run_state_machine_as_test(
            seed(number)(Floor),
            settings=settings(
                max_examples=WALKS,
                stateful_step_count=LONG,
                deadline=None,
                database=None,
                phases=[Phase.generate],  # as in test_random_floor
                suppress_health_check=list(HealthCheck),
            ),
        )
        if number >= LEAST and TOLD.keys() >= FAR:
            break
    assert FAR - TOLD.keys() == set(), "the walks no longer come so far: they prove less"


# --- the checks themselves, and what the walks come to ---


@pytest.fixture
def floor() -> Iterator[Floor]:
    asks_for_areas()
    Floor.people = {}
    one = Floor()
    yield one
    one.teardown()


def looked_through(floor: Floor) -> None:
    floor.nothing_is_released_that_may_not_be()
    floor.nothing_is_boxed_that_is_not_released()


def test_done_in_its_turn_by_those_who_may_it_is_released_boxed_and_handed_over(
    floor: Floor,
) -> None:
    """And made again from the journal all of it is as it was."""
    for which, one in enumerate(floor.mine):
        floor.box(which, ready=True)
        floor.go_on(which, 2, days=True)
        floor.rack(which, "H-109")
        floor.note_defect(which, 4, "I")
        floor.go_on(which, 2, days=True)
        looked_through(floor)
        floor.box(which, ready=True)
        looked_through(floor)
        assert (one.releases, one.cartons) == (1, 1)
        floor.hand_over(which)
        assert one.guitar.finished
        floor.call_a_panel(which + 1, found=True, by="P-31")
    floor.made_again_it_is_the_same()


def test_a_release_that_came_too_early_would_be_seen(floor: Floor) -> None:
    floor.go_on(0, 4, days=True)
    floor.mine[0].guitar.made[CASED].at += MINUTE * HOLD_MIN
    with pytest.raises(AssertionError):
        looked_through(floor)


def test_one_pair_of_eyes_at_both_looks_would_be_seen(floor: Floor) -> None:
    floor.go_on(0, 4, days=True)
    floor.mine[0].guitar.made[FIRST].hands = frozenset({"P-32"})
    with pytest.raises(AssertionError):
        looked_through(floor)


def test_a_first_look_that_is_struck_is_not_taken_again_by_who_took_the_second(
    floor: Floor,
) -> None:
    """Whoever looked second would have looked first as well."""
    one = floor.mine[0]
    floor.go_on(0, 3, days=True)
    assert HELD in one.guitar.made
    floor.strike(0, FIRST, "P-32", again=True)
    assert FIRST not in one.guitar.made
    floor.ready(one, FIRST, "P-31")
    assert floor.do(one, FIRST, "P-31")


@pytest.mark.parametrize("code", JUDGED)
@pytest.mark.parametrize("by", ["P-31", "P-32"])
def test_work_that_is_struck_is_not_done_again_by_who_judged_it(
    floor: Floor, code: str, by: str
) -> None:
    """Whoever looked would have judged their own work."""
    one = floor.mine[0]
    floor.go_on(0, 3, days=True)
    floor.strike(0, code, by, again=True)
    assert code not in one.guitar.made
    floor.ready(one, code, "P-20")
    assert floor.do(one, code, "P-20")


@pytest.mark.parametrize("by", ["P-20", "P-22"])
def test_whoever_did_what_was_judged_does_not_release_it(floor: Floor, by: str) -> None:
    one = floor.mine[0]
    floor.go_on(0, 3, days=False)
    floor.at += HOLD_MIN * MINUTE
    floor.go_on(0, 1, days=False)
    assert not floor.do(one, RELEASE, by)
    assert floor.do(one, RELEASE, "P-32")


def test_the_minutes_of_the_days_are_counted() -> None:
    """By hand: 40 min out stand still, 2 h 1 min begin them again."""
    cased = datetime(2031, 3, 3, 14, 10, tzinfo=UTC)
    ready, tuesday = cased + HOLD_MIN * MINUTE, cased + 1200 * MINUTE

    def over(at: datetime, *away: Away) -> bool:
        return rested(cased, at, away, [], [])

    def out(minutes: int) -> Away:
        return Away(tuesday, tuesday + minutes * MINUTE)

    assert (over(ready - MINUTE), over(ready)) == (False, True)
    assert (over(ready, out(14)), over(ready, out(15))) == (True, False)
    assert (over(ready + 39 * MINUTE, out(40)), over(ready + 40 * MINUTE, out(40))) == (False, True)
    again = tuesday + 121 * MINUTE + HOLD_MIN * MINUTE
    assert (over(again - MINUTE, out(121)), over(again, out(121))) == (False, True)
