"""The look at the machines, tap by tap, without script: the form carries what was read.

Right and left of a head seen from its back, and the mark that is its string, are common
practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db.models import F
from django.test import Client

from shop.catalogue.models import TunerSet
from shop.floor import board
from shop.floor.models import Entry, HelpCall, Photo
from shop.floor.photos import MAX_BYTES, prepared, where
from shop.stock.models import Tray, TrayLine
from tests.bench.screens import Screen, classes, key, seen, signed_in, tag
from tests.floor.drilling import (
    DRILLS,
    MARKED,
    PLAIN,
    READY,
    before_the_drill,
    look,
    right_marks,
)
from tests.floor.morning import act, now
from tests.people.phones import Clock
from tests.phone.tags import as_bytes, photo

__all__ = ["before_the_drill"]

pytestmark = pytest.mark.usefixtures("today")

# WOLD, left-handed, seen from the BACK: string 6 nearest the nut on the left, 1 on the right.
READ = {"R1": "6", "R2": "5", "R3": "4", "L1": "1", "L2": "2", "L3": "3"}
WRONG = READ | {"R1": "5", "R2": "6"}


@pytest.fixture(autouse=True)
def _ready(before_the_drill: None, today: Clock, settings: Any, tmp_path: Path) -> None:
    """It is evening before N60, and pictures go to a folder of the test."""
    settings.DATA_DIR = tmp_path
    today.now = READY


@pytest.fixture
def phone(_ready: None) -> Client:
    return signed_in("P-11")


def here(serial: str = MARKED) -> str:
    return f"/{tag(serial)}/posts/"


def picture(size: int = 0) -> SimpleUploadedFile:
    """A photo as a phone sends it; ``size`` pads it behind its end."""
    taken = as_bytes(photo())
    return SimpleUploadedFile("back.jpg", taken.ljust(size, b"\0"), "image/jpeg")


def carried(screen: Screen, form: str = "taps") -> dict[str, str]:
    """What the form of this class or id would send along."""
    forms = [one for one in screen.root.iter("form") if form in {*classes(one), one.get("id")}]
    assert len(forms) == 1, f"{len(forms)} forms called {form}"
    return {
        one.get("name", ""): one.get("value", "")
        for one in forms[0].iter("input")
        if one.get("type") == "hidden" and one.get("name") != "csrfmiddlewaretoken"
    }


def tap(phone: Client, screen: Screen, **button: str) -> Screen:
    """Tap a button of the form that holds the posts and the marks."""
    return seen(phone.post(here(), carried(screen) | button))


def read_all(phone: Client, marks: dict[str, str] = READ) -> Screen:
    screen = seen(phone.get(here()))
    while "at" in (sent := carried(screen)):
        screen = tap(phone, screen, mark=marks[sent["at"]])
    return screen


def keep(phone: Client, screen: Screen, **more: Any) -> Any:
    """Tap the one big button under what was read."""
    return phone.post(here(), carried(screen, "keep") | {"record": "1"} | more)


def cells(screen: Screen) -> list[str]:
    """The posts as drawn, row by row from the tip."""
    return screen.of_class("post")


# --- the way there ---


def test_the_instrument_leads_to_the_check_before_anything_is_drilled(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag(MARKED)}"))
    assert screen.links["Check the posts"] == here()
    assert "Record N60" not in screen.buttons


def test_where_no_machine_is_placed_the_check_leads_back_to_the_instrument(phone: Client) -> None:
    answer = phone.get(here("Q-1058"))
    assert (answer.status_code, answer["Location"]) == (302, f"/{tag('Q-1058')}")
    elsewhere = signed_in("P-14")
    assert elsewhere.get(here())["Location"] == f"/{tag(MARKED)}"


def test_the_tray_is_scanned_before_the_posts_are_looked_at(phone: Client) -> None:
    Tray.objects.filter(serial=MARKED).update(version=F("version") + 1)
    answer = phone.get(here())
    assert answer["Location"] == f"/{tag(MARKED)}"
    assert "Scan the tray" in seen(phone.get(answer["Location"])).links


# --- post by post ---


def test_one_post_is_asked_at_a_time_as_the_back_faces_the_operator(phone: Client) -> None:
    screen = seen(phone.get(here()))
    assert screen.heading == "BACK, left side, first from the nut"
    assert "BACK machines facing you" in screen.words
    assert carried(screen) == {"read": "", "at": "R1"}
    screen = tap(phone, screen, mark="6")
    assert screen.heading == "BACK, left side, second from the nut"
    assert carried(screen) == {"read": "R1=6", "at": "R2"}


def test_the_posts_lie_as_on_the_head_with_what_was_read(phone: Client) -> None:
    screen = tap(phone, seen(phone.get(here())), mark="6")
    assert cells(screen) == [
        "left side, third from the nut",
        "right side, third from the nut",
        "left side, second from the nut this one",
        "right side, second from the nut",
        "left side, first from the nut marked 6",
        "right side, first from the nut",
    ]


def test_six_taps_lead_to_the_photo(phone: Client) -> None:
    screen = read_all(phone)
    assert screen.heading == "All 6 are read"
    assert "Take the photo from the back" in screen.words
    assert carried(screen, "keep")["read"] == "R1=6 R2=5 R3=4 L1=1 L2=2 L3=3"
    assert right_marks(MARKED) == READ


def test_the_last_tap_is_taken_back(phone: Client) -> None:
    screen = tap(phone, seen(phone.get(here())), mark="6")
    screen = tap(phone, screen, mark="4")
    assert "Take back 4" in screen.buttons
    screen = tap(phone, screen, undo="1")
    assert carried(screen) == {"read": "R1=6", "at": "R2"}


def test_the_last_of_all_is_taken_back_too(phone: Client) -> None:
    screen = tap(phone, read_all(phone), undo="1")
    assert screen.heading == "BACK, right side, third from the nut"


def test_a_post_that_is_tapped_is_asked_next_and_read_anew(phone: Client) -> None:
    screen = tap(phone, read_all(phone), post="L1")
    assert screen.heading == "BACK, right side, first from the nut"
    screen = tap(phone, screen, mark="2")
    assert carried(screen, "keep")["read"].endswith("L1=2")


def test_a_mark_is_scanned_or_typed_for_the_post_asked(phone: Client) -> None:
    screen = seen(phone.get(here()))
    sent = carried(screen, "typed")
    screen = seen(phone.post(here(), sent | {"mark": " 6 "}))
    assert carried(screen)["read"] == "R1=6"


@pytest.mark.parametrize("text", ["B7M49Q2", "6=5", "6 5", "<b>", "ł"])
def test_a_code_that_is_no_mark_is_told_so_and_nothing_is_lost(phone: Client, text: str) -> None:
    screen = tap(phone, seen(phone.get(here())), mark="6")
    screen = tap(phone, screen, mark=text)
    assert f"{text} is no machine's mark." in screen.of_class("finding-warn")[0]
    assert carried(screen) == {"read": "R1=6", "at": "R2"}


def test_a_form_that_was_spoilt_asks_again_for_what_it_does_not_say(phone: Client) -> None:
    spoilt = {"read": "R1=6 Q9=5 R2 L1=<b> =3", "at": "Q9", "post": "Q9"}
    screen = seen(phone.post(here(), spoilt))
    assert carried(screen) == {"read": "R1=6", "at": "R2"}


def test_a_machine_without_a_mark_calls_the_lead(phone: Client) -> None:
    screen = seen(phone.get(here()))
    call = screen.form(f"/{tag(MARKED)}/call/")
    phone.post(f"/{tag(MARKED)}/call/", call)
    assert HelpCall.objects.get().words == (
        "No mark to read, BACK of Q-1055: left side, first from the nut."
    )


def test_with_script_only_the_part_that_changed_comes(phone: Client) -> None:
    sent = carried(seen(phone.get(here()))) | {"mark": "6"}
    screen = seen(phone.post(here(), sent, headers={"HX-Request": "true"}))
    assert [one.get("id") for one in screen.root] == ["posts"]
    assert screen.heading == "BACK, left side, second from the nut"


# --- mark by mark ---


def test_marks_may_be_called_out_and_posts_tapped(phone: Client) -> None:
    screen = tap(phone, seen(phone.get(here())), go="mark")
    by_mark = {mark: post for post, mark in READ.items()}
    for mark in "654321":
        assert screen.heading == f"Which machine is marked {mark}?"
        screen = tap(phone, screen, post=by_mark[mark])
    assert screen.heading == "All 6 are read"
    assert carried(screen, "keep")["read"] == "R1=6 R2=5 R3=4 L3=3 L2=2 L1=1"


def test_a_post_tapped_for_two_marks_holds_the_last_and_the_first_is_called_again(
    phone: Client,
) -> None:
    screen = tap(phone, seen(phone.get(here())), go="mark")
    screen = tap(phone, tap(phone, screen, post="R1"), post="R1")
    assert carried(screen)["read"] == "R1=5"
    assert screen.heading == "Which machine is marked 6?"


def test_a_mark_that_is_on_no_machine_goes_back_to_post_by_post(phone: Client) -> None:
    screen = tap(phone, seen(phone.get(here())), go="mark")
    screen = tap(phone, tap(phone, screen, post="R1"), go="post")
    assert screen.heading == "BACK, left side, second from the nut"
    assert carried(screen)["read"] == "R1=6"


# --- recording ---


def test_all_right_and_photographed_the_step_can_be_recorded(phone: Client) -> None:
    answer = keep(phone, read_all(phone), photo=picture())
    assert answer.status_code == 302
    screen = seen(phone.get(answer["Location"]))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")
    assert "Record N60" in screen.buttons
    row = Photo.objects.get()
    assert (row.operation, row.entry.kind, row.entry.data["marks"]) == (DRILLS, "positions", READ)


def test_without_a_photo_the_reason_is_asked_and_what_was_read_is_kept(phone: Client) -> None:
    answer = keep(phone, read_all(phone))
    screen = seen(answer)
    assert answer.status_code == 422
    assert "No photo from the back." in screen.of_class("finding-warn")[0]
    assert screen.one(".//details").get("open") is not None
    answer = keep(phone, screen, reason="The lens is dirty")
    assert answer.status_code == 302
    assert board.journal(now(MARKED).id)[0]["reason"] == "The lens is dirty"
    assert board.marks_read(now(MARKED).id) == READ


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (b"no photo at all", "This is no photo."),
        (as_bytes(photo())[:3000], "The photo arrived damaged."),
        (b"", "The photo is empty."),
    ],
    ids=["no photo", "cut short", "empty"],
)
def test_a_photo_that_cannot_be_read_says_so_and_loses_nothing(
    phone: Client, sent: bytes, told: str
) -> None:
    before = Entry.objects.count()
    upload = SimpleUploadedFile("back.jpg", sent, "image/jpeg")
    screen = seen(keep(phone, read_all(phone), photo=upload))
    assert told in screen.of_class("finding-warn")[0]
    assert carried(screen, "keep")["read"] == "R1=6 R2=5 R3=4 L1=1 L2=2 L3=3"
    assert (Entry.objects.count(), Photo.objects.count()) == (before, 0)
    assert keep(phone, screen, photo=picture()).status_code == 302


def test_a_photo_of_12_mb_passes_and_a_bigger_one_gets_its_sentence(phone: Client) -> None:
    screen = read_all(phone)
    answer = keep(phone, screen, photo=picture(MAX_BYTES + 1))
    assert answer.status_code == 422
    screen = seen(answer)
    assert "This photo is over 12 MB." in screen.of_class("finding-warn")[0]
    assert keep(phone, screen, photo=picture(MAX_BYTES)).status_code == 302
    assert Photo.objects.count() == 1


def test_the_same_form_sent_twice_is_one_look(phone: Client) -> None:
    sent = carried(read_all(phone), "keep") | {"record": "1", "reason": "The lens is dirty"}
    first, again = phone.post(here(), sent), phone.post(here(), sent)
    assert first["Location"] == again["Location"]
    assert Entry.objects.filter(kind="positions", subject=MARKED).count() == 1


def test_a_look_that_answers_too_little_is_refused_with_what_is_left(phone: Client) -> None:
    sent = carried(read_all(phone), "keep") | {"record": "1", "reason": "The lens is dirty"}
    screen = seen(phone.post(here(), sent | {"read": "R1=6 R2=5 R3=4 L1=1 L2=2"}))
    assert "1 post not looked at, as seen from the FRONT" in screen.of_class("finding-stop")[0]
    assert carried(screen)["read"] == "R1=6 R2=5 R3=4 L1=1 L2=2"


# --- on another's post ---


def test_machines_on_each_other_s_post_are_shown_where_they_sit(phone: Client) -> None:
    answer = keep(phone, read_all(phone, WRONG), photo=picture())
    assert answer["Location"] == here()
    screen = seen(phone.get(here()))
    assert screen.heading == "2 of 6 machines on another's post"
    assert cells(screen)[-2:] == [
        "left side, first from the nut 5 is here, 6 belongs",
        "right side, first from the nut marked 1",
    ]
    assert len(screen.of_class("post-wrong")) == 2
    marks = [one for one in screen.root.iter("svg") if "mark-stop" in classes(one)]
    assert len(marks) >= 3, "the word is not alone: each wrong post carries the sign"
    stops = screen.of_class("finding-stop")
    assert "Machine marked 5 is on the post of string 6" in stops[0]
    assert "Swap it before you drill: 6 belongs there." in stops[0]
    assert "Call the lead" in screen.buttons


def test_one_tap_checks_the_posts_again_from_the_start(phone: Client) -> None:
    keep(phone, read_all(phone, WRONG), photo=picture())
    again = seen(phone.get(here())).links["Check the posts again"]
    screen = seen(phone.get(again))
    assert carried(screen) == {"read": "", "at": "R1"}
    for mark in READ.values():
        screen = tap(phone, screen, mark=mark)
    answer = keep(phone, screen, photo=picture())
    assert "Record N60" in seen(phone.get(answer["Location"])).buttons


def test_the_step_stays_stopped_until_the_posts_are_right(phone: Client) -> None:
    keep(phone, read_all(phone, WRONG), photo=picture())
    sent = {"key": key(), "operation": DRILLS}
    screen = seen(phone.post(f"/{tag(MARKED)}/record/", sent, follow=True))
    assert "is on the post of string 6" in screen.of_class("finding-stop")[0]
    assert screen.links["Check the posts"] == here()


# --- plain machines ---


def test_plain_machines_are_looked_at_and_photographed(phone: Client) -> None:
    screen = seen(phone.get(here(PLAIN)))
    assert screen.heading == "Look at the BACK"
    assert " ".join(screen.of_class("to-see")) == (
        "Seen from the FRONT: 3 left machines on the left, 3 right machines on the right. "
        "Every worm nearest the nut. Every button turns and touches nothing."
    )
    assert cells(screen) == []
    assert said_by_drawing(screen).startswith("BACK")
    sent = carried(screen, "keep") | {"record": "1", "photo": picture()}
    answer = phone.post(here(PLAIN), sent)
    assert "Record N60" in seen(phone.get(answer["Location"])).buttons
    assert Photo.objects.get().entry.data["marks"] == {}


def said_by_drawing(screen: Screen) -> str:
    drawing: ET.Element = screen.one(".//svg[@class='head-drawing']")
    return "".join(drawing.itertext()).strip()


def test_machines_all_on_one_side_are_said_so(phone: Client) -> None:
    TunerSet.objects.filter(key="T01").update(left=6, right=0)
    TrayLine.objects.filter(tray__serial=PLAIN).update(left_counted=None, right_counted=None)
    screen = seen(phone.get(here(PLAIN)))
    assert "all 6 machines on the left" in screen.words


# --- the pictures, served ---


@pytest.fixture
def kept(_ready: None) -> str:
    taken = prepared(as_bytes(photo()))
    assert look(MARKED, picture=taken, by=act(at=READY)).done
    return f"/photo/{taken.sha256}/"


def test_a_kept_photo_is_shown_to_who_may_see_the_instrument(phone: Client, kept: str) -> None:
    answer = phone.get(kept)
    assert answer.status_code == 200
    assert answer.content == where(kept.split("/")[2]).read_bytes()
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"].startswith("inline")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-cache"


def test_a_photo_the_phone_has_is_not_sent_again_but_asked_for_again(
    phone: Client, kept: str
) -> None:
    etag = phone.get(kept)["ETag"]
    again = phone.get(kept, headers={"If-None-Match": etag})
    assert (again.status_code, again.content) == (304, b"")
    assert Client().get(kept, headers={"If-None-Match": etag}).status_code == 401


def test_a_photo_of_no_step_is_not_there(phone: Client, kept: str) -> None:
    assert phone.get(f"/photo/{'0' * 64}/").status_code == 404
    Photo.objects.all()._raw_delete("default")
    assert phone.get(kept).status_code == 404


def test_a_photo_gone_from_the_disk_is_not_there(phone: Client, kept: str) -> None:
    where(kept.split("/")[2]).unlink()
    assert phone.get(kept).status_code == 404


@pytest.mark.parametrize(
    "path",
    ["../secret-key", "..%2f..%2fsecret-key", "A" * 64, "ab" * 31, "ab" * 32 + "%2f.."],
)
def test_no_name_leads_out_of_the_folder(phone: Client, path: str) -> None:
    assert phone.get(f"/photo/{path}/").status_code == 404
