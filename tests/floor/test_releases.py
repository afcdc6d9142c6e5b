"""Parts arrive, and a lead releases body, neck and kit: what is missing is said."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

import pytest

from shop.catalogue import book, revising
from shop.catalogue.models import SpecRevision, TunerSet
from shop.floor import board, door, tags
from shop.floor.models import Body, Entry, Instrument, Neck
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Order
from tests.floor.morning import NOW, act, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUESDAY = date(2031, 3, 4)
DUE = date(2031, 3, 20)


def release(
    body: str = "Q-1067", neck: str = "K-2103", spec: str = "FELL", reason: str = "", **more: Any
) -> door.Outcome:
    order = {"due_on": DUE, "release_on": TUESDAY} | more
    return door.record(act("P-01", "", reason=reason), door.Released(body, neck, spec, **order))


def arrive(part: Any, serial: str, spec: str = "TARN") -> door.Outcome:
    return door.record(act("P-01", ""), door.PartArrived(part, serial, spec))


# --- arrivals ---


@pytest.mark.parametrize(("part", "kind"), [("body", "B"), ("neck", "N")])
def test_a_part_that_arrives_waits_with_a_tag_of_its_kind(part: str, kind: str) -> None:
    assert arrive(part, "X-1").done
    row = (Body if part == "body" else Neck).objects.get(serial="X-1")
    assert row.tags.get().code[0] == kind


def test_two_parts_never_share_a_number() -> None:
    assert rules(arrive("body", "Q-1060", "VOE")) == ["arrived"]


def test_a_part_of_no_spec_of_the_shop_is_refused() -> None:
    assert words(arrive("neck", "K-1", "LOCH")) == "There is no spec LOCH."


@pytest.mark.parametrize("serial", ["", " ", "q-1", "Q 1", "Q-1\0", "-1", "Q" * 17, "Q/1", "Ö1"])
def test_a_serial_that_no_tag_could_carry_is_refused_and_written_down(serial: str) -> None:
    outcome = arrive("body", serial)
    assert rules(outcome) == ["serial"]
    assert not Body.objects.filter(serial=serial.replace("\0", "")).exists()


def test_a_serial_of_sixteen_places_is_taken() -> None:
    assert arrive("body", "Q" * 16).done


def coated(on: date, part: Any = "body", at: datetime = NOW) -> door.Outcome:
    return door.record(act("P-01", "", at), door.PartArrived(part, "X-1", "TARN", on))


def test_a_body_arrives_with_the_day_of_its_last_coat() -> None:
    assert coated(date(2031, 2, 17)).done
    assert Body.objects.get(serial="X-1").coated_on == date(2031, 2, 17)
    assert Entry.objects.latest("id").data["coated_on"] == "2031-02-17"


def test_a_body_coated_today_arrives() -> None:
    assert coated(NOW.date()).done


def test_a_coat_still_to_come_is_refused_with_both_days() -> None:
    outcome = coated(date(2031, 3, 4))
    assert rules(outcome) == ["coat"]
    assert words(outcome).startswith("Last coat 2031-03-04, but today is 2031-03-03")
    assert not Body.objects.filter(serial="X-1").exists()


def test_today_is_the_shops_own_day(settings: Any) -> None:
    """Half past one in the morning in the shop, the evening before by UTC."""
    settings.TIME_ZONE = "Europe/Helsinki"
    assert coated(date(2031, 3, 4), at=NOW.replace(hour=23)).done


def test_a_neck_takes_no_day_of_a_last_coat() -> None:
    outcome = coated(date(2031, 2, 17), "neck")
    assert rules(outcome) == ["coat"]
    assert not Neck.objects.filter(serial="X-1").exists()


def test_an_instrument_knows_the_day_of_its_bodys_last_coat() -> None:
    Body.objects.filter(serial="Q-1067").update(coated_on=date(2031, 2, 17))
    release()
    assert now("Q-1067").coated_on == date(2031, 2, 17)


def test_parts_in_store_are_those_no_instrument_has() -> None:
    waiting = board.waiting_parts()
    assert [one["serial"] for one in waiting["bodies"]] == ["Q-1060", "Q-1067"]
    assert [one["serial"] for one in waiting["necks"]] == ["K-2099", "K-2103"]


def test_a_scrapped_part_waits_no_more_and_is_not_released() -> None:
    broken = door.PairBroken(now("Q-1061").id, "scrap")
    assert door.record(act("P-01", "", reason="Twisted"), broken).done
    assert "K-2095" not in [one["serial"] for one in board.waiting_parts()["necks"]]
    outcome = release(neck="K-2095")
    assert words(outcome) == "Neck K-2095 was scrapped 2031-03-03."
    assert board.by_serial("Q-1067") is None


# --- releases ---


def test_a_body_a_neck_and_a_kit_become_an_instrument() -> None:
    assert release(order="C-0500", urgent=True).result == "recorded"
    it = now("Q-1067")
    assert (it.neck, it.sheet.spec.key, it.due_on, it.release_on) == (
        "K-2103",
        "FELL",
        DUE,
        TUESDAY,
    )
    assert (it.order, it.urgent, it.tray_state, it.done) == ("C-0500", True, "asked", ())


def test_a_release_asks_for_a_tray_with_the_lines_that_go_into_trays() -> None:
    release()
    tray = shelf.tray(now("Q-1067").tray_id)
    assert tray is not None
    assert {line["article"].key for line in tray["lines"]} == {
        "T09", "N05", "S01", "P02", "E01", "E04",
    }  # fmt: skip
    assert tray["wanted_on"] == TUESDAY


def test_a_release_reserves_its_stock() -> None:
    before = Lot.objects.get(item__key="T09").reserved
    release()
    assert Lot.objects.get(item__key="T09").reserved == before + 1
    assert shelf.unbalanced() == []


def test_a_release_begins_the_instruments_journal() -> None:
    release()
    row = Entry.objects.get(instrument__body__serial="Q-1067")
    assert (row.seq, row.kind, now("Q-1067").seq) == (1, "release", 1)


def test_a_body_that_has_not_arrived_is_missing_by_name() -> None:
    outcome = release(body="Q-2000")
    assert rules(outcome) == ["body"]
    assert words(outcome) == "No body Q-2000 has arrived."


def test_a_neck_that_has_not_arrived_is_missing_by_name() -> None:
    assert words(release(neck="K-1")) == "No neck K-1 has arrived."


def test_a_body_and_a_neck_that_are_both_missing_are_both_named() -> None:
    assert rules(release(body="Q-2000", neck="K-1")) == ["body", "neck"]


def test_a_body_that_is_on_the_floor_already_is_not_released_again() -> None:
    outcome = release(body="Q-1061")
    assert words(outcome) == "Body Q-1061 is released already, as Q-1061."


def test_a_neck_that_another_body_has_is_not_released_again() -> None:
    outcome = release(neck="K-2095")
    assert words(outcome) == "Neck K-2095 is released already, as Q-1061."


def test_a_part_made_as_another_model_is_refused_with_both_names() -> None:
    outcome = release(neck="K-2099")
    assert words(outcome) == "Neck K-2099 was made as TARN, not FELL."


def test_a_spec_without_an_open_revision_is_said_to_have_none() -> None:
    SpecRevision.objects.filter(spec__key="FELL").update(state="closed")
    assert words(release()) == "FELL has no open revision."


def test_a_due_date_before_the_release_is_refused() -> None:
    assert rules(release(due_on=date(2031, 3, 3))) == ["dates"]


def empty(key: str) -> None:
    """Everything of an item is promised to orders to come."""
    lot = Lot.objects.get(item__key=key)
    ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "orders to come")


def test_an_item_without_stock_is_named_and_a_reason_is_asked_for() -> None:
    empty("S01")
    outcome = release()
    assert (outcome.result, rules(outcome)) == ("refused", ["short"])
    assert words(outcome).endswith("0 free, 1 needed.")


def test_an_instrument_is_released_short_for_a_reason() -> None:
    empty("S01")
    assert release(reason="Saddles come at noon").done
    tray = shelf.tray(now("Q-1067").tray_id)
    assert tray is not None
    assert [line["article"].key for line in tray["lines"] if not line["reserved"]] == ["S01"]


def test_a_refused_release_leaves_parts_and_stock_as_they_were() -> None:
    before = Lot.objects.get(item__key="T09").reserved
    release(neck="K-1")
    assert not Instrument.objects.filter(body__serial="Q-1067").exists()
    assert Lot.objects.get(item__key="T09").reserved == before


def test_a_serial_too_long_for_any_part_is_refused_and_kept_whole_in_the_journal() -> None:
    serial = "Q-1067 or perhaps Q-1068"
    assert rules(release(body=serial)) == ["body"]
    assert Entry.objects.order_by("-pk")[0].data["body"] == serial


def test_where_it_goes_is_kept_with_the_instrument_and_in_the_journal() -> None:
    assert release(destination="Norway").done
    assert now("Q-1067").destination == "Norway"
    assert board.journal(now("Q-1067").id)[0]["data"]["destination"] == "Norway"


def test_an_instrument_goes_nowhere_unless_a_release_says_so() -> None:
    release()
    assert now("Q-1067").destination == ""


# --- orders, and the list that closes ---


def test_a_release_counts_its_order_down() -> None:
    ledger.book_order("C-0500", book.spec_id("FELL") or 0, 2, DUE)
    assert release(order="C-0500").done
    assert Order.objects.get(ref="C-0500").released == 1


def test_a_release_for_no_order_or_another_counts_none_down() -> None:
    ledger.book_order("C-0500", book.spec_id("TARN") or 0, 2, DUE)
    assert release(order="C-0500").done
    assert not Order.objects.filter(released__gt=0, ref="C-0500").exists()


def released_at(hour: int, minute: int = 0) -> door.Outcome:
    """For Tuesday, on Monday at this hour."""
    deed = door.Released("Q-1067", "K-2103", "FELL", due_on=DUE, release_on=TUESDAY)
    return door.record(act("P-01", "", NOW.replace(hour=hour, minute=minute)), deed)


def test_once_tomorrows_list_is_closed_the_lead_is_told_and_not_kept_back() -> None:
    outcome = released_at(14)
    assert (outcome.result, rules(outcome)) == ("recorded", ["list closed"])
    assert words(outcome) == "The list for 2031-03-04 closed Mon 14:00."


def test_a_minute_before_nothing_is_said() -> None:
    assert rules(released_at(13, 59)) == []


def test_the_hour_it_closes_is_the_shops_to_set(settings: Any) -> None:
    settings.KITTING_CLOSES = time(12, 30)
    assert words(released_at(12, 30)) == "The list for 2031-03-04 closed Mon 12:30."


def test_the_list_for_a_monday_closes_on_friday() -> None:
    monday = date(2031, 3, 10)
    friday = NOW.replace(day=7, hour=15)
    deed = door.Released("Q-1067", "K-2103", "FELL", due_on=DUE, release_on=monday)
    outcome = door.record(act("P-01", "", friday), deed)
    assert words(outcome) == "The list for 2031-03-10 closed Fri 14:00."


# --- deviations ---


def agreed(out: str, into: str) -> tuple[door.Agreed, ...]:
    return (door.Agreed("Gold button", "buyer, order C-0500", out, into),)


def test_an_agreed_deviation_changes_tray_and_kit() -> None:
    assert release(agreed=agreed("E04", "E07")).done
    it = now("Q-1067")
    tray = shelf.tray(it.tray_id)
    assert tray is not None
    keys = {line["article"].key for line in tray["lines"]}
    assert "E07" in keys
    assert "E04" not in keys
    assert "E07" in {line.article.key for line in it.kit}
    assert [one.words for one in it.departures] == ["Gold button"]


@pytest.mark.parametrize(
    ("out", "into", "rule"),
    [("E04", "E99", "item"), ("E05", "E07", "deviation"), ("E04", "T09", "deviation")],
    ids=["into nothing", "out of nothing", "into what is there"],
)
def test_a_deviation_that_cannot_be_is_refused(out: str, into: str, rule: str) -> None:
    assert rules(release(agreed=agreed(out, into))) == [rule]


def test_a_deviation_in_words_alone_is_kept() -> None:
    assert release(agreed=(door.Agreed("Initials inside", "buyer"),)).done
    assert [one.words for one in now("Q-1067").departures] == ["Initials inside"]


def test_a_released_bodys_tag_leads_to_it_from_then_on() -> None:
    code = Body.objects.get(serial="Q-1067").tags.get().code
    release()
    assert tags.of_serial("Q-1067") == code
    found = board.by_tag(code)
    assert found is not None
    assert found.serial == "Q-1067"


# --- the kit as agreed ---


def test_a_deviation_that_cannot_go_on_this_guitar_is_not_released() -> None:
    """FELL takes three on a plate; T05 are individual machines with threaded bushings."""
    outcome = release(agreed=agreed("T09", "T05"))
    assert outcome.result == "refused"
    assert {"R02", "R05"} <= set(rules(outcome))
    assert all(one.basis for one in outcome.findings if one.rule.startswith("R"))
    assert board.by_serial("Q-1067") is None


def test_an_item_of_another_family_takes_no_machines_place() -> None:
    outcome = release(agreed=agreed("T09", "N01"))
    assert (outcome.result, rules(outcome)) == ("refused", ["deviation"])
    assert "N01 (nut) cannot take the place of T09 (tuning machines)." in words(outcome)


def test_an_agreed_metal_is_no_reason_to_refuse() -> None:
    assert release(agreed=agreed("E04", "E07")).done  # gold where FELL is nickel


def test_an_item_that_changed_since_its_revision_opened_keeps_a_release_back() -> None:
    TunerSet.objects.filter(key="T09").update(spacing_mm="35.700")
    revising.item_changed(book.item_ids(["T09"])["T09"])
    outcome = release()
    assert (outcome.result, rules(outcome)) == ("refused", ["R11"])
