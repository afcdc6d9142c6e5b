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
from shop.stock.models import Lot, Order, Tray
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


@pytest.mark.parametrize("key", STOCK)
def test_an_item_is_counted_and_ordered_as_the_workshops_figures_say(key: str) -> None:
    kept = shelf.kept(key)
    assert kept is not None
    assert (kept.cls, kept.pack) == (STOCK[key]["class"], int(STOCK[key]["pack"]))


def test_every_set_has_a_screw_for_each_machine_and_one_to_spare() -> None:
    machines = {row["key"]: int(row["L"]) + int(row["R"]) for row in figures.rows(figures.TUNERS)}
    for key, count in machines.items():
        kept = shelf.kept(key)
        assert kept is not None
        told = (kept.small_parts, str(kept.unit_g), str(kept.unit_sd_g), str(kept.bag_g))
        assert told == (count + 1, "0.350", "0.006", "1.20"), key
    nut = shelf.kept("N01")
    assert nut is not None
    assert (nut.small_parts, nut.unit_g) == (0, None)


def test_gold_is_out_of_one_bath_of_the_week_it_came_in() -> None:
    """Tuesday 2031-02-11 is in week 7 (ISO 8601)."""
    baths = Lot.objects.exclude(plating="").values_list("item__key", "plating")
    assert set(baths) == {("T02", "31-07A"), ("T12", "31-07A"), ("E07", "31-07A")}


def test_a_bin_stands_on_the_aisle_of_its_letter() -> None:
    places = Lot.objects.values_list("item__key", "bin__aisle", "bin__along_m")
    told = {key: f"{aisle}, {along}" for key, aisle, along in places}
    assert (told["T01"], told["T09"], told["C03"]) == ("1, 1.0", "2, 1.0", "6, 3.0")


def test_what_is_on_order_is_what_the_workshops_figures_say() -> None:
    told = [(one.key, one.quantity, one.due_on, one.order) for one in shelf.deliveries()]
    asked = [
        (row["item"], int(row["quantity"]), due(row), row["order"])
        for row in figures.rows(figures.DELIVERIES)
    ]
    assert sorted(told) == sorted(asked)
    assert ("T01", 12, date(2031, 3, 4), "B-2291") in told


def test_orders_not_released_yet_are_those_of_the_workshops_figures() -> None:
    rows = Order.objects.values_list(
        "ref", "spec__key", "quantity", "due_on", "as_agreed", "released"
    )
    asked = [
        (row["ref"], row["spec"], int(row["quantity"]), due(row), row["agreed"] == "yes", 0)
        for row in figures.rows(figures.ORDERS)
    ]
    assert list(rows) == asked


def due(row: dict[str, str]) -> date:
    return NOW.date() + timedelta(days=int(row["due"]))


def test_every_lot_was_counted_as_it_came_and_only_dear_ones_are_due_again() -> None:
    """Class A is counted every 14 days; common practice, no source. All came 20 days ago."""
    dear = {key for key, row in STOCK.items() if row["class"] == "A"}
    assert {one.key for one in shelf.to_count(NOW.date())} == dear
    assert shelf.count_accuracy(SEVEN).lines == 0


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
