"""An operation waits for its moment: room, finish, papers and the element under the saddle.

The limits are common practice, no source; tests/craft/test_fit_moment.py holds them.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.finding import Finding
from shop.craft.route import Done
from shop.craft.words import THIN
from shop.floor import board, conditions, door
from shop.floor.models import RoomReading
from tests.floor.around import (
    NEXT,
    NIGRA,
    SERIAL,
    asks,
    bare,
    built_of,
    coated,
    do,
    goes_to,
    read_room,
)
from tests.floor.morning import NOW, act, asking, now, rules, undone, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

Counted = Callable[[int], Any]


@pytest.fixture(autouse=True)
def _bare(morning: None, db: None) -> None:
    bare()


def page() -> tuple[Finding, ...]:
    """What the page of Q-1050 says at the bench that does its next operation."""
    return board.work(now(SERIAL), asking("P-16", "J", NOW)).held


def gate(code: str = NEXT, *, fresh: bool = True) -> tuple[Finding, ...]:
    it = now(SERIAL)
    sheet = it.sheet.stop(code)
    assert sheet is not None
    return conditions.gate(it, sheet, NOW, fresh=fresh)


# --- the room ---


def test_an_operation_without_glue_is_recorded_in_any_room() -> None:
    read_room("6", "80")
    assert do().result == "recorded"


def test_glue_in_a_room_that_was_read_and_is_right_is_recorded() -> None:
    asks(glue="white")
    read_room()
    assert do().result == "recorded"


def test_glue_in_a_cold_room_is_refused() -> None:
    asks(glue="white")
    read_room("11")
    outcome = do(reason="It will do")
    assert (outcome.result, rules(outcome)) == ("refused", ["R37"])
    assert "Too cold: glue will chalk." in words(outcome)


def test_glue_waits_until_the_room_was_read_again() -> None:
    asks(glue="white")
    read_room("11")
    assert not do().done
    read_room("14", at=NOW - timedelta(minutes=5))
    assert do().done


def test_glue_in_a_room_nobody_read_asks_for_a_reason_and_keeps_it() -> None:
    asks(glue="yellow")
    assert rules(do()) == ["R37"]
    assert do(reason="The thermometer is at the other bench").result == "recorded"
    newest = board.journal(now(SERIAL).id)[0]
    assert newest["reason"] == "The thermometer is at the other bench"
    assert [one["rule"] for one in newest["findings"]] == ["R37"]


def test_yesterdays_reading_is_told_with_its_age() -> None:
    asks(glue="white")
    read_room(at=NOW - timedelta(hours=15))
    assert words(do()).startswith(f"Nobody has read the room for 15{THIN}h:")


def test_the_page_says_beforehand_what_the_record_would_refuse() -> None:
    asks(glue="white")
    read_room("11")
    assert [one.words for one in page()] == [one.words for one in do().findings] != []


def test_a_reason_stands_in_for_no_stop_of_the_room() -> None:
    asks(glue="white")
    read_room(rh_pct="75")
    assert do(reason="In a hurry").result == "refused"


# --- what the room costs ---


def test_what_no_condition_stands_round_costs_no_statement(
    django_assert_num_queries: Counted,
) -> None:
    it = now(SERIAL)
    sheet = it.sheet.stop(NEXT)
    assert sheet is not None
    with django_assert_num_queries(0):
        assert conditions.gate(it, sheet, NOW, fresh=True) == ()


def test_a_record_with_glue_takes_one_statement_more() -> None:
    def statements() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert do().done
        return len(captured)

    read_room()
    assert page() == ()  # its sheet is read once and kept
    with undone():
        without = statements()
    asks(glue="white")
    assert page() == ()
    assert statements() == without + 1


def test_a_page_remembers_the_room_from_the_page_before(
    django_assert_num_queries: Counted,
) -> None:
    asks(glue="white")
    read_room()
    it, who = now(SERIAL), asking("P-16", "J", NOW)
    assert board.work(it, who).held == ()
    with django_assert_num_queries(0):
        assert board.work(it, who).held == ()


def test_a_page_remembers_as_well_that_nobody_read_the_room(
    django_assert_num_queries: Counted,
) -> None:
    asks(glue="white")
    it, who = now(SERIAL), asking("P-16", "J", NOW)
    assert len(board.work(it, who).held) == 1
    with django_assert_num_queries(0):
        assert len(board.work(it, who).held) == 1


def test_a_record_never_goes_by_what_a_page_remembers() -> None:
    asks(glue="white")
    read_room()
    assert page() == ()
    entry = door.record(act("P-16", "J"), door.RoomRead(Decimal(11), Decimal(48)))
    assert entry.done
    # What forgets the old reading runs at a commit, and this test makes none.
    assert page() == ()
    assert rules(do()) == ["R37"]


def test_a_new_reading_is_on_the_next_page(
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    asks(glue="white")
    read_room()
    assert page() == ()
    with django_capture_on_commit_callbacks(execute=True):
        read_room("11", at=NOW)
    assert [one.rule for one in page()] == ["R37"]


def test_a_reading_that_was_refused_leaves_the_page_as_it_was(
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    with django_capture_on_commit_callbacks() as callbacks:
        assert not read_room("90").done
    assert callbacks == []
    assert not RoomReading.objects.exists()


# --- the finish ---


def test_a_finish_old_enough_by_the_bodys_own_day_lets_the_work_go_on() -> None:
    asks(finish_age="stop")
    coated("lacquer", date(2031, 2, 17))
    assert do().result == "recorded"


def test_a_finish_too_young_by_the_bodys_own_day_stops_it() -> None:
    asks(finish_age="stop")
    coated("lacquer", date(2031, 2, 18))
    outcome = do(reason="It feels hard")
    assert (outcome.result, rules(outcome)) == ("refused", ["R38"])
    assert words(outcome) == "Finish is 13 days old; lacquer is left for 14 days."


def test_a_finish_is_as_old_as_the_shops_own_day_says(settings: Any) -> None:
    """Late in the evening of the day before it is ready, UTC is a day further on."""
    settings.TIME_ZONE = "America/New_York"
    asks(finish_age="stop")
    coated("lacquer", date(2031, 2, 17))
    late = NOW.replace(hour=3)  # Sunday, 22:00 in the shop
    assert rules(do(at=late)) == ["R38"]


def test_a_finish_of_no_known_day_asks_for_a_reason() -> None:
    asks(finish_age="stop")
    coated("polyester", None)
    assert rules(do()) == ["R38"]
    assert do(reason="Asked who coated it").done


def test_a_finish_that_only_warns_goes_on_for_a_reason() -> None:
    asks(finish_age="warn")
    coated("polyester", NOW.date())
    assert rules(do()) == ["R38"]
    assert do(reason="It feels hard").done


def test_the_age_of_the_finish_costs_no_statement(django_assert_num_queries: Counted) -> None:
    asks(finish_age="stop")
    coated("lacquer", date(2031, 2, 18))
    it = now(SERIAL)
    sheet = it.sheet.stop(NEXT)
    assert sheet is not None
    with django_assert_num_queries(0):
        assert len(conditions.gate(it, sheet, NOW, fresh=True)) == 1


# --- papers ---


def note(number: str = "N-4471/31", wood: str = NIGRA) -> door.Outcome:
    return door.record(act("P-01", ""), door.PermitNoted(now(SERIAL).id, wood, number))


def test_a_guitar_that_goes_abroad_without_a_paper_for_its_wood_is_not_boxed() -> None:
    asks(papers=True)
    built_of(NIGRA)
    goes_to("Norway")
    outcome = do(reason="It follows by post")
    assert (outcome.result, rules(outcome)) == ("refused", ["R40"])
    assert f"({NIGRA}) has no paper for Norway." in words(outcome)


def test_a_noted_paper_lets_it_be_boxed() -> None:
    asks(papers=True)
    built_of(NIGRA)
    goes_to("Norway")
    assert note().done
    assert do().result == "recorded"


def test_one_paper_does_not_cover_another_wood() -> None:
    asks(papers=True)
    built_of(NIGRA, "Dalbergia cochinchinensis")
    goes_to("Norway")
    note()
    assert rules(do()) == ["R40"]
    assert "Dalbergia cochinchinensis" in words(do())


def test_a_paper_of_another_guitar_does_not_count() -> None:
    asks(papers=True)
    built_of(NIGRA)
    goes_to("Norway")
    other = now("Q-1064")
    assert door.record(act("P-01", ""), door.PermitNoted(other.id, NIGRA, "N-1")).done
    assert rules(do()) == ["R40"]


def test_a_guitar_that_stays_here_is_boxed_without_papers() -> None:
    asks(papers=True)
    built_of(NIGRA)
    assert do().result == "recorded"


@pytest.mark.parametrize(
    ("permit", "country", "statements"),
    [(True, "Norway", 1), (True, "", 0), (False, "Norway", 0)],
    ids=["abroad with a listed wood", "staying here", "abroad with other woods"],
)
def test_papers_are_looked_up_only_where_one_is_needed(
    permit: bool, country: str, statements: int, django_assert_num_queries: Counted
) -> None:
    asks(papers=True)
    built_of(NIGRA, permit=permit)
    goes_to(country)
    it = now(SERIAL)
    sheet = it.sheet.stop(NEXT)
    assert sheet is not None
    with django_assert_num_queries(statements):
        assert len(conditions.gate(it, sheet, NOW, fresh=True)) == statements


# --- the element ---


def test_the_saddle_of_a_guitar_with_electronics_waits_for_them() -> None:
    first, height = gate("U30")
    assert (first.rule, height.rule) == ("R33", "R33")
    assert "U20 is still open" in first.words


def test_with_the_electronics_in_the_saddle_is_told_its_height() -> None:
    it = now(SERIAL).with_step(Done("U20", "P-20", NOW))
    sheet = it.sheet.stop("U30")
    assert sheet is not None
    (height,) = conditions.gate(it, sheet, NOW, fresh=True)
    assert height.severity == "note"
    element = next(one.article for one in it.kit if one.article.key == "X01")
    assert f"{element.element_mm.normalize():f}{THIN}mm high" in height.words  # type: ignore[attr-defined]


def test_no_other_operation_of_that_guitar_speaks_of_the_element() -> None:
    codes = [one.code for one in now(SERIAL).sheet.stops if one.code != "U30"]
    assert [code for code in codes if gate(code)] == []


def test_the_saddle_of_a_guitar_without_electronics_is_told_nothing() -> None:
    it = now("Q-1043")
    sheet = it.sheet.stop("U30")
    assert sheet is not None
    assert conditions.gate(it, sheet, NOW, fresh=True) == ()


# --- the floor list ---


def test_the_list_of_the_floor_reads_the_room_once_and_asks_nothing_about_papers() -> None:
    """Once, for all that are in their hold."""
    asks(glue="white", papers=True)
    built_of(NIGRA)
    goes_to("Norway")
    board.floor_list(NOW, NOW.date())
    with CaptureQueriesContext(connection) as captured:
        board.floor_list(NOW, NOW.date())
    asked = " ".join(one["sql"] for one in captured)
    assert asked.count('FROM "floor_roomreading" WHERE') == 1
    assert "floor_permit" not in asked
