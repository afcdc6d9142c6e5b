"""How long "may this be started" takes, and how long the hold, with a full history.

    python -m tests.bench.start

Plain Python, no server and no database. Times are of the processor, so that whatever else
the machine does counts little. It prints them and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import json
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median
from typing import Any

from shop.craft.clocks import Air, Happening, Held, What, hold
from shop.craft.route import Done, OperationFacts, Precedence, Route, faults, topological
from shop.craft.start import Asking, OpenStep, Person, Rework, Standing, may_start, ready_at

ROUNDS = 1000
WORKSHOP = Path(__file__).resolve().parents[2] / "shop/floor/demo/workshop.json"
LONGEST = "Steel, glued, electronics, guard"
MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=UTC)
FOUR_DAYS = timedelta(hours=96)
EVERY_10_MIN = timedelta(minutes=10)


def main() -> None:
    route = longest()
    done = history(route)
    happenings, air = four_days()
    friday = MONDAY + FOUR_DAYS - timedelta(hours=3)
    held = hold(MONDAY, FOUR_DAYS, happenings, air, friday)
    print(f"{len(route.operations)} operations, {len(route.precedences)} precedences, ", end="")
    print(f"{len(done)} times recorded, faults: {faults(route) or 'none'}")
    print(f"median of {ROUNDS}")
    for operation in ("N10", "J10", "I10", "I30", "Z20"):
        told = may_start(standing(route, done, held), operation, asking(friday))
        shown = micros(may_start, standing(route, done, held), operation, asking(friday))
        print(f"may start {operation:4}{shown:>9.0f} µs  {', '.join(one.rule for one in told)}")
    print(f"ready at  I30 {micros(ready_at, standing(route, done, held), 'I30'):>9.0f} µs")
    print(f"hold, {len(happenings)} happenings, {len(air)} readings of the room: ", end="")
    print(f"{micros(hold, MONDAY, FOUR_DAYS, happenings, air, friday):.0f} µs")
    print(f"hold, nothing happened: {micros(hold, MONDAY, FOUR_DAYS, (), (), friday):.0f} µs")
    print(f"faults: {micros(faults, route):.0f} µs")


def micros(ask: Callable[..., Any], *of: Any) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        ask(*of)
        times.append(time.process_time() - start)
    return median(times) * 1e6


def longest() -> Route:
    """The longest route of the demo workshop."""
    book = json.loads(WORKSHOP.read_text())
    facts = {one["code"]: operation(one) for one in book["operations"]}
    row = book["routes"][LONGEST]
    steps = tuple(precedence(one) for one in row["precedences"])
    return Route(LONGEST, tuple(facts[code] for code in row["stops"]), steps)


def operation(row: dict[str, Any]) -> OperationFacts:
    plain = {"rests", "rest_h", "machine", "trained", "proves", "freezes", "needs", "irreversible"}
    return OperationFacts(
        code=row["code"],
        name=row["name"],
        station=row["station"],
        station_code=row["station"],
        touch_min=Decimal(row["touch_min"]),
        **{name: value for name, value in row.items() if name in plain},
    )


def precedence(row: dict[str, Any]) -> Precedence:
    plain = {"before", "after", "other_person", "clock", "noted", "apart_days"}
    known = {name: value for name, value in row.items() if name in plain}
    return Precedence(wait=timedelta(hours=row.get("wait_h", 0)), **known)


def history(route: Route) -> tuple[Done, ...]:
    """All up to the case, each by three badges, and half of it done again after a repair."""
    first = MONDAY - timedelta(days=20)
    up_to = topological(route)[: topological(route).index("I20") + 1]
    once = [
        Done(code, "P-11", first + turn * timedelta(hours=1), ("P-12", "P-25"))
        for turn, code in enumerate(up_to)
    ]
    again = [
        Done(code, "P-22", MONDAY - timedelta(hours=len(up_to) - turn), doubt="recorded late")
        for turn, code in enumerate(up_to)
        if turn % 2
    ]
    return (*once, *again)


def four_days() -> tuple[tuple[Happening, ...], tuple[Air, ...]]:
    """Ten things that happened, and the room read every 10 min, damp for an hour each day."""
    hours = range(5, 95, 9)
    whats = (What.OUT, What.STRING, What.RACK, What.TOUCHED_UP, What.TAG)
    happenings = tuple(
        Happening(
            whats[turn % len(whats)],
            MONDAY + timedelta(hours=hour),
            MONDAY + timedelta(hours=hour, minutes=40),
        )
        for turn, hour in enumerate(hours)
    )
    air = tuple(
        Air(MONDAY + turn * EVERY_10_MIN, Decimal(21), Decimal(62 if turn % 144 < 6 else 48))
        for turn in range(4 * 144)
    )
    return happenings, air


def standing(route: Route, done: tuple[Done, ...], held: Held) -> Standing:
    return Standing(
        serial="Q-1043",
        route=route,
        done=done,
        open=OpenStep("F20", "P-12", MONDAY, helpers=("P-13",)),
        rework=Rework("bridge lift", "a feeler goes in", MONDAY - 6 * FOUR_DAYS, "redo", ("G30",)),
        repairs=(Done("bridge lift", "P-61", MONDAY - FOUR_DAYS),),
        held=held,
        arrived={"body": MONDAY - timedelta(days=30), "neck": MONDAY - timedelta(days=30)},
        longer={"bridge clamp": timedelta(hours=7)},
    )


def asking(at: datetime) -> Asking:
    trainee = Person("P-25", learns=True)
    trainer = Person("P-61", {"J": date(2031, 12, 31)})
    return Asking(trainee, "I", at, trainer)


if __name__ == "__main__":
    main()
