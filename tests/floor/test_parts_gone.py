"""A part came off a guitar, or out of its tray: what may go on without it, and what may not."""

from __future__ import annotations

from typing import Any

import pytest

from shop.craft.finding import Finding
from shop.floor import door
from shop.floor.deeds.gating import part_gate
from shop.floor.models import AsBuilt
from shop.stock import ledger, shelf
from shop.stock.models import Lot, TrayLine
from tests.floor import morning as builders
from tests.floor import released
from tests.floor.morning import NOW, act, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

CLERK, LEAD = "P-41", "P-01"
WRONG = "wrong machines"  # the loop
FITTED, WAITING = "Q-1041", "Q-1043"  # its machines are on; they still lie in the tray


def line(serial: str, key: str = "T01") -> TrayLine:
    return TrayLine.objects.get(tray_id=now(serial).tray_id, item__key=key, part=1)


def done(deed: Any, by: str = CLERK, reason: str = "Cracked") -> door.Outcome:
    outcome = door.record(act(by, reason=reason), deed)
    assert outcome.done, words(outcome)
    return outcome


def comes_back(serial: str, *, sealed: bool) -> None:
    done(door.PartReturned(now(serial).id, line(serial).pk, 1, sealed))


def proved() -> list[str]:
    faults: list[str] = []
    shelf.prove(faults.append)
    return faults


def gate(serial: str, operation: str) -> tuple[Finding, ...]:
    sheet = now(serial).sheet.stop(operation)
    assert sheet is not None
    return part_gate(now(serial), sheet)


def test_a_guitar_is_not_released_without_a_part_that_came_off(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    comes_back(FITTED, sealed=False)

    def reasoned(*said: Any, **more: Any) -> door.Act:
        return builders.act(*said, **({"reason": "Goes on"} | more))

    monkeypatch.setattr(released, "act", reasoned)
    with pytest.raises(AssertionError, match="still lacks T01"):
        released.go_on(FITTED)
    assert not AsBuilt.objects.filter(instrument_id=now(FITTED).id).exists()


def test_the_operation_that_fits_it_waits_until_it_is_there_again() -> None:
    assert gate(FITTED, "N60") == ()
    comes_back(FITTED, sealed=False)
    assert [one.words for one in gate(FITTED, "N60")] == [
        f"N60 fits T01: not in the tray of {FITTED}."
    ]
    assert gate(FITTED, "A30") == ()


def test_what_was_drawn_for_the_repair_takes_its_place() -> None:
    found = door.record(act("P-22", "I"), door.DefectFound(now(FITTED).id, "wrong item", WRONG))
    assert found.done, words(found)
    comes_back(FITTED, sealed=False)
    lot = line(FITTED).lot
    assert lot is not None
    done(door.Drawn(now(FITTED).id, lot.pk, 1, "cracked"))
    assert gate(FITTED, "N60") == ()
    assert [one.lot for one in shelf.drawn(FITTED)[lot.item_id]] == [lot.code]


def test_a_scrapped_guitar_keeps_nothing_of_what_was_to_follow() -> None:
    comes_back(WAITING, sealed=True)
    short = TrayLine.objects.get(tray_id=now(WAITING).tray_id, state="short")
    ledger.reserve_lines([short.pk], act(CLERK).by_id, NOW)
    done(door.Scrapped(now(WAITING).id), LEAD)
    short.refresh_from_db()
    assert (short.reserved, proved()) == (0, [])


def test_what_is_fitted_comes_off_a_scrapped_guitar_whose_tray_is_open() -> None:
    one = line(FITTED)
    assert one.fitted == 1
    assert one.put_in_id is not None
    done(door.TrayOpened(now(FITTED).tray_id))
    done(door.Scrapped(now(FITTED).id, (door.Return(one.put_in_id, 1),)), LEAD)
    assert Lot.objects.get(code=f"off {FITTED}").on_hand == 1
    assert proved() == []


def test_another_item_takes_the_place_of_one_that_came_back() -> None:
    comes_back(WAITING, sealed=True)
    done(door.TrayOpened(now(WAITING).tray_id))
    outcome = door.record(
        act(LEAD, reason="None left"), door.Substituted(now(WAITING).id, "T01", "T16", "yes")
    )
    assert "lies in the tray" not in words(outcome)
    assert "tray" not in rules(outcome)
