"""How long it takes to say what passed the first time, over many years of steps.

    python -m tests.bench.yields
    python -m tests.bench.yields --steps 100000
    DATABASE_URL=postgresql://... python -m tests.bench.yields      # an empty database

Fills a database with instruments of every spec, each with a step at 25 operations; one of
eight was sent on a loop, some twice, and did a few of them again, and here and there a step
was struck. What was sent on a loop was found at the first look: of one half before that was
recorded. Prints the times for each way to divide the figures, over all of the time and over
one week, and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import argparse
import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any, Final

AGAIN: Final = 9
EACH: Final = 25  # operations of one instrument
AT_ONCE: Final = 250  # instruments that go along the floor together
A_DAY: Final = 24  # instruments begun each day
LOOPS: Final = (
    ("fret", "fret", "high", ("F10", "F20", "U10", "A30", "I10")),
    ("set-up", "setup", "buzz", ("U30", "A30", "I10")),
    ("cosmetic", "finish", "swirl", ("Q10", "I10", "I30")),
    ("crack or brace", "joint", "loose brace", ("Q10", "A30", "I10")),
)


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--steps", type=int, default=1_000_000)
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("HEELCAP_DATA", folder)
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection
        from django.utils import timezone

        from shop.floor.demo import loading

        call_command("migrate", verbosity=0)
        loading.load(timezone.now())
        start = time.perf_counter()
        past = Past()
        past.up_to(wanted.steps)
        with connection.cursor() as cursor:
            cursor.execute("VACUUM" if connection.vendor == "sqlite" else "VACUUM ANALYZE")
        took = time.perf_counter() - start
        print(f"{past.steps} steps of {past.instruments} instruments written in {took:.0f} s")
        measure(past)


class Past:
    """Instruments that went along the floor, longer and longer ago."""

    def __init__(self) -> None:
        from django.utils import timezone

        from shop.catalogue import book
        from shop.floor import board
        from shop.floor.models import Entry, Instrument
        from shop.people.models import Badge

        self.chance = random.Random(7)
        self.models = list(Instrument.objects.select_related("body").order_by("pk"))
        stops = max((one.sheet.stops for one in board.all_open()), key=len)
        keep = {code for *_, redo in LOOPS for code in redo} | {"I20"}
        spare = [one.code for one in stops if one.code not in keep][: EACH - len(keep)]
        self.stops = [(one.code, one.operation_id) for one in stops if one.code in {*keep, *spare}]
        self.hand = Badge.objects.get(code="P-11").pk
        self.entry = Entry.objects.order_by("pk")[0].pk
        self.until = timezone.now()
        self.loops = {one.key for one in book.loops()}
        self.steps = self.instruments = 0
        self.since = self.until

    def up_to(self, steps: int) -> None:
        from django.db import transaction

        many = round(steps / (EACH * 1.02))
        self.since = self.until - timedelta(days=many / A_DAY + 30)
        while self.steps < steps:
            with transaction.atomic():
                self._more()

    def _more(self) -> None:
        from shop.floor.models import Body, Defect, Instrument, Rework, Step
        from shop.stock.models import Tray

        numbers = range(self.instruments, self.instruments + AT_ONCE)
        self.instruments += AT_ONCE
        models = [self.models[n % len(self.models)] for n in numbers]
        bodies = Body.objects.bulk_create(
            Body(serial=f"Y-{n}", spec_id=it.body.spec_id, arrived_at=self.since)
            for n, it in zip(numbers, models, strict=True)
        )
        trays = Tray.objects.bulk_create(
            Tray(
                code=f"Y{n:06d}", serial=f"Y-{n}", revision_id=it.revision_id,
                wanted_on=it.due_on, state="closed", closed_at=self.since,
                closed_by_id=self.hand,
            )
            for n, it in zip(numbers, models, strict=True)
        )  # fmt: skip
        made = Instrument.objects.bulk_create(
            Instrument(
                body=body, tray=tray, revision_id=it.revision_id, due_on=it.due_on,
                release_on=it.release_on, finished_at=self.until,
            )
            for body, tray, it in zip(bodies, trays, models, strict=True)
        )  # fmt: skip
        steps = [
            step
            for number, one in zip(numbers, made, strict=True)
            for step in self._life(number, one)
        ]
        # As they were written: by the moment, not by the instrument.
        steps.sort(key=lambda one: one.at)
        Step.objects.bulk_create(steps, batch_size=2000)
        Defect.objects.bulk_create(self._defects(made, steps))
        Rework.objects.bulk_create(self._loops(steps))
        self.steps += len(steps)

    def _life(self, number: int, instrument: Any) -> Iterator[Any]:
        """All the steps of one instrument: those that count, those done again, those struck."""
        from shop.floor.models import Step

        at = self.since + timedelta(days=number / A_DAY)
        seq = 0

        def step(operation: int, **more: Any) -> Any:
            nonlocal seq, at
            seq += 1
            at += timedelta(hours=self.chance.uniform(1, 20))
            return Step(
                instrument=instrument, operation_id=operation, by_id=self.hand, at=at, seq=seq,
                entry_id=self.entry, **more,
            )  # fmt: skip

        turns = self.chance.choices((0, 1, 2), (86, 12, 2))[0]
        gone = [self.chance.choice(LOOPS) for _ in range(turns)]
        for code, operation in self.stops:
            if self.chance.random() < 0.004:
                yield step(operation, void_at=at, void_why="struck: Not done", struck=True)
            if not any(code in redo for *_, redo in gone):
                yield step(operation)
        for place, (key, _, word, redo) in enumerate(gone):
            again = [one for one in self.stops if one[0] in redo]
            first = [one for one in again if not any(one[0] in it[3] for it in gone[:place])]
            for _, operation in first:
                yield step(operation, void_at=at, void_why=f"rework: {key}: {word}")
            for code, operation in again:
                later = any(code in it[3] for it in gone[place + 1 :])
                void = {"void_at": at, "void_why": f"rework: {key}: {word}"} if later else {}
                yield step(operation, **void)

    def _loops(self, steps: list[Any]) -> Iterator[Any]:
        """The loop behind each step to be done again at the first look, and one for as many
        instruments more, which that look sent away before it was recorded."""
        from shop.floor.models import Rework

        (look,) = (number for code, number in self.stops if code == "I10")
        back = {one.instrument_id for one in steps if one.void_why.startswith("rework:")}
        for one in steps:
            late = one.void_at is not None
            away = one.instrument_id % 8 == 0 and one.instrument_id not in back
            if one.operation_id == look and not one.struck and (late or away):
                when = one.at + timedelta(hours=1 if late else -1)
                yield Rework(
                    instrument_id=one.instrument_id, loop="set-up", word="buzz", found_at="I10",
                    opened_at=when, closed_at=when + timedelta(hours=3), entry_id=self.entry,
                )  # fmt: skip

    def _defects(self, made: list[Any], steps: list[Any]) -> Iterator[Any]:
        """One on each of three instruments, found at the first look or at the second."""
        from shop.floor.models import Defect

        codes = {number: code for code, number in self.stops}
        looked = {
            (one.instrument_id, codes[one.operation_id]): one.at
            for one in steps
            if codes[one.operation_id] in ("I10", "I30")
        }
        for one in made[::3]:
            _, family, word, _ = self.chance.choice(LOOPS)
            look = self.chance.choice(("I10", "I10", "I30"))
            yield Defect(
                instrument=one, number=1, family=family, word=word, grade=3, found_at=look,
                zone=self.chance.randrange(17), found_by_id=self.hand, at=looked[one.pk, look],
                entry_id=self.entry,
            )  # fmt: skip


def measure(past: Past) -> None:
    from shop.floor import board

    whole = board.Spell(past.since, past.until)
    week = board.Spell(past.until - timedelta(days=60), past.until - timedelta(days=53))
    for by in ("", "station", "spec", "week"):
        told = f"by {by}" if by else "all in one"
        timed(f"yields over all of it, {told}", lambda by=by: board.yields(whole, by))  # type: ignore[misc]
    timed("yields of one week, by station", lambda: board.yields(week, "station"))
    timed("defects by word over all of it", lambda: board.defects_by_word(whole))
    timed("escapes over all of it", lambda: board.escapes(whole))
    timed("defects by word of one week", lambda: board.defects_by_word(week))
    timed("escapes of one week", lambda: board.escapes(week))
    timed("sent back at one operation, a page", lambda: board.started_at(whole, "I10", failed=True))
    timed("started at one operation, a page", lambda: board.started_at(whole, "I10"))


def timed(what: str, ask: Callable[[], Any]) -> None:
    times = []
    for _ in range(AGAIN):
        start = time.perf_counter()
        ask()
        times.append((time.perf_counter() - start) * 1000)
    print(f"  {what}: median {statistics.median(times):.0f} ms, at most {max(times):.0f} ms")


if __name__ == "__main__":
    main()
