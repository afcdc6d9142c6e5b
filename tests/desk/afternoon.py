"""An afternoon on which something of each kind waits for the lead."""

from __future__ import annotations

from datetime import datetime, timedelta

from shop.floor import door
from tests.floor.morning import act, now, words

FROZEN = "Q-1049"  # its tag and that of OTHER were mixed up, its last records are in doubt
OTHER = "Q-1065"
NECKLESS = "Q-1062"
OPEN = "Q-1058"


def lay_out(at: datetime) -> None:
    """Mixed tags, a body without its neck, an open step and a power cut; once is enough."""
    if now(FROZEN).frozen is not None:
        return
    since = now(FROZEN).done[-2].at
    told = [
        door.record(
            act("P-01", "", at, reason="The block mark is another"),
            door.TagsMixed(now(FROZEN).id, now(OTHER).id, since),
        ),
        door.record(
            act("P-01", "", at, reason="Heel split along the grain"),
            door.PairBroken(now(NECKLESS).id, "scrap"),
        ),
        door.record(
            act("P-14", "B", at - timedelta(hours=1)), door.StepStarted(now(OPEN).id, "B20")
        ),
        door.record(
            act("P-01", "", at),
            door.PowerCut(at - timedelta(minutes=40), at - timedelta(minutes=25)),
        ),
    ]
    for outcome in told:
        assert outcome.done, words(outcome)
