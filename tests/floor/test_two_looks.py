"""What the two looks, the days between them and the release let through.

The instruments, badges and times are invented; what is asked of looks, hold and release is
common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from shop.craft.finding import Finding, Severity
from shop.floor import board, door
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, did, number, said
from tests.floor.gauged import gauge
from tests.floor.morning import act, asking, now, person, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

LATE = READY + HOUR
FAR_OFF = {"action bass": "3.40"}  # the spec wants 2.40 mm


@pytest.fixture
def looked_twice(morning: None, db: None) -> None:
    """P-31 took the first look, P-32 the second: it may be released."""
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)


def release(at: Any = LATE, by: str = "P-32", beside: str = "") -> door.Outcome:
    more: dict[str, Any] = {"beside": person(beside)} if beside else {}
    return door.record(act(by, "R", at, **more), door.StepDone(number(), "I50"))


# --- what stands against release ---


def against_release(raised: str, it: board.State) -> board.State:
    """The same instrument, as if this had raised a stop against it."""
    found = Finding("R99", Severity.STOP, "It does not fit.", "Look at it.", call="lead")
    return it.with_standing(raised, (found,))  # type: ignore[arg-type]


@pytest.mark.usefixtures("looked_twice")
def test_a_value_that_came_late_and_stands_against_it_stops_the_release() -> None:
    """A page that lay open posts the second look's action once that is recorded."""
    late = gauge(SERIAL, FAR_OFF, "I30", "P-32", "R", LATE)
    assert (late.done, rules(late)) == (True, ["R42"])
    outcome = release()
    assert (outcome.done, rules(outcome)) == (False, ["R42"])
    again = gauge(SERIAL, {"action bass": "2.42"}, "I50", "P-32", "R", LATE + MINUTE)
    assert again.done, words(again)
    assert release(LATE + 2 * MINUTE).done


@pytest.mark.usefixtures("looked_twice")
@pytest.mark.parametrize("raised", ["tray", "readings", "positions"])
def test_whatever_stands_against_it_stops_the_release(raised: str) -> None:
    it = against_release(raised, now(SERIAL))
    found = board.against(it, "I50", asking("P-32", "R", LATE))
    assert [one.rule for one in found] == ["R99"]
    waits = board.waiting_of(it, LATE).nexts
    assert "R99" in [one.rule for wait in waits for one in wait.reasons]
