"""Boxed, and handed to a carrier: three scans are one instrument, and a list of what left.

Badges, serials, codes and the carrier are invented; the rules are common practice, no source,
unless a test names one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft import leaving
from shop.floor import board, door, following
from shop.floor.models import Carton, Entry, Manifest, Print
from tests.floor.around import NIGRA, built_of, goes_to
from tests.floor.morning import act, now, person, rules, step, words
from tests.floor.shipping import (
    CARRIER,
    MINUTE,
    box,
    boxed,
    hand_over,
    measured,
    paper,
    released,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL, OTHER = "Q-1038", "Q-1040"


@pytest.fixture(scope="module")
def at(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """A moment at which two are released, and their values noted."""
    with django_db_blocker.unblock():
        moment = max(released(SERIAL), released(OTHER))
        for serial in (SERIAL, OTHER):
            measured(serial, moment)
        yield moment + MINUTE


def strike(operation: str, at: datetime) -> None:
    """The lead found that it was another guitar."""
    it = now(SERIAL)
    seq = next(one.seq for one in it.done if one.operation == operation)
    lead = act("P-01", "Z", at, reason="It was the other guitar")
    outcome = door.record(lead, door.StepStruck(it.id, seq))
    assert outcome.done, words(outcome)


# --- the route says by what it leaves ---


def test_the_route_says_what_releases_boxes_and_hands_over() -> None:
    route = now(SERIAL).sheet.route
    assert leaving.releasing(route) == ("I50",)
    assert (leaving.boxing(route), leaving.handing(route)) == ("Z10", "Z20")


# --- three scans ---


def test_card_label_and_record_of_one_box_it_and_record_its_operation(at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    outcome = box(SERIAL, card, label, at)
    assert outcome.result == "recorded", words(outcome)
    assert "Z10" in now(SERIAL).done_codes
    carton = board.carton_of(now(SERIAL))
    assert carton is not None
    assert (carton.label, carton.by, carton.manifest) == (label, "P-51", "")


def test_the_tag_on_the_guitar_in_the_case_is_as_good_as_the_card(at: datetime) -> None:
    tag = board.tags_of([SERIAL])[SERIAL]["body"]
    assert box(SERIAL, tag, paper(SERIAL, "box_label", at), at).result == "recorded"


def test_nothing_is_boxed_before_its_release() -> None:
    it = "Q-1043"
    moment = datetime.fromisoformat("2031-03-03T10:00+00:00")
    card, label = paper(it, "hold_card", moment), paper(it, "box_label", moment)
    outcome = box(it, card, label, moment)
    assert (outcome.result, rules(outcome)) == ("refused", ["release"])
    assert words(outcome) == "Q-1043 is not released yet: I50 comes first."
    assert step(it, "Z10", "P-51", "Z", moment).result == "refused"
    assert board.carton_of(now(it)) is None


def test_a_card_of_another_guitar_is_a_stop_that_names_both(at: datetime) -> None:
    card, label = paper(OTHER, "hold_card", at), paper(SERIAL, "box_label", at)
    outcome = box(SERIAL, card, label, at)
    assert (outcome.result, rules(outcome)) == ("refused", ["box"])
    assert words(outcome) == (f"The card on this case is of {OTHER}. The record is of {SERIAL}.")
    assert outcome.findings[0].call == "lead"
    assert "Z10" not in now(SERIAL).done_codes


def test_a_guitar_in_the_case_that_is_another_is_named(at: datetime) -> None:
    tag = board.tags_of([OTHER])[OTHER]["body"]
    outcome = box(SERIAL, tag, paper(SERIAL, "box_label", at), at)
    assert words(outcome) == (f"The guitar in this case is {OTHER}. The record is of {SERIAL}.")


def test_a_label_of_another_guitar_is_a_stop_that_names_both(at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(OTHER, "box_label", at)
    outcome = box(SERIAL, card, label, at)
    assert rules(outcome) == ["box"]
    assert f"The label on this carton is of {OTHER}." in words(outcome)


def test_a_refused_try_to_box_is_kept_in_the_journal(at: datetime) -> None:
    box(SERIAL, paper(OTHER, "hold_card", at), paper(SERIAL, "box_label", at), at)
    row = Entry.objects.latest("id")
    assert (row.kind, row.outcome, row.subject) == ("boxed", "refused", SERIAL)


@pytest.mark.parametrize("which", ["traveller", "body tag", "card", "nothing", "unknown"])
def test_what_is_no_label_of_a_carton_is_told_as_what_it_is(at: datetime, which: str) -> None:
    """The tag in the case cannot be scanned in the place of the label."""
    card = paper(SERIAL, "hold_card", at)
    labels: dict[str, Callable[[], str]] = {
        "traveller": lambda: paper(SERIAL, "traveller", at),
        "body tag": lambda: board.tags_of([SERIAL])[SERIAL]["body"],
        "card": lambda: card,
        "nothing": lambda: "",
        "unknown": lambda: "P000000",
    }
    outcome = box(SERIAL, card, labels[which](), at)
    assert outcome.result == "refused"
    assert rules(outcome) == ["tag unknown" if which == "unknown" else "box label"]


@pytest.mark.parametrize("which", ["traveller", "label", "nothing", "tray"])
def test_what_is_on_no_case_is_told_as_what_it_is(at: datetime, which: str) -> None:
    label = paper(SERIAL, "box_label", at)
    cases: dict[str, Callable[[], str]] = {
        "traveller": lambda: paper(SERIAL, "traveller", at),
        "label": lambda: label,
        "nothing": lambda: "",
        "tray": lambda: now(SERIAL).tray_code,
    }
    outcome = box(SERIAL, cases[which](), label, at)
    assert (outcome.result, rules(outcome)) == ("refused", ["box case"])


def test_an_older_copy_of_the_label_is_not_taken(at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    paper(SERIAL, "box_label", at)
    outcome = box(SERIAL, card, label, at)
    assert rules(outcome) == ["box label"]
    assert words(outcome) == "This label is copy 1; copy 2 was printed since."


def sold_as_seconds(at: datetime) -> None:
    noted = door.record(act("P-31", "I", at), door.DefectNoted(now(SERIAL).id, "finish", "chip", 2))
    assert noted.seq is not None
    lead = act("P-01", "", at, reason="A repair would show", beside=person("P-31"))
    outcome = door.record(lead, door.DefectDecided(now(SERIAL).id, noted.seq, "seconds"))
    assert outcome.done, words(outcome)


NEW_LABEL = "Print a new label, stick it on the carton and tear this one up. Then scan the new one."


def test_a_label_of_first_quality_does_not_go_with_seconds(at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    sold_as_seconds(at)
    outcome = box(SERIAL, card, label, at)
    assert (outcome.result, rules(outcome)) == ("refused", ["box label"])
    assert "Since then: Quality seconds, on paper first quality." in words(outcome)
    assert outcome.findings[0].then == NEW_LABEL
    scanned = board.on_paper(label, now(SERIAL), at)
    assert scanned is not None
    assert scanned.again, "whoever scans it alone is told the same"
    new = paper(SERIAL, "box_label", at)
    assert box(SERIAL, card, new, at).result == "recorded"


def test_a_label_that_still_says_hold_does_not_go_along_once_it_is_free(at: datetime) -> None:
    goes_to("Norway", SERIAL)
    built_of(NIGRA, spec=now(SERIAL).sheet.spec.key)
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    wood = board.papers(now(SERIAL))[0].wood.name
    noted = door.PermitNoted(now(SERIAL).id, NIGRA, "N-4471/31")
    assert door.record(act("P-01", "", at), noted).done
    outcome = box(SERIAL, card, label, at)
    assert (outcome.result, rules(outcome)) == ("refused", ["box label"])
    assert f"Hold no longer: paper for {wood} is not noted." in words(outcome)


@pytest.mark.parametrize("before", [True, False])
def test_a_label_from_before_its_quality_was_kept_is_of_what_was_decided_by_then(
    at: datetime, before: bool
) -> None:
    card = paper(SERIAL, "hold_card", at)
    if before:
        sold_as_seconds(at)
    label = paper(SERIAL, "box_label", at + MINUTE)
    kept = Print.objects.get(code=label)
    kept.stands = [one for one in kept.stands if one[0] != "quality"]
    kept.save(update_fields=["stands"])
    if not before:
        sold_as_seconds(at + 2 * MINUTE)
    outcome = box(SERIAL, card, label, at + 3 * MINUTE)
    assert outcome.result == ("recorded" if before else "refused"), words(outcome)


def test_a_carton_whose_label_says_what_is_no_more_is_taken_on_no_list(at: datetime) -> None:
    label = boxed(SERIAL, at)
    assert board.carton_scanned(label) == (SERIAL, None)
    sold_as_seconds(at + MINUTE)
    serial, wrong = board.carton_scanned(label)
    assert (serial, wrong is not None and wrong.rule) == ("", "box label")
    refused = hand_over(SERIAL, at=at + 2 * MINUTE)
    assert (refused.result, rules(refused)) == ("refused", ["box label"])
    assert words(refused).startswith(f"The label of {SERIAL} was printed 2031-")
    assert words(refused).endswith("Since then: Quality seconds, on paper first quality.")
    assert board.carton_scanned(paper(SERIAL, "box_label", at + MINUTE)) == (SERIAL, None)
    assert hand_over(SERIAL, at=at + 3 * MINUTE).result == "recorded"


def test_of_several_cartons_the_one_whose_label_says_what_is_no_more_is_named(
    at: datetime,
) -> None:
    for serial in (SERIAL, OTHER):
        boxed(serial, at)
    sold_as_seconds(at + MINUTE)
    refused = hand_over(SERIAL, OTHER, at=at + 2 * MINUTE)
    assert rules(refused) == ["box label"]
    assert SERIAL in words(refused)
    assert OTHER not in words(refused)
    assert not Manifest.objects.exists()


def test_a_tag_that_is_void_is_not_taken(at: datetime) -> None:
    tag = board.tags_of([SERIAL])[SERIAL]["body"]
    lost = door.TagReplaced(tag, "lost", SERIAL)
    assert door.record(act("P-01", "", at, reason="Lost"), lost).done
    outcome = box(SERIAL, tag, paper(SERIAL, "box_label", at), at)
    assert rules(outcome) == ["tag void"]


def test_boxed_at_another_station_is_refused(at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    deed = door.Boxed(now(SERIAL).id, card, label)
    assert "station" in rules(door.record(act("P-51", "N", at), deed))


def test_the_same_scans_under_another_key_write_nothing(at: datetime) -> None:
    label = boxed(SERIAL, at)
    case = Carton.objects.latest("id").case
    rows = Entry.objects.count()
    assert box(SERIAL, case, label, at + MINUTE).result == "already"
    assert Entry.objects.count() == rows


def test_a_carton_that_gets_a_new_label_is_scanned_again(at: datetime) -> None:
    boxed(SERIAL, at)
    label = paper(SERIAL, "box_label", at + MINUTE)
    assert box(SERIAL, paper(SERIAL, "hold_card", at), label, at + MINUTE).result == "recorded"
    carton = board.carton_of(now(SERIAL))
    assert carton is not None
    assert carton.label == label
    assert [one.serial for one in board.at_dock()] == [SERIAL]


def test_one_that_is_dropped_on_the_dock_has_to_be_boxed_again(at: datetime) -> None:
    boxed(SERIAL, at)
    dropped = door.Dropped(now(SERIAL).id, "Off the trolley")
    assert door.record(act("P-51", "Z", at + MINUTE), dropped).done
    assert board.carton_of(now(SERIAL)) is None
    assert board.at_dock() == ()
    outcome = hand_over(SERIAL, at=at + MINUTE)
    assert outcome.result == "refused"


# --- handed over ---


def test_a_carrier_takes_what_is_boxed_and_each_is_done_and_finished(at: datetime) -> None:
    for serial in (SERIAL, OTHER):
        boxed(serial, at)
    assert {one.serial for one in board.at_dock()} == {SERIAL, OTHER}
    outcome = hand_over(SERIAL, OTHER, at=at + MINUTE)
    assert outcome.result == "recorded", words(outcome)
    assert board.at_dock() == ()
    for serial in (SERIAL, OTHER):
        it = now(serial)
        assert "Z20" in it.done_codes
        assert it.finished_at == at + MINUTE
        carton = board.carton_of(it)
        assert carton is not None
        assert (carton.manifest, carton.carrier) == ("M-0001", CARRIER)


def test_a_list_tells_carrier_count_and_cartons(at: datetime) -> None:
    label = boxed(SERIAL, at)
    hand_over(SERIAL, at=at + MINUTE)
    sheet = board.manifest("M-0001")
    assert sheet is not None
    assert (sheet.carrier, sheet.counted, sheet.count, sheet.by) == (CARRIER, 1, 1, "P-51")
    assert [(one.serial, one.label) for one in sheet.cartons] == [(SERIAL, label)]
    assert board.manifest("M-0002") is None
    [row] = board.manifests()
    assert (row.number, row.count) == ("M-0001", 1)


def test_lists_are_numbered_one_after_another(at: datetime) -> None:
    for number, serial in enumerate((SERIAL, OTHER)):
        boxed(serial, at)
        assert hand_over(serial, at=at + (number + 1) * MINUTE).done
    assert [one.number for one in board.manifests()] == ["M-0002", "M-0001"]


def test_each_journal_says_on_which_list_it_left(at: datetime) -> None:
    boxed(SERIAL, at)
    hand_over(SERIAL, at=at + MINUTE)
    rows = Entry.objects.filter(instrument_id=now(SERIAL).id).order_by("-seq")
    assert [one.kind for one in rows[:2]] == ["step", "carried"]
    whole = Entry.objects.get(kind="handed over")
    assert (whole.subject, whole.instrument_id) == ("dock", None)
    assert whole.data["serials"] == [SERIAL]


@pytest.mark.parametrize("counted", [0, 2])
def test_a_count_that_differs_from_the_scans_hands_over_nothing(at: datetime, counted: int) -> None:
    boxed(SERIAL, at)
    outcome = hand_over(SERIAL, at=at + MINUTE, counted=counted)
    assert (outcome.result, rules(outcome)) == ("refused", ["count"])
    assert words(outcome) == f"Counted {counted}, scanned 1."
    assert Manifest.objects.count() == 0
    assert "Z20" not in now(SERIAL).done_codes


def test_one_that_is_not_boxed_keeps_the_others_here(at: datetime) -> None:
    boxed(SERIAL, at)
    outcome = hand_over(SERIAL, OTHER, at=at + MINUTE)
    assert (outcome.result, rules(outcome)) == ("refused", ["unboxed"])
    assert words(outcome).startswith(f"{OTHER} is not boxed")
    assert [one.serial for one in board.at_dock()] == [SERIAL]


def test_one_that_went_already_is_told_with_its_list(at: datetime) -> None:
    boxed(SERIAL, at)
    hand_over(SERIAL, at=at + MINUTE)
    outcome = hand_over(SERIAL, at=at + 2 * MINUTE)
    assert rules(outcome) == ["carried"]
    assert f"{SERIAL} was handed to {CARRIER}" in words(outcome)
    assert "M-0001" in words(outcome)


@pytest.mark.parametrize(("carrier", "rule"), [("", "carrier"), ("x" * 41, "carrier")])
def test_a_list_names_its_carrier(at: datetime, carrier: str, rule: str) -> None:
    boxed(SERIAL, at)
    assert rules(hand_over(SERIAL, at=at + MINUTE, carrier=carrier)) == [rule]


def test_nothing_scanned_is_no_list(at: datetime) -> None:
    assert "dock" in rules(hand_over(at=at))


@pytest.mark.parametrize("later", [False, True])
def test_nothing_is_boxed_without_its_scans(at: datetime, later: bool) -> None:
    """Neither as it is done nor afterwards."""
    deed = door.StepDone(now(SERIAL).id, "Z10", done_at=at if later else None)
    outcome = door.record(act("P-51", "Z", at + 60 * MINUTE, reason="I forgot to scan"), deed)
    assert (outcome.result, outcome.findings[0].rule) == ("refused", "unboxed")
    assert "Z10" not in now(SERIAL).done_codes
    assert rules(hand_over(SERIAL, at=at + MINUTE)) == ["unboxed"]


def test_a_carton_is_not_handed_over_without_its_list(at: datetime) -> None:
    boxed(SERIAL, at)
    outcome = step(SERIAL, "Z20", "P-51", "Z", at + MINUTE)
    assert (outcome.result, rules(outcome)) == ("refused", ["dock"])
    assert words(outcome) == f"The carton of {SERIAL} is on no list of a carrier."
    assert now(SERIAL).finished_at is None


def test_what_a_carrier_took_is_recorded_again_where_that_was_struck(at: datetime) -> None:
    """It is on its list for good, so nobody scans it again."""
    boxed(SERIAL, at)
    assert hand_over(SERIAL, at=at + MINUTE).done
    strike("Z20", at + 2 * MINUTE)
    assert now(SERIAL).finished_at is None
    assert step(SERIAL, "Z20", "P-51", "Z", at + 3 * MINUTE).result == "recorded"


def test_an_older_carton_boxes_nothing_again(at: datetime) -> None:
    boxed(SERIAL, at)
    strike("Z10", at + MINUTE)
    again = step(SERIAL, "Z10", "P-51", "Z", at + 2 * MINUTE)
    assert (again.result, rules(again)) == ("refused", ["unboxed"])


def test_what_is_carried_by_itself_names_a_list_that_there_is(at: datetime) -> None:
    boxed(SERIAL, at)
    deed = door.Carried(now(SERIAL).id, "M-0009", CARRIER)
    assert rules(door.record(act("P-51", "Z", at), deed)) == ["dock"]


# --- made again, and asked of often ---


def test_the_floor_made_again_has_every_carton_and_list(at: datetime) -> None:
    boxed(SERIAL, at)
    boxed(OTHER, at)
    hand_over(SERIAL, at=at + MINUTE)
    hand_over(OTHER, at=at + MINUTE, counted=7)  # refused
    assert following.differences()[1] == []


def test_the_dock_is_read_in_the_same_statements_for_one_and_for_two(at: datetime) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            board.at_dock()
        return len(seen)

    boxed(SERIAL, at)
    board.at_dock()  # sheets are kept from here on
    one = asked()
    boxed(OTHER, at)
    board.at_dock()
    assert asked() == one


def test_what_is_handed_over_is_finished(at: datetime) -> None:
    boxed(SERIAL, at)
    assert hand_over(SERIAL, at=at + MINUTE).done
    assert now(SERIAL).finished_at == at + MINUTE
