"""Values measured on an instrument: taken, kept, corrected, and what they stop.

Plausible ranges, doubts and the limits of a press fit are common practice, no source.
"""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection

from shop.catalogue import revising
from shop.craft.finding import Severity
from shop.floor import board, door
from shop.floor.models import Entry, Reading
from tests.floor.gauged import STRINGS, gauge, holes, measures
from tests.floor.morning import NOW, act, asking, check_tray, now, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning", "gauging_at_n40")]

LATER = NOW + timedelta(minutes=7)


@pytest.fixture
def gauging_at_n40(morning: None, db: None) -> None:
    """N40 gauges the post holes, and the tray of Q-1043 was scanned there."""
    measures("N40", "hole")
    assert check_tray("Q-1043").done


def kept(serial: str = "Q-1043") -> list[tuple[str, str, Decimal]]:
    rows = Reading.objects.filter(instrument__body__serial=serial)
    return list(rows.values_list("quantity", "place", "value"))


def in_force(place: str = "6") -> Decimal | None:
    return now("Q-1043").readings.at("hole", place)


def newest() -> Entry:
    return Entry.objects.filter(subject="Q-1043").latest("id")


# --- taken ---


def test_what_is_measured_is_recorded_and_in_force() -> None:
    assert gauge("Q-1043", holes()).result == "recorded"
    assert kept() == [("hole", string, Decimal("8.73")) for string in STRINGS]
    assert [in_force(string) for string in STRINGS] == [Decimal("8.73")] * 6


def test_a_value_is_kept_with_who_measured_it_when_and_its_row_of_the_journal() -> None:
    gauge("Q-1043", {"hole 6": "8.73"}, by="P-10", at=LATER)
    row = Reading.objects.get(instrument__body__serial="Q-1043")
    assert (row.by.code, row.at, row.entry) == ("P-10", LATER, newest())


def test_some_of_the_places_may_be_entered_and_the_others_are_still_asked_for() -> None:
    assert gauge("Q-1043", {"hole 6": "8.73", "hole 5": "8.74"}).done
    outcome = step("Q-1043", "N40")
    assert rules(outcome) == ["readings"]
    assert words(outcome) == "N40 measures post hole: 4 values to go."
    assert board.work(now("Q-1043"), asking("P-11", "N", NOW)).wants_readings


def test_with_every_place_measured_the_step_is_recorded() -> None:
    gauge("Q-1043", holes())
    assert not board.work(now("Q-1043"), asking("P-11", "N", NOW)).wants_readings
    assert step("Q-1043", "N40").result == "recorded"


def test_inches_are_kept_in_millimetres() -> None:
    """An inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    assert gauge("Q-1043", {"hole 6": "0.34375"}, inch=True).done
    assert in_force() == Decimal("8.7313")
    assert (newest().data["entered"], newest().data["inch"]) == ([["hole", "6", "0.34375"]], True)


# --- refused: all of it or nothing ---


def test_a_value_that_cannot_be_keeps_all_of_them_out() -> None:
    outcome = gauge("Q-1043", holes(at_3="87.3"))
    assert (outcome.result, rules(outcome)) == ("refused", ["reading hole 3"])
    assert words(outcome).endswith("cannot be: post hole is 5\u201313\u202fmm.")
    assert kept() == []
    assert in_force() is None


def test_a_doubtful_value_is_asked_again_and_taken_once_it_is_sure() -> None:
    asked = gauge("Q-1043", holes(at_3="9.15"))
    assert [(one.rule, one.severity) for one in asked.findings] == [
        ("reading hole 3", Severity.WARN)
    ]
    assert kept() == []
    assert gauge("Q-1043", holes(at_3="9.15"), sure=("hole 3",)).done
    assert in_force("3") == Decimal("9.15")


def test_being_sure_of_one_place_says_nothing_of_another() -> None:
    outcome = gauge("Q-1043", holes(at_3="9.15"), sure=("hole 2",))
    assert rules(outcome) == ["reading hole 3"]


def test_nothing_entered_is_refused_with_what_to_do() -> None:
    outcome = gauge("Q-1043", {})
    assert (words(outcome), outcome.findings[0].then) == (
        "Nothing was entered.",
        "Measure and enter.",
    )


def test_what_was_refused_is_in_the_journal_as_it_was_typed() -> None:
    gauge("Q-1043", {"hole 6": "8.7.3"})
    row = newest()
    assert (row.kind, row.outcome, row.data["entered"]) == (
        "readings",
        "refused",
        [["hole", "6", "8.7.3"]],
    )


# --- the gates before it ---


def test_the_tray_comes_before_the_gauge() -> None:
    check_tray("Q-1043", by="P-14", station="B")
    assert rules(gauge("Q-1043", holes())) == ["tray scan"]
    assert kept() == []


def test_it_is_measured_at_the_station_of_its_operation() -> None:
    assert "station" in rules(gauge("Q-1043", holes(), by="P-14", station="B"))
    assert kept() == []


def test_an_operation_the_route_has_not_measures_nothing() -> None:
    outcome = gauge("Q-1043", holes(), operation="N99")
    assert words(outcome) == "N99 is not on the route of Q-1043."
    assert kept() == []


# --- recorded though it stops ---


def test_a_hole_gauged_too_wide_is_recorded_and_stops_the_step() -> None:
    """T01 has a bushing of 8.80: in a hole of 8.95 it is loose."""
    outcome = gauge("Q-1043", holes(at_3="8.95"))
    assert (outcome.result, outcome.findings[0].rule) == ("recorded", "R06")
    assert outcome.findings[0].severity is Severity.STOP
    assert in_force("3") == Decimal("8.95")
    assert step("Q-1043", "N40").result == "refused"


def test_a_finding_of_a_reading_stands_and_is_in_the_journal_with_its_reasons() -> None:
    outcome = gauge("Q-1043", holes(at_3="8.95"))
    assert now("Q-1043").standing["readings"] == outcome.findings
    assert newest().outcome == "recorded"
    basis = newest().findings[0]["basis"]
    assert ["Hole gauged at string 3", "8.95 mm"] in basis["sides"]
    assert outcome.findings[0].basis is not None


def test_a_stop_of_a_reading_offers_to_measure_again() -> None:
    gauge("Q-1043", holes(at_3="8.95"))
    work = board.work(now("Q-1043"), asking("P-11", "N", NOW))
    assert [one.rule for one in board.measured_wrong(now("Q-1043"), work)] == ["R06"]
    gauge("Q-1043", {"hole 3": "8.73"}, at=LATER)
    work = board.work(now("Q-1043"), asking("P-11", "N", LATER))
    assert board.measured_wrong(now("Q-1043"), work) == ()


def test_a_hole_measured_again_as_it_should_be_clears_the_stop() -> None:
    gauge("Q-1043", holes(at_3="8.95"))
    assert gauge("Q-1043", {"hole 3": "8.73"}, at=LATER).findings == ()
    assert now("Q-1043").standing.get("readings", ()) == ()
    assert step("Q-1043", "N40", at=LATER).result == "recorded"


def test_a_stop_of_a_reading_stands_until_its_own_place_is_measured_again() -> None:
    gauge("Q-1043", holes(at_3="8.95"))
    outcome = gauge("Q-1043", {"hole 6": "8.74"}, at=LATER)
    assert "R06" in rules(outcome)
    assert step("Q-1043", "N40", at=LATER).result == "refused"


# --- corrected ---


def test_a_corrected_value_stays_beside_the_one_in_force() -> None:
    gauge("Q-1043", {"hole 6": "8.60"}, by="P-10")
    gauge("Q-1043", {"hole 6": "8.73"}, at=LATER)
    found = board.measured(now("Q-1043").id)[("hole", "6")]
    assert [(one.reading.value, one.by, one.at) for one in found] == [
        (Decimal("8.73"), "P-11", LATER),
        (Decimal("8.60"), "P-10", NOW),
    ]
    assert in_force() == Decimal("8.73")


def test_the_instrument_after_an_entry_is_the_one_the_floor_keeps() -> None:
    outcome = gauge("Q-1043", holes(at_3="8.95"))
    after, stored = outcome.after, now("Q-1043")
    assert after is not None
    assert (after.readings, after.standing, after.seq) == (
        stored.readings,
        stored.standing,
        stored.seq,
    )


# --- once ---


def test_the_same_entry_sent_twice_is_kept_once() -> None:
    mine = act(key=uuid.uuid4())
    deed = door.Gauged(now("Q-1043").id, "N40", {("hole", "6"): "8.95"})
    first, again = door.record(mine, deed), door.record(mine, deed)
    assert (first.result, again.result) == ("recorded", "already")
    assert again.findings == first.findings
    assert len(kept()) == 1


def test_the_key_of_one_entry_on_another_value_is_refused() -> None:
    mine = act(key=uuid.uuid4())
    number = now("Q-1043").id
    door.record(mine, door.Gauged(number, "N40", {("hole", "6"): "8.73"}))
    other = door.record(mine, door.Gauged(number, "N40", {("hole", "6"): "8.74"}))
    assert (other.result, rules(other)) == ("refused", ["key"])
    assert in_force() == Decimal("8.73")


# --- statements ---

# Read it with its steps (2), the key (1), the tray's parts (3), journal (2), the readings and
# what stands (2), and the two ends of the transaction. PostgreSQL takes the row's lock too.
ENTERED = 12


@pytest.mark.parametrize("strings", [STRINGS, ("6",)], ids=["six", "one"])
def test_entering_takes_as_few_statements_for_six_places_as_for_one(
    strings: tuple[str, ...], django_assert_num_queries: Any
) -> None:
    spots = {("hole", string): "8.73" for string in strings}
    deed, mine = door.Gauged(now("Q-1043").id, "N40", spots), act()
    locks = connection.features.has_select_for_update
    with django_assert_num_queries(ENTERED + locks):
        assert door.record(mine, deed).done


def test_what_was_measured_is_read_in_one_statement(django_assert_num_queries: Any) -> None:
    gauge("Q-1043", holes())
    number = now("Q-1043").id
    with django_assert_num_queries(1):
        assert len(board.measured(number)) == 6


# --- limits ---


def test_a_limit_that_the_lead_sets_lets_go_what_stood_against_the_old_one() -> None:
    gauge("Q-1043", holes(at_6="8.64"))  # 0.16 tight: it splits above 0.15 by default
    before = now("Q-1043")
    assert [one.rule for one in before.standing["readings"]] == ["R06"]
    assert "R06" in rules(step("Q-1043", "N40"))
    revising.set_limit(
        before.revision_id, "R06.splits", Decimal("0.17"), "P-01", "Sample held", NOW.date()
    )
    outcome = step("Q-1043", "N40")
    assert [(one.rule, one.severity) for one in outcome.findings] == [("R06", Severity.WARN)]
    assert step("Q-1043", "N40", reason="The lead agreed").done


def test_a_limit_set_for_one_spec_changes_nothing_on_another() -> None:
    gauge("Q-1043", holes(at_6="8.64"))
    other = now("Q-1058").revision_id
    revising.set_limit(other, "R06.splits", Decimal("0.17"), "P-01", "Sample held", NOW.date())
    assert "R06" in rules(step("Q-1043", "N40"))


# --- and the tray scanned after it ---


def test_a_stop_of_a_reading_outlasts_the_scan_of_a_code_that_is_no_tray() -> None:
    gauge("Q-1043", holes(at_6="8.60"))
    deed = door.TrayChecked(now("Q-1043").id, "T000000")
    assert rules(door.record(act("P-11", "N"), deed)) == ["tray unknown"]
    assert [one.rule for one in now("Q-1043").standing["readings"]] == ["R06"]


def test_a_warning_about_a_part_that_lies_in_no_tray_outlasts_the_scan_of_the_tray() -> None:
    """Strings go to the bench by batch: a slot of 1.6 mm is too wide for the thickest of R01."""
    measures("N40", "nut_slot")
    gauge("Q-1043", {"nut_slot 6": "1.60"})
    assert [one.rule for one in now("Q-1043").standing["readings"]] == ["R34"]
    assert check_tray("Q-1043").done
    assert [one.rule for one in now("Q-1043").standing["readings"]] == ["R34"]
