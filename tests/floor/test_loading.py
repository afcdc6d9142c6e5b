"""The demo workshop as loaded: whole, true to its figures, and on its Monday morning."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db.models import Count, Q

from shop.craft import gauging
from shop.craft.route import ready_at
from shop.floor import board
from shop.floor.demo import loading
from shop.floor.models import Body, Entry, Neck, RoomReading, Step
from shop.people import badges
from shop.stock import shelf
from shop.stock.models import Lot, Tray
from tests.catalogue import figures
from tests.floor.morning import NOW, SEVEN, check_tray, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

STOCK = {row["key"]: row for row in figures.rows(figures.STOCK)}


@pytest.mark.parametrize("key", STOCK)
def test_a_bin_holds_what_the_workshops_figures_say(key: str) -> None:
    """Invented figures, written down twice."""
    lot = Lot.objects.get(item__key=key)
    told = (lot.bin.code, lot.on_hand, lot.reserved, lot.item.stock_rule.least)
    row = STOCK[key]
    asked = (row["bin"], *(int(row[name]) for name in ("on_hand", "reserved", "least")))
    assert told == asked


def test_there_is_no_bin_beside_those_of_the_figures() -> None:
    assert Lot.objects.count() == len(STOCK)


def test_the_ledger_balances() -> None:
    assert shelf.unbalanced() == []


def test_today_is_the_day_the_first_step_of_the_shift_is_due() -> None:
    released = {one.serial: one.release_on for one in board.all_open()}
    assert released["Q-1043"] == NOW.date()
    assert released["Q-1062"] == NOW.date() + timedelta(days=1)


def test_nothing_on_the_floor_is_overdue_yet() -> None:
    assert all(one.due_on > NOW.date() for one in board.all_open())


def test_every_step_was_done_before_the_shift_began() -> None:
    assert all(step.at < SEVEN for step in Step.objects.all())


def test_every_step_has_its_row_in_the_journal() -> None:
    recorded = Entry.objects.filter(kind="step", outcome="recorded")
    assert Step.objects.count() == recorded.count() > 0


def test_the_plain_case_waits_for_its_post_holes_with_a_clean_tray() -> None:
    assert "N40" in now("Q-1043").next_codes
    assert check_tray("Q-1043").findings == ()


def test_every_step_done_has_all_its_readings_and_nothing_measured_stands_against_it() -> None:
    """Values as the spec expects them or as a careful bench has them; common practice."""
    for it in board.all_open():
        measured = {one.quantity for one in it.readings.values}
        asked = {key for code in it.done_codes for key in quantities(it, code)}
        assert measured == asked, it.serial
        assert "readings" not in it.standing, it.serial
    assert "proud" in {one.quantity for one in now("Q-1037").readings.values}


def quantities(it: board.State, code: str) -> set[str]:
    stop = it.sheet.stop(code)
    assert stop is not None
    return {one.key for one, _ in gauging.asked(it.sheet.spec, stop.facts.gauges)}


def test_an_instrument_in_the_middle_of_an_operation_is_not_measured_for_it_yet() -> None:
    assert {one.quantity for one in now("Q-1043").readings.values} == {"peghead"}


def test_where_machines_are_fitted_each_was_seen_on_its_post() -> None:
    for it in board.all_open():
        assert it.placed == ("N60" in it.done_codes), it.serial


def test_every_body_was_coated_long_enough_ago_for_any_finish() -> None:
    """Lacquer is left for 14 days; common practice."""
    coated = set(Body.objects.values_list("coated_on", flat=True))
    assert coated == {NOW.date() - timedelta(days=30)}


def test_the_room_was_read_at_a_quarter_to_seven_and_before_each_glueing() -> None:
    newest = RoomReading.objects.all()[0]
    assert (str(newest.temp_c), str(newest.rh_pct)) == ("21.0", "47.0")
    assert newest.at == SEVEN - timedelta(minutes=15)
    glued = Step.objects.filter(operation__glue__gt="").count()
    assert RoomReading.objects.count() == glued + 1 > 1


def test_batteries_are_good_for_three_years_and_no_other_lot_has_a_date() -> None:
    dated = Lot.objects.filter(best_before__isnull=False)
    assert list(dated.values_list("item__key", "best_before")) == [("V01", date(2034, 3, 1))]


def test_one_in_the_long_hold_is_ready_at_half_past_ten_today() -> None:
    it = now("Q-1040")
    assert ready_at(it.sheet.route, "I30", it.done) == SEVEN + timedelta(hours=3.5)


def test_the_twelve_string_tray_has_seven_left_and_five_right() -> None:
    outcome = check_tray("Q-1058")
    assert rules(outcome) == ["R04"]
    assert "7 left and 5 right" in words(outcome)


def test_the_custom_tray_is_short_of_its_gold_machines_and_not_closed() -> None:
    tray = Tray.objects.get(serial="Q-1044")
    short = tray.lines.filter(state="short").values_list("item__key", flat=True)
    assert (tray.state, list(short)) == ("picked", ["T02"])


def test_the_custom_order_has_both_its_deviations_with_who_agreed() -> None:
    departures = now("Q-1044").departures
    assert [(one.out_key, one.into and one.into.key) for one in departures] == [
        ("T01", "T02"),
        ("E04", "E07"),
    ]
    assert all(one.approved == "buyer, order C-0417" for one in departures)


def test_a_body_without_a_neck_and_a_neck_without_a_body_wait_in_store() -> None:
    waiting = board.waiting_parts()
    assert "Q-1060" in {one["serial"] for one in waiting["bodies"]}
    assert "K-2099" in {one["serial"] for one in waiting["necks"]}


def test_every_part_has_one_tag_in_use_and_a_paired_neck_none() -> None:
    live = Count("tags", filter=Q(tags__void_at__isnull=True))
    assert set(Body.objects.annotate(live=live).values_list("live", flat=True)) == {1}
    necks = Neck.objects.annotate(live=live, paired=Count("pairs"))
    assert {(paired, live) for paired, live in necks.values_list("paired", "live")} == {
        (0, 1), (1, 0),
    }  # fmt: skip


def test_the_example_tag_is_that_of_the_plain_case() -> None:
    found = board.by_tag(loading.example_tag())
    assert found is not None
    assert found.serial == "Q-1043"


def test_every_badge_signs_in_with_its_number_twice() -> None:
    for row in badges.on_the_floor():
        assert not isinstance(
            badges.sign_in(row["code"], row["code"].removeprefix("P-") * 2, NOW),
            badges.Refusal,
        )


def test_it_is_not_loaded_over_itself() -> None:
    with pytest.raises(loading.RealWork, match="holds work already"):
        loading.load(NOW)
