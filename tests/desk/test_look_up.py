"""A guitar looked up years later: one page with its record, its proof, and what is missing.

Serials, badges and codes are invented; what is asked here is common practice, no source.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import localtime

from shop.floor import board, door, guard, photos
from shop.floor.models import AsBuilt, Entry, Photo
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.casing import HOUR
from tests.floor.morning import act, now
from tests.floor.released import go_on
from tests.floor.shipping import CARRIER, MINUTE, boxed, hand_over, released
from tests.people.phones import Clock
from tests.phone.tags import as_bytes, photo

SERIAL = "Q-1038"


@pytest.fixture(scope="module")
def sent(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """One that was released, boxed and handed to a carrier."""
    with django_db_blocker.unblock():
        at = released(SERIAL)
        boxed(SERIAL, at)
        assert hand_over(SERIAL, at=at + MINUTE).done
        yield at


pytestmark = pytest.mark.usefixtures("sent", "today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def page(phone: Client, serial: str = SERIAL) -> Screen:
    return seen(phone.get(f"/as-built/{serial}/"))


def missing(screen: Screen) -> str:
    return " ".join(screen.of_class("boxed"))


# --- found ---


@pytest.mark.parametrize("typed", ["Q-1038", "q-1038", " 1038 "])
def test_a_serial_typed_leads_to_its_page(phone: Client, typed: str) -> None:
    assert phone.get("/as-built/", {"serial": typed})["Location"] == f"/as-built/{SERIAL}/"


def test_a_tag_scanned_leads_there_too(phone: Client) -> None:
    assert phone.post("/as-built/", {"code": tag(SERIAL)})["Location"] == f"/as-built/{SERIAL}/"


def test_the_label_on_the_carton_leads_there_too(phone: Client) -> None:
    carton = board.carton_of(now(SERIAL))
    assert carton is not None
    assert phone.post("/as-built/", {"code": carton.label})["Location"].endswith(f"/{SERIAL}/")


def test_what_is_not_found_is_told_with_what_to_do(phone: Client) -> None:
    screen = seen(phone.get("/as-built/", {"serial": "Q-9999"}))
    assert "No guitar here has the serial or the code Q-9999." in screen.words
    assert "Read the mark on the neck block" in screen.words


def test_an_end_that_several_share_is_chosen_by_a_tap(phone: Client) -> None:
    links = seen(phone.get("/as-built/", {"serial": "4"})).links
    assert links["Q-1044"] == "/as-built/Q-1044/"


def test_one_that_there_is_not_is_no_page(phone: Client) -> None:
    assert phone.get("/as-built/Q-9999/").status_code == 404


# --- one page ---


def test_it_tells_the_record_the_carton_and_the_carrier(phone: Client) -> None:
    words = page(phone).words
    for told in ("Q-1038 as built", "I10 Inspect: P-31", "I30 Inspect again: P-32", "Rework None."):
        assert told in words
    assert f"Handed to {CARRIER}" in words
    assert "list M-0001" in words


def test_nothing_on_it_can_be_changed(phone: Client) -> None:
    """One form alone: the way out of the sign-in, in the strip."""
    screen = page(phone)
    assert [one.get("action") for one in screen.root.iter("form")] == ["/sign-out/"]


def test_whoever_prints_is_led_to_the_sheet(phone: Client) -> None:
    assert page(phone).links["Print it"] == f"/paper/look/?form=as_built&serial={SERIAL}"
    assert "Print it" not in page(signed_in("P-11")).links


# --- its proof ---


def test_the_journal_proves_it_row_by_row(phone: Client) -> None:
    words = page(phone).words
    count = Entry.objects.filter(instrument_id=now(SERIAL).id).count()
    assert "As it was written" in words
    assert f"Its journal has {count} rows" in words
    assert "The record is the one that was frozen with them." in words


def altered(**what: Any) -> None:
    """A row was changed by nobody's door."""
    row = Entry.objects.filter(instrument_id=now(SERIAL).id, kind="step").earliest("pk")
    guard.take_down()
    name, value = next(iter(what.items()))
    with connection.cursor() as cursor:
        table = Entry._meta.db_table
        cursor.execute(f"UPDATE {table} SET {name} = %s WHERE id = %s", [value, row.pk])
    guard.put_up()


def test_a_row_that_was_altered_is_named(phone: Client) -> None:
    altered(who="P-99")
    screen = page(phone)
    assert "Not as it was written" in screen.words
    assert "it does not give its link" in screen.words
    assert "Go by nothing on this page." in screen.words


def test_one_altered_row_says_nothing_of_another_guitar() -> None:
    altered(who="P-99")
    assert board.proof(now("Q-1043").id).wrong == ()
    assert len(board.proof(now(SERIAL).id).wrong) == 1


def test_a_record_that_was_exchanged_does_not_fit_its_row(phone: Client) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    kept.record["journal"]["link"] = "0" * 64
    kept.save(update_fields=["record"])
    assert "The record does not fit the row of the journal" in page(phone).words


def test_a_value_that_was_altered_in_the_record_alone_is_told(phone: Client) -> None:
    """Its link to the journal is left as it was: only the row of its release gives it away."""
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    kept.record["order"] = "C-9999"
    kept.save(update_fields=["record"])
    words = page(phone).words
    assert "The record does not fit the row of the journal" in words
    assert "The record is the one that was frozen with them." not in words


def test_a_record_that_was_taken_away_is_not_taken_for_one_that_never_was(phone: Client) -> None:
    AsBuilt.objects.filter(instrument_id=now(SERIAL).id).delete()
    screen = page(phone)
    assert "Not as it was written" in screen.words
    assert "It is gone: its journal tells of the release it was frozen with." in missing(screen)
    assert "Not as it was written" not in page(phone, "Q-1043").words


# --- what is missing ---


def test_what_is_missing_is_said_to_be_missing(phone: Client) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    for one in kept.record["measures"]:
        if one["name"] == "Relief":
            one["values"] = []
    kept.record["room"] = {}
    kept.save(update_fields=["record"])
    told = missing(page(phone))
    assert "Relief: It was never measured" in told
    assert "The room: It was not read in its days in the case." in told
    assert "Pictures: None was taken of it up to its release." in told


def test_a_place_that_lacks_its_value_is_named_where_others_have_one(phone: Client) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    whole = missing(page(phone))
    assert "No value of it was in force" not in whole
    for one in kept.record["measures"]:
        if one["name"] == "String height over fret 12":
            one["values"] = [it for it in one["values"] if it[0] != "bass side"]
            assert one["values"], "the treble side keeps its own"
    kept.save(update_fields=["record"])
    told = missing(page(phone))
    assert "No value of it was in force at release here: bass side." in told


def test_each_part_without_a_lot_is_named(phone: Client) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    assert "Lots:" not in missing(page(phone))
    parts = kept.record["kit"]
    for one in parts[:2]:
        one["lot"] = ""
    kept.save(update_fields=["record"])
    screen = page(phone)
    told = f"Lots: No lot is on record of {parts[0]['key']} and {parts[1]['key']}."
    assert told in missing(screen)
    assert screen.words.count("no lot on record") == 2
    for one in parts:
        one["lot"] = ""
    kept.save(update_fields=["record"])
    assert "Lots: No lot is on record of any part." in missing(page(phone))


def release_row() -> Entry:
    return AsBuilt.objects.get(instrument_id=now(SERIAL).id).entry


def test_more_pictures_take_no_more_statements(phone: Client, settings: Any, tmp_path: Any) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as caught:
            page(phone)
        return len(caught)

    settings.DATA_DIR = tmp_path
    row = release_row()
    page(phone)  # what is kept in memory is read once
    few = asked()
    Photo.objects.bulk_create(
        Photo(
            instrument_id=now(SERIAL).id, operation="N60", view="front", sha256=f"{at:064}",
            bytes=3, by_id=row.by_id, at=row.at, entry=row,
        )
        for at in range(9)
    )  # fmt: skip
    assert asked() == few


def test_a_picture_whose_file_is_gone_is_named(phone: Client, settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    row = release_row()
    sha = hashlib.sha256(b"jpg").hexdigest()
    Photo.objects.create(
        instrument_id=now(SERIAL).id, operation="N60", view="front", sha256=sha, bytes=3,
        by_id=row.by_id, at=row.at, entry=row,
    )  # fmt: skip
    told = missing(page(phone))
    assert "A picture: The file of the picture taken at N60 is gone from this machine, " in told
    where = photos.where(sha)
    where.parent.mkdir(parents=True)
    where.write_bytes(b"jpg")
    screen = page(phone)
    assert "is gone from this machine" not in screen.words
    assert any(
        one.get("src", "").endswith(f"/photo/{sha}/small/") for one in screen.root.iter("img")
    )
    where.write_bytes(b"jp")  # cut short by a disk
    screen = page(phone)
    assert "A picture: The file of the picture taken at N60 is gone" in missing(screen)
    assert not any("/photo/" in one.get("src", "") for one in screen.root.iter("img"))


def came_back(at: datetime) -> datetime:
    """Its loop has it looked at twice and released again; a moment after its new first look."""
    found = door.DefectFound(now(SERIAL).id, "swirl", "cosmetic", "Z", "bass side")
    assert door.record(act("P-51", "Z", at), found).done
    out = act("P-61", "X", at + MINUTE, reason="Out to be repaired")
    assert door.record(out, door.RepairDone(now(SERIAL).id)).done
    assert {"I10", "I30", "I50"}.isdisjoint(now(SERIAL).done_codes)
    return go_on(SERIAL, at + MINUTE, until="I10") + MINUTE


def test_a_picture_of_the_new_first_look_is_not_shown_to_the_second_inspector(
    sent: datetime, today: Clock
) -> None:
    at = came_back(sent + HOUR)
    picture = photos.prepared(as_bytes(photo()))
    noted = door.DefectNoted(
        now(SERIAL).id, "finish", "scratch", 3, 6, found_at="I10", picture=picture
    )
    assert door.record(act("P-31", "I", at), noted).done
    today.now = at + MINUTE
    screen = page(signed_in("P-32", "I"))
    assert screen.heading == f"{SERIAL} as built"
    assert not any("/photo/" in one.get("src", "") for one in screen.root.iter("img"))


def test_one_that_came_back_tells_its_carton_and_that_the_record_is_of_before(
    phone: Client, sent: datetime, today: Clock
) -> None:
    assert "Back on the floor" not in page(phone).words
    today.now = came_back(sent + HOUR)
    screen = page(signed_in("P-01"))
    since = f"{localtime(sent + HOUR):%Y-%m-%d %H:%M}"
    told = f"Back on the floor since {since}: this record is of the release before."
    assert told in screen.words
    day = f"{localtime(sent):%Y-%m-%d}"
    carton = f"It was boxed {day} by P-51 and handed to {CARRIER} {day}, list M-0001."
    assert f"{carton} It was worked on since: it is in no carton now." in missing(screen)


def test_one_that_came_back_is_as_its_new_record_says_once_it_is_released_again(
    sent: datetime, today: Clock
) -> None:
    came_back(sent + HOUR)
    today.now = go_on(SERIAL, sent + 2 * HOUR, until="I30")
    assert "Back on the floor since" in page(signed_in("P-01")).words
    today.now = go_on(SERIAL, today.now)
    assert now(SERIAL).rework is not None, "its carton is still to be made up again"
    screen = page(signed_in("P-01"))
    assert "Back on the floor" not in screen.words
    assert "list M-0001. It was worked on since" in missing(screen)


def test_one_that_was_not_released_says_so_and_shows_no_picture(phone: Client) -> None:
    screen = page(phone, "Q-1043")
    assert "It was not released: what it was built of goes on record" in missing(screen)
    assert list(screen.root.iter("img")) == []
    assert "Print it" not in screen.links


@pytest.mark.parametrize("form", [1, 2, 3])
def test_a_record_from_before_the_first_look_was_kept_says_so(phone: Client, form: int) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    kept.record["form"] = form
    if form < 3:
        for one in kept.record["measures"]:
            del one["first"]
    kept.save(update_fields=["record"])
    screen = page(phone)
    told = "Values of the first look: A record of its time kept what was measured last"
    assert (told in missing(screen)) == (form < 3)
    assert ("(first look: " in screen.words) == (form == 3)


def test_a_record_of_a_form_to_come_is_told_and_not_guessed_at(phone: Client) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    kept.record["form"] = 99
    kept.save(update_fields=["record"])
    told = missing(page(phone))
    assert "It is there and cannot be read here" in told
    assert "form 99" in told


@pytest.mark.parametrize("page_of", ["as-built", "record"])
@pytest.mark.parametrize("damage", ["form", "kit", "lines", "list", "journal"])
def test_a_record_that_cannot_be_read_is_told_on_every_page_of_it(
    phone: Client, damage: str, page_of: str
) -> None:
    kept = AsBuilt.objects.get(instrument_id=now(SERIAL).id)
    changes: dict[str, Any] = {
        "form": {"form": 99}, "kit": {"kit": None}, "lines": {"operations": ["N10"]},
        "journal": {"journal": "rows"},
    }  # fmt: skip
    kept.record = [1, 2] if damage == "list" else kept.record | changes[damage]
    kept.save(update_fields=["record"])
    screen = seen(phone.get(f"/{page_of}/{SERIAL}/"))
    assert "It is there and cannot be read here: " in screen.words
    assert "Not released yet" not in screen.words
    assert "Print it" not in screen.links
    if page_of == "as-built":
        assert "The record does not fit the row of the journal" in screen.words
    else:
        assert screen.links["Its proof, and what is missing"] == f"/as-built/{SERIAL}/"


def test_nobody_looks_it_up_without_signing_in() -> None:
    assert Client().get(f"/as-built/{SERIAL}/").status_code == 401
