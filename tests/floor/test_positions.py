"""The machines on their posts before anything is drilled.

That the mark of a graduated or staggered machine is the string of its post, and that nothing
is drilled before the posts were looked at, is common practice, no source.
"""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db.models import F

from shop.catalogue import revising
from shop.catalogue.models import Operation
from shop.floor import board, door
from shop.floor.models import Entry, Instrument, Photo
from shop.floor.photos import Picture, where
from shop.stock.models import Tray, TrayLine
from tests.floor.drilling import (
    DRILLS,
    MARKED,
    PLAIN,
    READY,
    before_the_drill,
    look,
    look_first,
    right_marks,
)
from tests.floor.morning import act, check_tray, now, rules, step, words

__all__ = ["before_the_drill"]

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("before_the_drill")]

PICTURE = Picture(b"a head seen from the back", "ab" * 32)


@pytest.fixture(autouse=True)
def _data(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path


def swapped() -> dict[str, str]:
    """The marks with the machines of strings 6 and 5 on each other's post."""
    other = {"6": "5", "5": "6"}
    return {key: other.get(mark, mark) for key, mark in right_marks(MARKED).items()}


def changed_tray() -> None:
    Tray.objects.filter(serial=MARKED).update(version=F("version") + 1)


def drill(serial: str = MARKED, reason: str = "") -> door.Outcome:
    return step(serial, DRILLS, at=READY, reason=reason)


# --- what comes before what ---


def test_the_tray_comes_before_the_posts() -> None:
    changed_tray()
    assert rules(look(MARKED)) == ["tray scan", "photo"]
    assert board.photos(now(MARKED).id) == []


def test_what_is_measured_comes_before_the_posts() -> None:
    look_first("proud")
    assert rules(drill(PLAIN)) == ["readings", "positions"]
    outcome = look(PLAIN, {})
    assert (outcome.result, rules(outcome)) == ("refused", ["readings", "photo"])


def test_the_posts_come_before_the_step() -> None:
    outcome = drill()
    assert (outcome.result, rules(outcome)) == ("refused", ["positions"])
    assert words(outcome) == "N60 drills: the machines are not checked against their posts yet."
    assert look(MARKED).result == "recorded"
    assert drill().result == "recorded"


def test_machines_are_looked_at_where_they_are_fitted_and_nowhere_else() -> None:
    there = act(station="B", at=READY, reason="The camera is broken")
    assert "station" in rules(look(MARKED, by=there))
    elsewhere = door.Placed(now(MARKED).id, "B10", right_marks(MARKED))
    assert rules(door.record(act(at=READY), elsewhere)) == ["positions"]


def test_a_tray_without_machines_has_nothing_to_look_at() -> None:
    machines = TrayLine.objects.filter(tray__serial=MARKED, item__family="tuners")
    machines.update(state="short", put_in=None, lot=None)
    outcome = look(MARKED)
    assert (outcome.result, rules(outcome)) == ("refused", ["machines", "photo"])
    assert outcome.findings[0].call == "clerk"


# --- marks ---


def test_a_marked_machine_nobody_read_is_named_by_its_post() -> None:
    read = right_marks(MARKED)
    del read["L1"], read["R3"]
    outcome = look(MARKED, read)
    assert rules(outcome) == ["marks", "photo"]
    assert words(outcome).startswith(
        "2 posts not looked at, as seen from the FRONT: "
        "left side, first from the nut; right side, third from the nut."
    )


def test_plain_machines_have_no_marks_to_read() -> None:
    assert look(PLAIN, {}).result == "recorded"
    assert drill(PLAIN).result == "recorded"


def test_a_machine_on_another_string_s_post_is_recorded_and_stops_the_step() -> None:
    outcome = look(MARKED, swapped())
    assert outcome.result == "recorded"
    assert [one for one in rules(outcome) if one != "photo"] == ["R26", "R26"]
    stops = [one for one in outcome.findings if one.rule == "R26"]
    # Left-handed: seen from the FRONT string 1 is on the left, string 6 on the right.
    assert stops[0].words.startswith("Machine marked 5 is on the post of string 6, right side")
    assert "6 belongs there" in stops[0].then
    refused = drill(reason="In a hurry")
    assert (refused.result, rules(refused)) == ("refused", ["R26", "R26"])


def test_a_mark_of_no_string_of_this_head_stops_too() -> None:
    outcome = look(MARKED, right_marks(MARKED) | {"R1": "9"})
    assert "Machine marked 9 is on the post of string 6" in words(outcome)
    assert drill().result == "refused"


def test_swapped_back_and_looked_at_again_the_step_is_free() -> None:
    look(MARKED, swapped())
    assert look(MARKED).result == "recorded"
    assert now(MARKED).standing.get("positions", ()) == ()
    assert drill().result == "recorded"


def test_found_wrong_after_it_was_found_right_stops_again() -> None:
    look(MARKED)
    look(MARKED, swapped())
    assert rules(drill()) == ["R26", "R26"]


def test_nothing_else_is_done_for_good_while_a_machine_is_on_a_wrong_post() -> None:
    """B20 of the body bench says nothing of machines, and cannot be undone."""
    look(MARKED, swapped())
    bore = Operation.objects.get(code="B20")
    bore.irreversible, bore.needs = True, ""
    bore.save()
    revising.operation_changed(bore.pk)
    assert step(MARKED, "B10", "P-14", "B", at=READY).done
    outcome = step(MARKED, "B20", "P-14", "B", at=READY)
    assert (outcome.result, rules(outcome)) == ("refused", ["R26", "R26"])


def test_the_marks_read_last_are_kept_by_post() -> None:
    assert board.marks_read(now(MARKED).id) == {}
    look(MARKED, swapped())
    assert board.marks_read(now(MARKED).id) == swapped()
    look(MARKED)
    assert board.marks_read(now(MARKED).id) == right_marks(MARKED)


# --- the tray changes ---


def test_a_changed_tray_is_looked_at_again() -> None:
    look(MARKED)
    changed_tray()
    assert rules(drill()) == ["tray scan", "positions"]
    check_tray(MARKED, at=READY)
    assert rules(drill()) == ["positions"]
    look(MARKED)
    assert drill().done


def test_a_tray_passed_with_a_warning_asks_for_its_reason_at_the_step() -> None:
    Instrument.objects.filter(body__serial=PLAIN).update(checked_worst="warn")
    assert look(PLAIN, {}, PICTURE, reason="").result == "recorded"
    assert rules(drill(PLAIN)) == ["tray warning"]


# --- the photo ---


def test_without_a_photo_a_reason_is_asked_and_kept() -> None:
    outcome = look(MARKED, reason="")
    assert (outcome.result, rules(outcome)) == ("refused", ["photo"])
    assert look(MARKED, reason="The lens is dirty").result == "recorded"
    assert board.journal(now(MARKED).id)[0]["reason"] == "The lens is dirty"


def test_the_photo_is_kept_with_the_row_that_says_so() -> None:
    outcome = look(MARKED, picture=PICTURE, reason="")
    assert (outcome.result, outcome.findings) == ("recorded", ())
    row = Photo.objects.get(instrument__body__serial=MARKED)
    assert (row.operation, row.view, row.by.code, row.at) == (DRILLS, "back", "P-11", READY)
    assert (row.entry.kind, row.entry.data["photo"]) == ("positions", PICTURE.sha256)
    assert where(PICTURE.sha256).read_bytes() == PICTURE.jpeg
    assert row.bytes == len(PICTURE.jpeg)
    assert board.photos(now(MARKED).id) == [
        {
            "sha256": PICTURE.sha256,
            "view": "back",
            "operation": DRILLS,
            "by__code": "P-11",
            "at": READY,
            "entry__seq": row.entry.seq,
            "there": True,
        }
    ]


def test_the_photo_of_a_wrong_post_is_kept_too() -> None:
    look(MARKED, swapped(), PICTURE)
    assert Photo.objects.filter(instrument__body__serial=MARKED).count() == 1


def test_a_photo_the_disk_does_not_take_leaves_nothing_half_done(
    settings: Any, tmp_path: Any
) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where the folder should be")
    settings.DATA_DIR = blocked
    entries = Entry.objects.count()
    with pytest.raises(OSError, match="blocked"):
        look(MARKED, picture=PICTURE)
    assert (Photo.objects.count(), Entry.objects.count()) == (0, entries)
    assert rules(drill()) == ["positions"]


# --- once ---


def test_the_same_look_sent_twice_is_one() -> None:
    by = act(at=READY, key=uuid.uuid4())
    first = look(MARKED, swapped(), PICTURE, by=by)
    again = look(MARKED, swapped(), PICTURE, by=by)
    assert (first.result, again.result) == ("recorded", "already")
    assert (again.seq, rules(again)) == (first.seq, rules(first))
    assert Photo.objects.count() == 1
    assert Entry.objects.filter(subject=MARKED, kind="positions").count() == 1


def test_the_key_of_a_look_does_not_serve_for_another() -> None:
    by = act(at=READY, key=uuid.uuid4(), reason="The lens is dirty")
    look(MARKED, by=by)
    assert rules(look(MARKED, swapped(), by=by)) == ["key"]
    assert board.marks_read(now(MARKED).id) == right_marks(MARKED)


def test_machines_are_those_of_the_closed_tray() -> None:
    found = board.machines(now(MARKED))
    assert found is not None
    assert (found.key, found.marked) == ("T15", True)
    plain = board.machines(now(PLAIN))
    assert plain is not None
    assert not plain.marked
