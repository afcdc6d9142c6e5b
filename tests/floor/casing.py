"""An instrument brought to its case, and what is said of it from then on."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from django.utils.timezone import localtime

from shop.craft.clocks import Held
from shop.floor import door
from tests.floor.morning import act, now, prepared, ready_for, step, words

SERIAL = "Q-1037"  # set up on Sunday, not inspected yet
CASED = datetime(2031, 3, 3, 14, 10, tzinfo=UTC)  # Monday
READY = datetime(2031, 3, 7, 14, 10, tzinfo=UTC)  # Friday: 96 h later
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


def moment(day: int, hour: int = 0, minute: int = 0) -> datetime:
    """A moment of that March, by its day; the 3rd is the Monday."""
    return datetime(2031, 3, day, hour, minute, tzinfo=UTC)


def cased(at: datetime = CASED, serial: str = SERIAL) -> None:
    """It is inspected and put in its case."""
    did(serial, "I10", "P-31", "I", at - HOUR)
    did(serial, "I20", "P-31", "H", at)


def did(serial: str, operation: str, by: str, station: str, at: datetime) -> None:
    """Everything an operation asks for, and then its record."""
    ready_for(serial, operation, by, station, at)
    outcome = step(serial, operation, by, station, at)
    assert outcome.done, words(outcome)


def looked(at: datetime, serial: str = SERIAL) -> door.Outcome:
    """The second inspector measures, and says that it is inspected again. Where they may not
    measure they may not record it either: then what the gauge was refused for."""
    tries = prepared(serial, "I30", "P-32", "R", at)
    refused = next((one for one in tries if not one.done), None)
    outcome = step(serial, "I30", "P-32", "R", at)
    assert refused is None or not outcome.done, "recorded what could not be measured"
    return refused or outcome


def said(
    deed: Any, at: datetime, by: str = "P-32", station: str = "R", reason: str = ""
) -> door.Outcome:
    return door.record(act(by, station, at, reason=reason), deed)


def done(
    deed: Any, at: datetime, by: str = "P-32", station: str = "R", reason: str = ""
) -> door.Outcome:
    """The same, and it is taken."""
    outcome = said(deed, at, by, station, reason)
    assert outcome.result == "recorded", words(outcome)
    return outcome


def held(at: datetime, serial: str = SERIAL) -> Held:
    found = now(serial).held(localtime(at))
    assert found is not None, f"{serial} is not cased"
    return found


def ready(at: datetime = READY, serial: str = SERIAL) -> datetime | None:
    """When its hold is over, as it is told at a moment."""
    return held(at, serial).ready


def number(serial: str = SERIAL) -> int:
    return now(serial).id
