"""An instrument that ends as scrap: closed for good, and what comes off it is set apart."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from shop.catalogue import book
from shop.craft.code import Kind
from shop.floor import board, door, following, tags
from shop.floor.models import Body, Entry, HelpCall, Instrument, Neck, Pair, Tag
from shop.stock import ledger, shelf
from shop.stock.models import Lot, LotHold, Movement, TrayLine
from tests.floor.morning import NOW, act, now, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

PAIR = "Q-1050"  # with K-2088, its tray closed
WAITING = "Q-1043"  # its neck K-2081 waits for the cut
OPEN_TRAY = "Q-1062"  # its tray asked for, nothing picked
WHY = "Side split at the waist, beyond repair"


def back(key: str, quantity: int = 1, whole: bool = True) -> door.Return:
    return door.Return(book.item_ids([key])[key], quantity, whole)


def scrap(
    *returns: door.Return, serial: str = PAIR, reason: str = WHY, at: Any = NOW
) -> door.Outcome:
    deed = door.Scrapped(now(serial).id, returns)
    return door.record(act("P-01", "", at, reason=reason), deed)


def off(serial: str = PAIR) -> list[Lot]:
    return list(Lot.objects.filter(code=f"off {serial}").order_by("item__key"))


# --- the end ---


def test_a_scrapped_instrument_is_closed_with_its_reason() -> None:
    assert scrap().done
    it = now(PAIR)
    assert (it.ended, it.finished_at) == (WHY, NOW)
    assert PAIR not in {one.serial for one in board.all_open()}


def test_its_pair_ends_and_both_parts_are_scrap() -> None:
    scrap()
    pair = Pair.objects.get(instrument__body__serial=PAIR)
    assert (pair.ended_at, pair.ended_why) == (NOW, WHY)
    assert Body.objects.get(serial=PAIR).scrapped_at == NOW
    assert Neck.objects.get(serial="K-2088").scrapped_at == NOW


def test_a_neck_that_only_waited_stays_and_gets_another_body() -> None:
    """Only the cut makes the pair: common practice, no source."""
    code = board.tags_of([WAITING])[WAITING]["neck"]
    outcome = scrap(serial=WAITING)
    assert outcome.done
    assert "K-2081 was no pair with Q-1043 yet: it goes back to the store." in words(outcome)
    neck = Neck.objects.get(serial="K-2081")
    assert (neck.scrapped_at, now(WAITING).neck) == (None, None)
    assert Tag.objects.get(neck=neck).code == code
    assert Tag.objects.get(neck=neck).void_at is None
    assert "K-2081" in {one["serial"] for one in board.waiting_parts()["necks"]}
    parted = door.PairBroken(now(OPEN_TRAY).id, "store")
    assert door.record(act("P-01", "", reason="Twisted"), parted).done
    named = door.NeckNamed(now(OPEN_TRAY).id, "K-2081")
    assert door.record(act("P-01", "", reason="It fits"), named).done
    assert now(OPEN_TRAY).neck == "K-2081"


def test_one_whose_tag_was_lost_gets_a_new_one() -> None:
    Tag.objects.filter(neck__serial="K-2081").update(void_at=NOW, void_why="lost")
    assert scrap(serial=WAITING).done
    assert Tag.objects.filter(neck__serial="K-2081", void_at=None).count() == 1


def test_a_neck_that_only_waited_is_scrap_with_its_body_where_the_lead_says_so() -> None:
    deed = door.Scrapped(now(WAITING).id, neck_too=True)
    assert door.record(act("P-01", "", reason=WHY), deed).done
    assert Neck.objects.get(serial="K-2081").scrapped_at == NOW
    assert Tag.objects.get(neck__serial="K-2081").void_why == "scrapped"


def test_a_row_of_before_scrapped_the_neck_with_its_body() -> None:
    """Its rows say no more than which neck that was."""
    scrap(serial=WAITING)
    row = Entry.objects.get(kind="scrap")
    row.data = {"neck": "K-2081", "parts": [], "returns": []}
    door.Scrapped.follow(row)
    assert Neck.objects.get(serial="K-2081").scrapped_at == NOW


def test_a_body_that_lost_its_neck_is_scrapped_alone() -> None:
    broken = door.PairBroken(now(PAIR).id, "store")
    assert door.record(act("P-01", "", reason="Heel split"), broken).done
    assert scrap().done
    assert Neck.objects.get(serial="K-2088").scrapped_at is None


@pytest.mark.parametrize(("part", "kind"), [("body", Kind.BODY), ("neck", Kind.NECK)])
def test_either_tag_says_that_it_is_scrap(part: str, kind: Kind) -> None:
    code = board.tags_of([WAITING])[WAITING][part]
    deed = door.Scrapped(now(WAITING).id, neck_too=True)
    assert door.record(act("P-01", "", reason=WHY), deed).done
    finding = tags.find(code, kind).finding
    assert finding is not None
    assert finding.words.endswith("which was scrapped 2031-03-03.")


def test_what_was_in_hand_and_frozen_ends_with_it() -> None:
    since = NOW.isoformat()
    Instrument.objects.filter(body__serial=PAIR).update(
        open_step={"operation": "J20", "by": "P-16", "since": since},
        frozen={"words": "", "by": "P-16", "since": since},
    )
    assert scrap().done
    assert (now(PAIR).open, now(PAIR).frozen, now(PAIR).rework) == (None, None, None)


def test_open_calls_to_it_are_answered() -> None:
    it = now(PAIR)
    assert door.record(act("P-16", "J"), door.CallMade(it.id, "lead", "Split")).done
    scrap(at=NOW + timedelta(minutes=5))
    answered = HelpCall.objects.values_list("answered_at", "answered_by__code")
    assert answered.get() == (NOW + timedelta(minutes=5), "P-01")
    assert board.calls(["lead"]) == []


def test_nothing_is_done_on_scrap_any_more() -> None:
    scrap()
    later = NOW + timedelta(minutes=5)
    assert "ended" in rules(step(PAIR, "J20", "P-16", "J", later))
    assert rules(scrap(at=later)) == ["ended"]


def test_a_neck_seen_beside_scrap_freezes_nothing() -> None:
    scrap()
    code = Tag.objects.get(neck__serial="K-2095", void_at=None).code
    outcome = door.record(act("P-16", "J"), door.NeckSeen(now(PAIR).id, code))
    assert rules(outcome) == ["ended"]
    assert not Instrument.objects.exclude(frozen={}).exists()


def test_nothing_is_scrapped_without_a_reason() -> None:
    outcome = scrap(back("E05"), reason="")
    assert rules(outcome) == ["scrap"]
    assert now(PAIR).ended == ""
    assert off() == []


def test_what_has_left_the_floor_is_not_scrapped() -> None:
    Instrument.objects.filter(body__serial=PAIR).update(finished_at=NOW - timedelta(days=1))
    assert rules(scrap()) == ["finished"]
    assert now(PAIR).ended == ""


# --- what comes off ---


def test_each_part_that_comes_off_lies_held_in_a_lot_of_its_own() -> None:
    assert scrap(back("E05"), back("P01")).done
    assert [(one.item.key, one.on_hand, one.reserved) for one in off()] == [
        ("E05", 1, 0),
        ("P01", 1, 0),
    ]
    assert all(one.held == f"Off Q-1050, scrapped: {WHY}" for one in off())
    assert shelf.unbalanced() == []


def test_what_came_off_lies_in_its_items_own_bin() -> None:
    bins = set(Lot.objects.filter(item__key="P01").values_list("bin__code", flat=True))
    scrap(back("P01"))
    assert {one.bin.code for one in off()} <= bins


def test_the_hold_and_the_movement_say_who_and_why() -> None:
    scrap(back("P01"))
    [lot] = off()
    hold = LotHold.objects.get(lot=lot)
    assert (hold.held, hold.by.code, hold.at) == (True, "P-01", NOW)
    moved = Movement.objects.get(lot=lot)
    assert (moved.on_hand, moved.by.code if moved.by else "") == (1, "P-01")
    assert moved.why.startswith("Off Q-1050, scrapped: ")


def test_what_came_off_is_not_picked_before_the_lead_gives_it_free() -> None:
    item = book.item_ids(["P01"])["P01"]
    for lot in Lot.objects.filter(item_id=item):
        ledger.hold(lot.pk, "to leave none free", act().by_id, NOW)
    scrap(back("P01"))
    assert shelf.free([item])[item] == 0
    ledger.free(off()[0].pk, "Looked at, as new", act("P-01").by_id, NOW)
    assert shelf.free([item])[item] == 1


def test_a_set_that_lacks_a_machine_is_told_and_not_put_back() -> None:
    """Five machines are no set of six: common practice, no source."""
    assert scrap(back("T06", whole=False), back("P01")).done
    assert [one.item.key for one in off()] == ["P01"]
    assert Entry.objects.get(kind="scrap").data["parts"] == [
        {"item": "T06", "quantity": 1, "lot": ""},
        {"item": "P01", "quantity": 1, "lot": "off Q-1050"},
    ]


def test_a_part_that_was_put_on_out_of_a_batch_comes_off_as_well() -> None:
    """It lies in its case."""
    assert scrap(back("C02"), serial="Q-1040").done
    assert [one.item.key for one in off("Q-1040")] == ["C02"]


def test_what_can_come_off_is_what_lay_in_the_tray_and_what_was_put_on_out_of_a_batch() -> None:
    """The one is paired and not strung yet, the other lies in its case."""
    keys = {one.article.key for one in board.comes_off(now(PAIR))}
    assert keys == {line.article.key for line in now(PAIR).kit if line.in_tray}
    keys = {one.article.key for one in board.comes_off(now("Q-1040"))}
    assert keys == {line.article.key for line in now("Q-1040").kit}


def test_a_substitute_that_lay_in_the_tray_is_what_comes_off() -> None:
    tray = shelf.tray(now(PAIR).tray_id)
    assert tray is not None
    line = next(one for one in tray["lines"] if one["article"].key == "E05")
    other = book.item_ids(["E04"])["E04"]
    TrayLine.objects.filter(pk=line["id"]).update(put_in=other)
    assert rules(scrap(back("E05"))) == ["returns"]
    assert scrap(back("E04")).done


@pytest.mark.parametrize(
    ("returned", "told"),
    [
        (("P01", 2), "P01: 2 named, 1 were put on."),
        (("P01", 0), "0 come off: that is none."),
        (("T01", 1), "An item that Q-1050 does not have is named."),
        # Strings and case are still at their benches.
        (("R01", 1), "An item that Q-1050 does not have is named."),
        (("C01", 1), "An item that Q-1050 does not have is named."),
    ],
)
def test_what_was_never_put_on_does_not_come_off(returned: tuple[str, int], told: str) -> None:
    outcome = scrap(back(*returned))
    assert (rules(outcome), words(outcome)) == (["returns"], told)
    assert now(PAIR).ended == ""
    assert off() == []


def test_the_same_part_named_twice_is_counted_together() -> None:
    assert words(scrap(back("P01"), back("P01", whole=False))) == "P01: 2 named, 1 were put on."


def test_it_is_told_what_is_left_to_do_by_hand() -> None:
    outcome = scrap(back("P01"), back("E05"), back("T06", whole=False))
    assert words(outcome) == "2 pieces held as lot off Q-1050."


# --- a tray that was not closed ---


def test_a_tray_that_was_not_closed_gives_back_what_it_kept() -> None:
    kept = Lot.objects.filter(movements__tray_id=now(OPEN_TRAY).tray_id).distinct()
    before = {one.pk: one.reserved for one in kept}
    assert before
    assert scrap(serial=OPEN_TRAY).done
    after = {one.pk: one.reserved for one in Lot.objects.filter(pk__in=before)}
    assert all(after[number] < reserved for number, reserved in before.items())
    assert shelf.unbalanced() == []


def test_a_tray_that_was_given_up_is_on_nobodys_list() -> None:
    scrap(serial=OPEN_TRAY)
    assert OPEN_TRAY not in {one["serial"] for one in shelf.trays(NOW.date() + timedelta(days=9))}
    assert now(OPEN_TRAY).tray_state == "closed"


def test_what_lies_in_an_open_tray_goes_back_to_its_bins_by_hand() -> None:
    outcome = scrap(serial="Q-1044")
    assert "The tray of Q-1044 is given up" in words(outcome)
    assert rules(scrap(back("T02"), serial=OPEN_TRAY)) == ["returns"]


def test_what_a_closed_tray_still_held_is_out_of_the_shop_and_gives_nothing_back() -> None:
    last, on_hand = Movement.objects.latest("pk").pk, dict(Lot.objects.values_list("pk", "on_hand"))
    scrap()
    moved = Movement.objects.filter(pk__gt=last)
    assert {one.kind for one in moved} == {"consumed"}
    assert {one.why for one in moved} == {f"{PAIR} scrapped"}
    assert dict(Lot.objects.values_list("pk", "on_hand")) == on_hand
    lines = TrayLine.objects.filter(tray__serial=PAIR, state="taken")
    assert {one.quantity - one.fitted for one in lines} == {0}
    assert shelf.unbalanced() == []


def test_an_end_is_made_again_from_the_journal_and_the_shelf_stays_as_it_is() -> None:
    assert door.record(act("P-16", "J"), door.CallMade(now(PAIR).id, "lead", "Split")).done
    scrap(back("P01"), back("T06", whole=False))
    scrap(serial=OPEN_TRAY)
    before = Movement.objects.count()
    assert following.differences()[1] == []
    assert Movement.objects.count() == before
