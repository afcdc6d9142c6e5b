"""What was only claimed is told by when it came, whenever it was tapped.

Common practice, no source.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from shop.craft.sent import Tapped
from shop.floor import board, claims, door
from tests.floor.morning import NOW, act, now
from tests.floor.test_indexes import asked, plan

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

DAY = timedelta(days=1)


def called(words: str, tapped: datetime, came: datetime = NOW, *, proven: bool = False) -> None:
    """A call to the lead from P-11's phone, kept there from the tap until it came."""
    sending = door.Sending(
        badge="P-11",
        station="N",
        tapped=Tapped(tapped, kept=True),
        sent_at=came,
        received_at=came,
        sent_by="P-11",
        proven=proven,
        mark="",
    )
    deed = door.CallMade(now("Q-1043").id, "lead", words)
    assert door.record(act(at=tapped, sending=sending), deed).done


def test_what_came_today_is_told_however_long_it_waited() -> None:
    called("Heel", NOW - 15 * DAY)
    [claim], more = board.claims(NOW - 14 * DAY)
    assert (claim.serial, claim.since, more) == ("Q-1043", NOW - 15 * DAY, 0)
    assert claim.unproven == "badge P-11 was claimed without the network"


def test_what_came_before_is_told_no_more() -> None:
    called("Heel", NOW - 15 * DAY, NOW - 15 * DAY)
    assert board.claims(NOW - 14 * DAY) == ([], 0)


def test_what_is_proven_is_no_claim() -> None:
    called("Heel", NOW - DAY, proven=True)
    assert board.claims(NOW - 14 * DAY) == ([], 0)


def test_the_last_to_come_is_first_and_the_rest_is_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    called("first to come", NOW - DAY, NOW - 3 * DAY)
    called("last to come", NOW - 9 * DAY, NOW)
    called("between", NOW - 5 * DAY, NOW - 2 * DAY)
    monkeypatch.setattr(claims, "MOST", 3)
    assert (len(board.claims(NOW - 14 * DAY)[0]), board.claims(NOW - 14 * DAY)[1]) == (3, 0)
    monkeypatch.setattr(claims, "MOST", 1)
    [claim], more = board.claims(NOW - 14 * DAY)
    assert (claim.since, more) == (NOW - 9 * DAY, 2)


def test_claims_are_found_by_an_index_of_such_rows_alone() -> None:
    [sql] = asked(lambda: board.claims(NOW - 14 * DAY))
    ways = [way for way in plan(sql) if way[0] in {"floor_entry", ""}]
    assert any(way[1] == "entry_unproven" and "received_at" in way[2] for way in ways), ways
