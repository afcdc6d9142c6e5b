"""The hold rack: what lies in which slot and how it stands there, what is due when, and what
will be cased."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from itertools import count, islice
from typing import Final, Literal

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.utils.timezone import localtime

from shop.craft.clocks import Held
from shop.craft.rack import Forecast, Hours, Inspectors, Planned
from shop.craft.rack import forecast as craft_forecast
from shop.craft.when import in_utc, on_the_minute
from shop.craft.words import several
from shop.floor import states
from shop.floor.models import Instrument, Slot, Step
from shop.floor.state import State

# How far ahead what is due is told, and from how many working days what will be cased is
# reckoned: the lump of a Monday shows a week before, and two weeks even out a bad day.
# Common practice, no source.
AHEAD: Final = 7
COUNTED: Final = 10
DAY: Final = timedelta(days=1)
HOURS: Final = Hours()

Stands = Literal["free", "holding", "again", "due", "overdue", "paused", "looked"]
"""How a slot stands: free; or its case is held, held anew from a later start, due to be looked
at again today, overdue since an earlier day, kept from running, or looked at again already."""


@dataclass(frozen=True, slots=True)
class Place:
    """One slot of the rack: what it is called, the code on its label, whether it is retired, and
    whose case lies in it ("" where it is free)."""

    code: str
    tag: str
    retired: bool
    serial: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """A case in the days of its hold, in a slot or in none ("").

    ``ready`` is in UTC, on the full minute; ``due_on`` the first working day on which it may be
    looked at again; both are ``None`` while something keeps the days from running, which
    ``halted`` says. ``because`` tells what moved them. ``cased_at`` is ``None`` where the case
    lies in its slot and has to be cased anew.
    """

    serial: str
    spec: str
    slot: str
    stands: Stands
    cased_at: datetime | None
    ready: datetime | None
    due_on: date | None
    halted: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SlotRow:
    """One slot of the rack as it stands now."""

    code: str
    tag: str
    case: Case | None = None

    @property
    def stands(self) -> Stands:
        return self.case.stands if self.case else "free"


@dataclass(frozen=True, slots=True)
class DueDay:
    """What is to be looked at again from this day on, by serial."""

    on: date
    serials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Casings:
    """How many cases came into the rack in the last working days, and so how many will come on
    each of the next ones. ``today``: how many came in today. ``words`` say where that is
    from."""

    counted: int
    days: int
    ahead: tuple[tuple[date, int], ...]
    words: str
    today: int = 0

    @property
    def a_day(self) -> int:
        """The mean, in whole cases."""
        return _whole(Decimal(self.counted) / self.days)

    @property
    def planned(self) -> Planned:
        return Planned(self.a_day, dict(self.ahead))

    def typed(self, many: int, today: date) -> Planned:
        """As many on each working day as somebody plans, today less what is cased already."""
        return Planned(many, {today: max(0, many - self.today)})


@dataclass(frozen=True, slots=True)
class Rack:
    """The hold rack at a moment. ``slots`` are those in use, in the order of their numbers;
    ``loose`` are cases in the days of their hold that lie in no slot; ``due``: day by day for
    the next seven; ``casings``: what will be cased."""

    slots: tuple[SlotRow, ...]
    loose: tuple[Case, ...]
    due: tuple[DueDay, ...]
    casings: Casings

    @property
    def cases(self) -> tuple[Case, ...]:
        """Every case in its days or in a slot, those in slots first."""
        return (*(row.case for row in self.slots if row.case), *self.loose)

    @property
    def counts(self) -> Counter[Stands]:
        """How many slots stand how."""
        return Counter(row.stands for row in self.slots)

    @property
    def lump(self) -> DueDay | None:
        """The day of the week ahead on which most is due; ``None`` where nothing is."""
        most = max(self.due, key=lambda one: len(one.serials), default=None)
        return most if most and most.serials else None


def rack(at: datetime, hours: Hours = HOURS) -> Rack:
    """The hold rack as it stands; the same few statements for any number of cases."""
    local = localtime(at)
    them = states.all_open()
    cases = [case for one in them if (case := _case(one, local, hours))]
    in_slots = {case.slot: case for case in cases if case.slot}
    rows = Slot.objects.filter(retired=False).order_by("code").values_list("code", "tag")
    loose = sorted(
        (case for case in cases if not case.slot),
        key=lambda case: (case.cased_at or at, case.serial),
    )
    return Rack(
        slots=tuple(SlotRow(code, tag, in_slots.get(code)) for code, tag in rows),
        loose=tuple(loose),
        due=tuple(_due(cases, local.date())),
        casings=_casings(_begins(them), local, hours),
    )


def forecast(
    now: Rack,
    at: datetime,
    inspectors: Inspectors | None = None,
    hours: Hours = HOURS,
    a_day: int | None = None,
) -> Forecast:
    """The rack in the days to come, as many cased a day as of late, or ``a_day`` as planned.
    Cases that lie in no slot yet need one; those that are looked at again already are about to
    leave theirs. Of today only what is left of its hours is reckoned with."""
    local = localtime(at)
    today, left = local.date(), hours.left(local)
    held = [case.ready for case in now.cases if case.stands != "looked"]
    planned = now.casings.planned if a_day is None else now.casings.typed(a_day, today)
    if not left:
        planned = replace(planned, on={**planned.on, today: 0})
    who = inspectors or Inspectors()
    who = replace(who, net_on={**who.net_on, today: int(who.net_min * left)})
    return craft_forecast(local, len(now.slots), held, planned, who, hours)


def case_of(now: State, at: datetime, hours: Hours = HOURS) -> Case | None:
    """One instrument as the rack has it; ``None`` where it is neither in the days of its hold nor
    in a slot."""
    return _case(now, localtime(at), hours)


def places(*, retired: bool = False) -> tuple[Place, ...]:
    """The slots in use by their numbers, in one statement; ``retired``: all there ever were."""
    rows = Slot.objects.all() if retired else Slot.objects.filter(retired=False)
    return tuple(_places(rows.order_by("code")))


def places_by_code(codes: Sequence[str]) -> dict[str, Place]:
    """Those of these slots that there are, retired or not."""
    return {one.code: one for one in _places(Slot.objects.filter(code__in=codes))}


def place_of_tag(tag: str) -> Place | None:
    """The slot that this label is on, retired or not."""
    return next(iter(_places(Slot.objects.filter(tag=tag))), None)


def _places(rows: QuerySet[Slot]) -> Iterable[Place]:
    lies = Instrument.objects.filter(slot=OuterRef("code")).exclude(slot="")
    with_serial = rows.annotate(serial=Subquery(lies.values("body__serial")[:1]))
    for code, tag, retired, serial in with_serial.values_list("code", "tag", "retired", "serial"):
        yield Place(code, tag, retired, serial or "")


# --- how one stands ---


def _case(now: State, at: datetime, hours: Hours) -> Case | None:
    """An instrument as the rack has it; none where it is neither in its days nor in a slot."""
    held, days = now.held(at), now.sheet.route.hold
    looked = days is not None and days.after in now.done_codes
    if not now.slot and (held is None or looked):
        return None
    ready = on_the_minute(held.ready) if held and held.ready else None
    due_on = hours.first(ready.astimezone(at.tzinfo)) if ready else None
    return Case(
        serial=now.serial,
        spec=now.sheet.spec.key,
        slot=now.slot,
        stands="looked" if looked else _stands(now, held, due_on, at.date()),
        cased_at=now.cased_at,
        ready=ready,
        due_on=due_on,
        halted=held.halted if held else f"{now.serial} has to be cased again.",
        because=held.because if held else (),
    )


def _stands(now: State, held: Held | None, due_on: date | None, today: date) -> Stands:
    if held is None or due_on is None:
        return "paused"
    if due_on <= today:
        return "due" if due_on == today else "overdue"
    begun_again = now.cased_at is not None and held.started > in_utc(now.cased_at)
    return "again" if begun_again else "holding"


def _due(cases: Collection[Case], today: date) -> Iterable[DueDay]:
    """What is due on each of the days ahead; what is overdue stands by itself."""
    open_now = [case for case in cases if case.stands in ("holding", "again", "due")]
    for number in range(AHEAD):
        on = today + number * DAY
        yield DueDay(on, tuple(sorted(one.serial for one in open_now if one.due_on == on)))


# --- what will be cased ---


def _begins(them: Iterable[State]) -> frozenset[str]:
    """The operations that begin the days in the case on the routes of these."""
    holds = (one.sheet.route.hold for one in them)
    return frozenset(hold.before for hold in holds if hold)


def _casings(operations: Collection[str], at: datetime, hours: Hours) -> Casings:
    """What was cased in the last working days, one struck left out; and as many a day ahead."""
    today = at.date()
    past = _working_days(today - DAY, -DAY, hours)
    since = datetime.combine(past[-1], datetime.min.time(), at.tzinfo)
    # What was cased since then was finished later still: the rest need not be looked through.
    late = Instrument.objects.filter(Q(finished_at__isnull=True) | Q(finished_at__gte=since))
    steps = Step.objects.filter(
        instrument__in=late.values("pk"),
        operation__code__in=operations,
        at__gte=since,
        struck=False,
    )
    cased = Counter(localtime(one).date() for one in steps.values_list("at", flat=True))
    counted = sum(many for day, many in cased.items() if day < today)
    mean = Decimal(counted) / COUNTED
    told = f"{mean.normalize():f}" if counted else "0"
    last = several(COUNTED, "working day")
    return Casings(
        counted=counted,
        days=COUNTED,
        ahead=tuple(_ahead(mean, _working_days(today, DAY, hours), today, cased[today])),
        words=f"{told} cased a working day: the mean of the last {last}.",
        today=cased[today],
    )


def _ahead(
    mean: Decimal, days: Iterable[date], today: date, cased_today: int
) -> Iterable[tuple[date, int]]:
    """As many on each of these days, in whole cases; today less what is cased already."""
    for number, day in enumerate(days):
        many = _whole(mean * (number + 1)) - _whole(mean * number)
        yield day, max(0, many - cased_today) if day == today else many


def _whole(many: Decimal) -> int:
    return int(many.to_integral_value(ROUND_HALF_UP))


def _working_days(first: date, step: timedelta, hours: Hours) -> list[date]:
    """As many working days as are counted, from a day on or back from it."""
    days = (first + number * step for number in count())
    return list(islice((day for day in days if hours.work_on(day)), COUNTED))
