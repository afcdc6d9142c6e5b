"""How things stand: what to do at this station, and the whole floor in a few statements."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.floor import board, door
from shop.floor.models import Tag
from tests.floor.morning import NOW, act, asking, check_tray, now, ready_for, step
from tests.floor.shipping import boxed, hand_over

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TODAY = NOW.date()


def work(serial: str, station: str, by: str = "P-11", **more: Any) -> board.Work:
    return board.work(now(serial), asking(by, station), **more)


def code_of(found: board.Work) -> str:
    return found.stop.code if found.stop else ""


# --- work ---


def test_the_work_at_a_station_is_its_first_open_operation() -> None:
    found = work("Q-1043", "N")
    assert (code_of(found), found.here) == ("N40", True)


def test_work_that_needs_the_tray_says_so_and_nothing_else_holds_it() -> None:
    found = work("Q-1043", "N")
    assert found.wants_tray
    assert not found.blocked


def test_work_whose_tray_is_checked_and_that_is_measured_is_free_to_record() -> None:
    ready_for("Q-1043", "N40")
    assert work("Q-1043", "N").findings == ()


def test_work_whose_tray_was_stopped_still_wants_the_right_tray() -> None:
    check_tray("Q-1043", of="Q-1050")
    assert work("Q-1043", "N").wants_tray


def test_at_a_station_with_nothing_to_do_the_work_elsewhere_is_named() -> None:
    found = work("Q-1043", "F")
    assert (code_of(found), found.here) == ("N40", False)
    assert [one.rule for one in found.findings] == ["station"]


def test_work_that_makes_the_pair_wants_the_neck() -> None:
    assert work("Q-1061", "J").wants_neck


@pytest.mark.parametrize(("neck", "rule"), [("K-2095", None), ("K-2081", "R39")])
def test_a_neck_scanned_beside_the_body_is_judged_before_the_record(
    neck: str, rule: str | None
) -> None:
    tag = Tag.objects.get(neck__serial=neck, void_at__isnull=True).code
    found = board.work(now("Q-1061"), asking("P-16", "J", NOW), neck=tag)
    assert [one.rule for one in found.held] == ([rule] if rule else [])


def test_work_in_a_hold_says_when_it_is_ready() -> None:
    found = work("Q-1040", "R", "P-32")
    assert found.ready == NOW.replace(hour=10, minute=30)
    assert found.ready_words == "Ready Mon 10:30"


def test_the_clock_of_a_hold_is_the_wall_clock_of_the_shop(settings: Any) -> None:
    """Etc/GMT-5 of the tz database is five hours ahead of UTC (its signs are POSIX's)."""
    settings.TIME_ZONE = "Etc/GMT-5"
    found = work("Q-1040", "R", "P-32")
    assert found.ready_words == "Ready Mon 15:30"
    assert found.findings[0].words.startswith("Ready Mon 15:30.")


def test_what_may_start_comes_before_what_must_wait() -> None:
    """Q-1050 has its bridge in clamps for an hour; its frets can be measured meanwhile."""
    at = NOW
    for code, by, station in (
        ("J20", "P-16", "J"), ("J30", "P-16", "J"), ("J40", "P-16", "J"), ("G10", "P-18", "G"),
        ("G20", "P-18", "G"), ("G30", "P-18", "G"),
    ):  # fmt: skip
        at += timedelta(hours=1)
        ready_for("Q-1050", code, by, station, at)
        assert step("Q-1050", code, by, station, at).done
    at += timedelta(minutes=30)
    assert now("Q-1050").next_codes == ("G40", "F10")
    assert code_of(board.work(now("Q-1050"), asking("P-12", "", at))) == "F10"
    assert board.work(now("Q-1050"), asking("P-18", "G", at)).ready == at + timedelta(minutes=30)


def test_a_finished_instrument_has_no_work() -> None:
    at = NOW + timedelta(hours=2)
    for code, by, station in (("I30", "P-32", "R"), ("I50", "P-32", "R")):
        at += timedelta(minutes=10)
        ready_for("Q-1040", code, by, station, at)
        assert step("Q-1040", code, by, station, at).done
    boxed("Q-1040", at)
    assert hand_over("Q-1040", at=at).done
    assert code_of(work("Q-1040", "Z")) == ""


# --- the floor list ---


def row(serial: str) -> board.FloorRow:
    return next(one for one in board.floor_list(NOW, TODAY) if one.serial == serial)


def test_the_floor_list_holds_every_open_instrument_soonest_due_first() -> None:
    rows = board.floor_list(NOW, TODAY)
    assert len(rows) == 15
    assert [one.due_on for one in rows] == sorted(one.due_on for one in rows)


def test_a_row_tells_station_operation_and_how_far_it_is() -> None:
    found = row("Q-1043")
    assert (found.station, found.operation) == ("Neck bench", "N40")
    assert (found.done, found.of) == (5, 32)


def test_a_row_carries_the_tag_in_use() -> None:
    assert row("Q-1043").tag == board.tags_of(["Q-1043"])["Q-1043"]["body"]


def test_a_row_in_a_hold_says_that_it_waits() -> None:
    found = row("Q-1040")
    assert found.ready == NOW.replace(hour=10, minute=30)
    assert "waiting" in found.short_words


def test_a_row_counts_days_late() -> None:
    late = next(one for one in board.floor_list(NOW, date(2031, 3, 6)) if one.serial == "Q-1040")
    assert late.days_late == 1
    assert "late" in late.short_words.split()


# --- statements ---


def release_more(number: int) -> None:
    for place in range(number):
        body, neck = f"X-{place}", f"Y-{place}"
        parts: tuple[tuple[Any, str], ...] = (("body", body), ("neck", neck))
        for part, serial in parts:
            assert door.record(act("P-01", ""), door.PartArrived(part, serial, "TARN")).done
        agreed = (door.Agreed("Gold button", "buyer", "E04", "E07"),) if place % 2 else ()
        order = door.Released(body, neck, "TARN", due_on=TODAY, release_on=TODAY, agreed=agreed)
        assert door.record(act("P-01", "", reason="Bins are counted at noon"), order).done


def statements(deed: Any) -> int:
    with CaptureQueriesContext(connection) as caught:
        deed()
    return len(caught)


@pytest.mark.parametrize("more", [0, 45], ids=["15 on the floor", "60 on the floor"])
def test_all_open_instruments_take_three_statements(more: int) -> None:
    """Instruments, steps and the room since the first of their holds began; deviations are
    read where they are asked for."""
    release_more(more)
    board.all_open()  # the sheets are drawn once a process
    assert statements(board.all_open) == 3


@pytest.mark.parametrize("more", [0, 45], ids=["15 on the floor", "60 on the floor"])
def test_the_floor_list_takes_four_statements(more: int) -> None:
    release_more(more)
    board.floor_list(NOW, TODAY)  # the sheets are drawn once a process
    assert statements(lambda: board.floor_list(NOW, TODAY)) == 4


def test_one_instrument_by_its_tag_takes_two_statements() -> None:
    code = board.tags_of(["Q-1043"])["Q-1043"]["body"]
    assert statements(lambda: board.by_tag(code)) == 2
