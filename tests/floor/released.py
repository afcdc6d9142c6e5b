"""An instrument that went all the way: worked on, cased, looked at twice and released.

Shared by the tests of what is told of it afterwards. Badges and times are invented.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

from shop.craft import start
from shop.floor import board, door
from shop.floor.demo.loading import WORKSHOP
from tests.floor.morning import NOW, act, now, prepared, words

DATA: dict[str, Any] = json.loads(WORKSHOP.read_text(encoding="utf-8"))
DOERS: dict[str, str] = DATA["doers"]
STATIONS = {row["code"]: row["station"] for row in DATA["operations"]}
STEP = timedelta(minutes=25)


def go_on(serial: str, at: datetime = NOW, until: str = "I50") -> datetime:
    """Do what is next, each as soon as it may be done, up to and with ``until``; the moment of
    the last step."""
    while until not in now(serial).done_codes:
        code = now(serial).next_codes[0]
        ready = start.ready_at(now(serial).stands(at), code)
        at = max(at + STEP, ready) if ready else at + STEP
        do(serial, code, at)
    return at


def do(serial: str, code: str, at: datetime) -> door.Outcome:
    """One operation with all it asks for, by the badge that usually does it."""
    station = STATIONS[code]
    by = DOERS[station]
    for outcome in prepared(serial, code, by, station, at):
        assert outcome.done, words(outcome)
    it = now(serial)
    stop = it.sheet.stop(code)
    assert stop is not None
    neck = board.tags_of([serial])[serial]["neck"] if stop.facts.needs == "neck" else ""
    outcome = door.record(act(by, station, at), door.StepDone(it.id, code, neck))
    assert outcome.result == "recorded", (code, words(outcome))
    return outcome
