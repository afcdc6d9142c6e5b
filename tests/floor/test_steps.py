"""Recording a step: what must be so before the record is taken."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from shop.catalogue import book
from shop.floor import board, door
from shop.floor.models import Instrument, Pair, Tag
from shop.stock import ledger
from shop.stock.models import Tray
from tests.floor.morning import (
    NOW,
    act,
    check_tray,
    measured,
    now,
    pick,
    ready_for,
    rules,
    step,
    words,
)
from tests.floor.shipping import boxed, hand_over

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def neck_tag(serial: str) -> str:
    return Tag.objects.get(neck__serial=serial, void_at__isnull=True).code


# --- station ---


def test_a_step_is_recorded_at_the_station_it_belongs_to_and_no_other() -> None:
    outcome = step("Q-1043", "B30", "P-14", "N")
    assert rules(outcome) == ["station"]
    assert words(outcome) == "B30 belongs to Body bench; this phone is at N."


def test_a_phone_without_a_station_records_no_step() -> None:
    outcome = step("Q-1043", "B30", "P-14", "")
    assert "this phone is at no station" in words(outcome)


def test_a_step_that_needs_no_scan_is_recorded_at_its_station() -> None:
    ready_for("Q-1043", "B30", "P-14", "B")
    assert step("Q-1043", "B30", "P-14", "B").result == "recorded"


# --- tray ---


def test_a_step_that_fits_hardware_asks_for_the_tray_first() -> None:
    outcome = step("Q-1043", "N40")
    assert rules(outcome) == ["tray scan", "readings"]
    assert outcome.findings[0].then == "Scan the tray's label."


def test_a_step_that_fits_hardware_is_recorded_after_its_tray_was_scanned() -> None:
    assert check_tray("Q-1043").result == "recorded"
    assert measured("Q-1043", "N40").result == "recorded"
    assert step("Q-1043", "N40").result == "recorded"


def test_a_tray_scanned_at_another_bench_does_not_count_here() -> None:
    ready_for("Q-1043", "N40")
    check_tray("Q-1043", "P-14", "B")
    assert rules(step("Q-1043", "N40")) == ["tray scan"]


def test_a_tray_scanned_once_serves_all_steps_at_the_bench() -> None:
    ready_for("Q-1043", "N40")
    assert step("Q-1043", "N40").done
    assert step("Q-1043", "N50", at=NOW + timedelta(minutes=5)).done


def test_a_tray_changed_since_its_scan_is_scanned_again() -> None:
    ready_for("Q-1043", "N40")
    tray = Tray.objects.get(serial="Q-1043")
    Tray.objects.filter(pk=tray.pk).update(version=tray.version + 1)
    assert rules(step("Q-1043", "N40")) == ["tray scan"]


def test_a_tray_that_was_stopped_stops_the_step_and_offers_the_clerk() -> None:
    ready_for("Q-1043", "N40")
    check_tray("Q-1043", of="Q-1037")
    outcome = step("Q-1043", "N40")
    assert rules(outcome) == ["tray stop"]
    assert outcome.findings[0].call == "clerk"


def test_the_right_tray_after_a_wrong_one_clears_the_step() -> None:
    ready_for("Q-1043", "N40")
    check_tray("Q-1043", of="Q-1037")
    check_tray("Q-1043")
    assert step("Q-1043", "N40").done


@pytest.fixture
def partial() -> None:
    """Q-1044 at N40 with its tray closed short of the gold strap button, which comes in time."""
    tray = pick("Q-1044", short=("E07",))
    ledger.expect(book.item_ids(["E07"])["E07"], 1, NOW.date())
    closed = door.record(act("P-41", "K", reason="Rest comes Tuesday"), door.TrayClosed(tray))
    assert closed.done
    for code in ("N10", "N20", "N30"):
        ready_for("Q-1044", code)
        assert step("Q-1044", code).done
    ready_for("Q-1044", "N40")


@pytest.mark.usefixtures("partial")
def test_a_tray_with_a_warning_asks_for_a_reason() -> None:
    outcome = step("Q-1044", "N40")
    assert (outcome.result, rules(outcome)) == ("refused", ["tray warning"])


@pytest.mark.usefixtures("partial")
def test_a_tray_with_a_warning_is_gone_on_with_for_a_reason_that_is_kept() -> None:
    outcome = step("Q-1044", "N40", reason="Only clearing the lacquer")
    assert outcome.result == "recorded"
    newest = board.journal(now("Q-1044").id)[0]
    assert newest["reason"] == "Only clearing the lacquer"
    assert [one["rule"] for one in newest["findings"]] == ["tray warning"]


def test_a_reason_does_not_talk_a_stop_away() -> None:
    assert step("Q-1043", "N40", reason="In a hurry").result == "refused"


# --- neck ---


def test_the_step_that_makes_the_pair_asks_for_the_neck() -> None:
    outcome = step("Q-1061", "J10", "P-16", "J")
    assert rules(outcome) == ["neck scan"]
    assert "pair of Q-1061 and K-2095" in words(outcome)


def test_the_neck_that_waits_for_the_body_makes_the_pair() -> None:
    assert step("Q-1061", "J10", "P-16", "J", neck=neck_tag("K-2095")).result == "recorded"
    pair = Pair.objects.get(instrument__body__serial="Q-1061")
    assert (pair.neck.serial, pair.made_at, pair.ended_at) == ("K-2095", NOW, None)


def test_another_bodys_neck_is_stopped_and_all_three_are_named() -> None:
    outcome = step("Q-1061", "J10", "P-16", "J", neck=neck_tag("K-2081"))
    assert rules(outcome) == ["R39"]
    assert words(outcome) == ("This neck is K-2081 and belongs to Q-1043. Q-1061 waits for K-2095.")
    assert not Pair.objects.filter(instrument__body__serial="Q-1061").exists()


def test_a_neck_kept_for_no_body_is_stopped_and_said_to_be_so() -> None:
    outcome = step("Q-1061", "J10", "P-16", "J", neck=neck_tag("K-2099"))
    assert "is kept for no body yet" in words(outcome)


def test_a_body_tag_in_the_place_of_the_necks_is_no_neck() -> None:
    body = board.tags_of(["Q-1061"])["Q-1061"]["body"]
    outcome = step("Q-1061", "J10", "P-16", "J", neck=body)
    assert words(outcome) == f"{body} is no neck's tag."


def test_a_void_neck_tag_does_not_make_the_pair() -> None:
    old = neck_tag("K-2095")
    assert door.record(act("P-01", "", reason="Spoilt"), door.TagReplaced(old)).done
    assert rules(step("Q-1061", "J10", "P-16", "J", neck=old)) == ["neck scan"]
    assert step("Q-1061", "J10", "P-16", "J", neck=neck_tag("K-2095")).done


# --- order, waits, people ---


def test_a_step_before_its_time_names_what_is_missing_and_what_comes_next() -> None:
    outcome = step("Q-1043", "J10", "P-16", "J", neck=neck_tag("K-2081"))
    assert rules(outcome) == ["order"]
    assert "B30 Open the tail hole (Body bench)" in words(outcome)
    assert "Next up: N40" in outcome.findings[0].then


def test_a_step_that_is_done_is_not_recorded_again_and_says_who_did_it() -> None:
    outcome = step("Q-1043", "B20", "P-14", "B")
    assert rules(outcome) == ["done"]
    assert "by P-14" in words(outcome)


def test_a_step_that_is_not_on_the_route_is_refused() -> None:
    assert rules(step("Q-1043", "U20", "P-24", "E")) == ["route"]


def test_a_hold_that_still_runs_says_when_it_is_ready() -> None:
    outcome = step("Q-1040", "I30", "P-32", "R")
    assert rules(outcome)[0] == "wait"
    assert words(outcome).startswith("Ready Mon 10:30. ")
    assert rules(measured("Q-1040", "I30", "P-32", "R")) == ["wait"]


def test_a_hold_is_said_on_the_wall_clock_of_the_shop(settings: Any) -> None:
    """Etc/GMT-5 of the tz database is five hours ahead of UTC (its signs are POSIX's)."""
    settings.TIME_ZONE = "Etc/GMT-5"
    assert words(step("Q-1040", "I30", "P-32", "R")).startswith("Ready Mon 15:30. ")


def test_a_hold_that_is_over_is_recorded_to_the_minute() -> None:
    ready = NOW.replace(hour=10, minute=30)
    early = step("Q-1040", "I30", "P-32", "R", at=ready - timedelta(seconds=1))
    assert early.result == "refused"
    ready_for("Q-1040", "I30", "P-32", "R", ready)
    assert step("Q-1040", "I30", "P-32", "R", at=ready).result == "recorded"


def test_whoever_inspected_first_does_not_inspect_again() -> None:
    ready_for("Q-1040", "I30", "P-32", "R", NOW + timedelta(hours=2))
    outcome = step("Q-1040", "I30", "P-31", "R", at=NOW + timedelta(hours=2))
    assert rules(outcome) == ["person", "training"]
    assert "needs other eyes" in words(outcome)


# --- the end ---

AFTER = [("I30", "P-32", "R"), ("I50", "P-32", "R")]


def to_the_end(serial: str) -> None:
    for place, (code, by, station) in enumerate(AFTER):
        at = NOW + timedelta(hours=2 + place)
        assert Instrument.objects.get(body__serial=serial).finished_at is None
        ready_for(serial, code, by, station, at)
        assert step(serial, code, by, station, at).done
    boxed(serial, NOW + timedelta(hours=4))
    assert Instrument.objects.get(body__serial=serial).finished_at is None
    assert hand_over(serial, at=NOW + timedelta(hours=5)).done


def test_the_last_step_of_the_route_finishes_the_instrument() -> None:
    to_the_end("Q-1040")
    assert now("Q-1040").finished_at == NOW + timedelta(hours=5)
    assert "Q-1040" not in [one.serial for one in board.all_open()]


def test_an_instrument_is_finished_by_its_steps_and_not_by_their_number() -> None:
    """A stop put on the route late is still to do, though one done before was taken off."""
    route = Instrument.objects.get(body__serial="Q-1040").revision.route
    route.stops.filter(operation__code="G40").delete()
    to_the_end("Q-1040")
    assert now("Q-1040").finished_at == NOW + timedelta(hours=5)
