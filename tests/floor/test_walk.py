"""Whatever people try in whatever order, no step stands without what must come before it.

The rules are read here from the workshop's data, not from the code that keeps them.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.craft import leaving
from shop.floor import board, door
from shop.floor.demo.loading import WORKSHOP
from shop.floor.models import Entry, Step, Tag
from tests.floor.morning import NOW, act, check_tray, now, prepared, undone
from tests.floor.shipping import CARRIER, paper

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

DATA = json.loads(WORKSHOP.read_text(encoding="utf-8"))
STATIONS = {row["code"]: row["station"] for row in DATA["operations"]}
NEEDS = {row["code"]: row["needs"] for row in DATA["operations"]}
ROUTES = {row["key"]: DATA["routes"][row["route"]] for row in DATA["specs"]}
DOERS: dict[str, str] = DATA["doers"]
# At the neck bench, before the pair, in the bridge, at frets, and in the long hold.
SERIALS = ["Q-1043", "Q-1061", "Q-1049", "Q-1037", "Q-1040"]

HOURS = st.sampled_from([0.1, 0.1, 0.1, 0.6, 1.5, 13.0, 30.0, 100.0])
TRIES = st.lists(
    st.one_of(
        # What is next, as a good worker does it.
        st.tuples(st.just("next"), st.integers(0, 3), HOURS),
        st.tuples(st.just("next"), st.integers(0, 3), HOURS),
        # Anything, by anybody, anywhere.
        st.tuples(
            st.just("any"),
            st.sampled_from(sorted(STATIONS)),
            st.sampled_from(sorted(set(DOERS.values()))),
            st.sampled_from([*DOERS, ""]),
            HOURS,
        ),
        st.tuples(st.just("tray"), st.sampled_from(SERIALS), st.sampled_from(sorted(DOERS)), HOURS),
    ),
    min_size=4,
    max_size=16,
)


class Walk:
    """One instrument, and people who try things on it."""

    def __init__(self, serial: str) -> None:
        self.serial = serial
        self.at = NOW
        self.tries = 0
        self.recorded = 0

    def play(self, one: tuple[Any, ...]) -> None:
        name, *rest, hours = one
        self.at += timedelta(hours=hours)
        getattr(self, name)(*rest)

    def next(self, which: int) -> None:
        up = now(self.serial).next_codes
        if up:
            code = up[which % len(up)]
            station = STATIONS[code]
            before = prepared(self.serial, code, DOERS[station], station, self.at)
            self.tries += sum(1 for _ in before)
            self._do(code, DOERS[station], station, self._leaving(code))

    def any(self, code: str, by: str, station: str) -> None:
        self._do(code, by, station)

    def tray(self, of: str, station: str) -> None:
        self.tries += 1
        check_tray(self.serial, DOERS[station], station, of, self.at)

    def _leaving(self, code: str) -> door.Boxed | door.HandedOver | None:
        """What an instrument is boxed by, its papers printed, and what it is handed over by:
        the operation is recorded by it."""
        it = now(self.serial)
        if code == leaving.boxing(it.sheet.route):
            forms = "hold_card", "box_label"
            self.tries += len(forms)
            return door.Boxed(it.id, *(paper(self.serial, form, self.at) for form in forms))
        if code == leaving.handing(it.sheet.route):
            return door.HandedOver((it.id,), CARRIER, 1)
        return None

    def _do(
        self,
        code: str,
        by: str,
        station: str,
        leaves: door.Boxed | door.HandedOver | None = None,
    ) -> None:
        it = now(self.serial)
        neck = ""
        if NEEDS[code] == "neck":
            neck = Tag.objects.filter(neck__serial=it.neck).latest("pk").code
        deed = leaves or door.StepDone(it.id, code, neck)
        rows = Entry.objects.count()
        outcome = door.record(act(by, station, self.at), deed)
        done = outcome.result == "recorded"
        # The operation, and what went on a list, are rows of their own beside what was scanned.
        more = Entry.objects.count() - rows if done and leaves else 1
        self.tries += more
        self.recorded += done


def broken(serial: str) -> list[str]:
    """Every rule of the route that the steps of an instrument break."""
    it = now(serial)
    route = ROUTES[it.sheet.spec.key]
    done: dict[str, tuple[datetime, str]] = {one.operation: (one.at, one.by) for one in it.done}
    wrong = [f"{code} is not on the route" for code in done if code not in route["stops"]]
    for rule in route["precedences"]:
        before, after = rule["before"], rule["after"]
        if after not in done:
            continue
        if before not in done:
            wrong.append(f"{after} without {before}")
        elif not rule.get("noted") and done[after][0] < done[before][0] + timedelta(
            hours=rule.get("wait_h", 0)
        ):
            wrong.append(f"{after} too soon after {before}")
        elif rule.get("other_person") and done[after][1] == done[before][1]:
            apart = timedelta(days=rule.get("apart_days", 10_000))
            if done[after][0] - done[before][0] <= apart:
                wrong.append(f"{after} and {before} by one person")
    return wrong


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(serial=st.sampled_from(SERIALS), tries=TRIES)
def test_no_step_stands_without_what_must_come_before_it(
    serial: str, tries: list[tuple[Any, ...]]
) -> None:
    with undone():
        walk = Walk(serial)
        rows = Entry.objects.count()
        steps = Step.objects.count()
        for one in tries:
            walk.play(one)
        assert broken(serial) == []
        assert Entry.objects.count() == rows + walk.tries, "a try is missing from the journal"
        assert Step.objects.count() == steps + walk.recorded
        sequence = list(
            Entry.objects.filter(instrument=now(serial).id).values_list("seq", flat=True)
        )
        assert sequence == list(range(1, len(sequence) + 1))


def test_a_good_worker_brings_an_instrument_to_its_end() -> None:
    """The rules do not stop everything: step by step, waits waited, Q-1043 is finished."""
    walk = Walk("Q-1043")
    people = {**DOERS}
    while up := now("Q-1043").next_codes:
        before = walk.recorded
        walk.play(("next", 0, 100.0))
        assert walk.recorded == before + 1, (up, people)
    assert broken("Q-1043") == []
    finished = now("Q-1043")
    assert finished.finished_at == walk.at
    assert finished.done_codes == set(ROUTES["TARN"]["stops"])


def test_a_step_without_its_predecessor_would_be_seen() -> None:
    """The check itself can fail."""
    it = now("Q-1043")
    step = Step.objects.filter(instrument=it.id, operation__code="B10").get()
    step.delete()
    assert broken("Q-1043") == ["B20 without B10"]
    assert board.by_serial("Q-1043") is not None
