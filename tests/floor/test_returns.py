"""Parts that come back from an instrument, and parts drawn for its repair.

What goes where: common practice, no source.
"""

from __future__ import annotations

import pytest

from shop.craft.singles import Laid
from shop.floor import door
from shop.floor.models import Entry
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Movement, TrayLine
from tests.floor.morning import NOW, act, check_tray, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

OWN = "Q-1043"  # its tray closed, nothing of it fitted yet
PAIR = "Q-1050"  # with K-2088, its tray closed
WHY = "The wrong one was asked for"
CRACKED = "Button cracked"


def line(serial: str, key: str, part: int = 1) -> TrayLine:
    return TrayLine.objects.get(tray_id=now(serial).tray_id, item__key=key, part=part)


def first(serial: str = OWN) -> TrayLine:
    """A line of its tray of which nothing is fitted."""
    rows = TrayLine.objects.filter(tray_id=now(serial).tray_id, state="taken", fitted=0)
    return rows.order_by("id")[0]


def give_back(
    one: TrayLine,
    serial: str = OWN,
    quantity: int = 1,
    sealed: bool = True,
    reason: str = WHY,
) -> door.Outcome:
    deed = door.PartReturned(now(serial).id, one.pk, quantity, sealed)
    return door.record(act("P-41", "", reason=reason), deed)


# --- parts back ---


def test_a_sealed_part_goes_back_into_its_bin_and_stands_in_the_journal() -> None:
    one = first()
    assert one.lot is not None
    before = one.lot.on_hand
    outcome = give_back(one)
    assert outcome.done, words(outcome)
    assert "go back to their bin today" in words(outcome)
    assert Lot.objects.get(pk=one.lot.pk).on_hand == before + 1
    row = Entry.objects.get(kind="returned")
    assert (row.data["item"], row.data["lot"], row.data["off"]) == (
        one.item.key, one.lot.code, 0,
    )  # fmt: skip
    assert row.reason == WHY
    assert shelf.unbalanced() == []


def test_the_bench_scans_the_tray_anew_and_finds_it_short() -> None:
    assert check_tray(OWN).done
    one = first()
    assert give_back(one, quantity=one.quantity).done
    assert now(OWN).checked_version != now(OWN).tray_version
    again = check_tray(OWN)
    assert one.item.key in words(again)


def test_an_opened_part_is_set_apart_under_the_instruments_name() -> None:
    one = first()
    outcome = give_back(one, sealed=False)
    assert outcome.done
    assert f"set apart as lot “off {OWN}”" in words(outcome)
    apart = Lot.objects.get(code=f"off {OWN}")
    assert (apart.item_id, apart.on_hand, bool(apart.held)) == (one.item_id, 1, True)


@pytest.mark.parametrize(("quantity", "reason"), [(0, WHY), (99, WHY), (1, "")])
def test_what_cannot_come_back_is_refused_and_moves_nothing(quantity: int, reason: str) -> None:
    before = Movement.objects.count()
    outcome = give_back(first(), quantity=quantity, reason=reason)
    assert rules(outcome) == ["returned"]
    assert Movement.objects.count() == before


def test_a_line_of_another_tray_is_refused() -> None:
    outcome = give_back(first(PAIR), OWN)
    assert "none of the tray of Q-1043" in words(outcome)


def test_a_tray_that_is_open_gives_nothing_back() -> None:
    rows = TrayLine.objects.filter(tray_id=now("Q-1062").tray_id)
    outcome = give_back(rows[0], "Q-1062")
    assert "is open: nothing of it left its bin" in words(outcome)


def test_nothing_comes_back_from_scrap_this_way() -> None:
    one = first(PAIR)
    scrapped = door.Scrapped(now(PAIR).id)
    assert door.record(act("P-01", "", reason="Side split"), scrapped).done
    assert rules(give_back(one, PAIR)) == ["ended"]


def fit_all(serial: str = OWN) -> None:
    ledger.consume(now(serial).tray_id, None, act("P-41").by_id, NOW)


def test_what_was_fitted_comes_back_opened_and_never_sealed() -> None:
    one = first()
    fit_all()
    assert rules(give_back(one)) == ["returned"]
    outcome = give_back(one, sealed=False)
    assert outcome.done, words(outcome)
    assert Entry.objects.get(kind="returned", outcome="recorded").data["off"] == 1
    assert shelf.unbalanced() == []


def test_what_came_back_does_not_come_off_once_more_when_it_is_scrap() -> None:
    one = first(PAIR)
    assert give_back(one, PAIR, one.quantity, sealed=False).done
    back = door.Return(one.put_in_id or 0, one.quantity)
    outcome = door.record(act("P-01", "", reason="Split"), door.Scrapped(now(PAIR).id, (back,)))
    assert rules(outcome) == ["returns"]


def test_what_came_off_scrap_is_looked_at_like_all_that_is_set_apart() -> None:
    code = line(PAIR, "P01").lot
    assert code is not None
    item = line(PAIR, "P01").item_id
    scrapped = door.Scrapped(now(PAIR).id, (door.Return(item, 1),))
    assert door.record(act("P-01", "", reason="Split"), scrapped).done
    [apart] = shelf.set_apart(NOW.date())
    kept = Movement.objects.get(lot_id=apart.lot_id)
    assert kept.serial == PAIR
    assert shelf.lots_of(item, PAIR)[0] == code.code
    before = Lot.objects.get(pk=code.pk).on_hand
    found = ledger.Whole(1, code.code, Laid())
    ledger.look(apart.lot_id, found, act("P-41").by_id, NOW)
    assert Lot.objects.get(pk=code.pk).on_hand == before + 1
    assert shelf.set_apart(NOW.date()) == []


# --- drawn for a repair ---


def single(key: str = "T01") -> Lot:
    """A left single of a set of this item."""
    whole = Lot.objects.filter(item__key=key, piece="")[0]
    ledger.break_set(whole.pk, act("P-41").by_id, NOW, "Spares")
    return Lot.objects.get(item__key=key, piece="L")


def draw(
    lot: Lot, quantity: int = 1, why: str = CRACKED, by: str = "P-41", **more: str
) -> door.Outcome:
    deed = door.Drawn(now(OWN).id, lot.pk, quantity, why, lead=by == "P-01")
    return door.record(act(by, "", **more), deed)  # type: ignore[arg-type]


def to_repair() -> None:
    outcome = door.record(act("P-11", "N"), door.Dropped(now(OWN).id))
    assert outcome.done, words(outcome)
    assert now(OWN).rework is not None


def test_a_single_is_drawn_for_an_instrument_at_repair() -> None:
    lot = single()
    to_repair()
    outcome = draw(lot)
    assert outcome.done, words(outcome)
    assert Lot.objects.get(pk=lot.pk).on_hand == lot.on_hand - 1
    kept = Movement.objects.latest("id")
    assert (kept.kind, kept.serial, kept.why) == ("drawn", OWN, CRACKED)
    row = Entry.objects.get(kind="drawn", outcome="recorded")
    assert (row.data["item"], row.data["piece"]) == ("T01", "L")


def test_nothing_is_drawn_for_one_that_is_on_no_loop() -> None:
    outcome = draw(single())
    assert rules(outcome) == ["no loop"]
    assert not Movement.objects.filter(kind="drawn").exists()


def test_a_lead_draws_for_it_all_the_same_with_a_reason() -> None:
    lot = single()
    assert rules(draw(lot, by="P-01")) == ["no loop"]
    assert not Movement.objects.filter(kind="drawn").exists()
    outcome = draw(lot, by="P-01", reason="Cracked while it was fitted")
    assert outcome.done, words(outcome)
    assert Movement.objects.filter(kind="drawn").count() == 1


def test_more_than_is_free_is_not_drawn() -> None:
    lot = single()
    to_repair()
    outcome = draw(lot, 4)
    assert "4 named, 3 of lot" in words(outcome)
    assert rules(draw(lot, why=" ")) == ["drawn"]


def test_a_lot_that_is_held_is_not_drawn_from() -> None:
    lot = single()
    ledger.hold(lot.pk, "Spotted", act("P-41").by_id, NOW)
    to_repair()
    assert "Spotted" in words(draw(lot))
    assert not Movement.objects.filter(kind="drawn").exists()


def test_a_replacement_of_another_bath_is_looked_at_first() -> None:
    item = line(OWN, "T01").item_id
    place = Lot.objects.filter(item_id=item)[0].bin.code
    other = ledger.receive(item, place, "31-09B", 2, NOW.date(), NOW)
    to_repair()
    lot = Lot.objects.get(pk=other)
    assert rules(draw(lot)) == ["R27"]
    assert draw(lot, reason="Same shade in daylight").done


def test_nothing_is_drawn_for_scrap() -> None:
    lot = single()
    scrapped = door.Scrapped(now(OWN).id)
    assert door.record(act("P-01", "", reason="Split"), scrapped).done
    assert rules(draw(lot)) == ["ended"]
