"""The frets' screens: reading heights by hand and from a file, the plan, what came of it.

Limits are common practice, no source; boards and files are invented.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import SpecRevision
from shop.floor.models import Entry, FretHeights
from shop.people.models import Badge
from tests.bench.screens import Screen, classes, key, seen, signed_in, tag
from tests.floor.morning import now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1049"  # its frets are being levelled by P-12
FRETS, LINES = 20, 6
MOST = 10  # statements of a page of the set-up


@pytest.fixture
def phone(today: Clock) -> Client:
    return signed_in("P-12")


def level(height: str = "1.10", **but: str) -> dict[str, str]:
    """Every fret on every line as high, but for some: ``level(f9="1.16")`` all across."""
    return {
        f"h {fret} {line}": but.get(f"f{fret}", height)
        for fret in range(1, FRETS + 1)
        for line in range(1, LINES + 1)
    }


def send(phone: Client, heights: dict[str, str], **more: Any) -> Any:
    sent = {
        "key": key(), "operation": "F20", "unit": "mm", "stage": "before", "datum": "board",
        "lines": "6",
    }  # fmt: skip
    return phone.post(f"/{tag(SERIAL)}/set-up/frets/heights/", sent | heights | more)


def page(phone: Client, ask: str = "") -> Screen:
    return seen(phone.get(f"/{tag(SERIAL)}/set-up/frets/{ask}"))


def upload(phone: Client, text: str, **more: str) -> Any:
    sent = {"heights": SimpleUploadedFile("frets.csv", text.encode()), "stage": "before"} | more
    return phone.post(f"/{tag(SERIAL)}/set-up/frets/file/", sent)


def figures(screen: Screen) -> dict[str, str]:
    return {
        one.get("name", ""): one.get("value", "")
        for one in screen.root.iter("input")
        if "figure-in" in classes(one)
    }


def table(screen: Screen, number: int = 0) -> list[list[str]]:
    found = screen.root.findall(".//table[@class='figure-table']")[number]
    return [
        [" ".join(" ".join(cell.itertext()).split()) for cell in row] for row in found.iter("tr")
    ]


# --- reading ---


def test_the_topics_lead_to_the_frets_and_these_to_reading_them(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag(SERIAL)}/set-up/"))
    assert any(words.startswith("Levelling the frets") for words in screen.links)
    screen = page(phone)
    assert "No fret heights are read yet." in screen.words
    assert screen.links["Read the frets"] == "heights/"


def test_each_fret_is_asked_on_each_line_from_the_nut(phone: Client) -> None:
    screen = page(phone, "heights/")
    assert screen.heading == "F20 Fret heights"
    assert list(figures(screen))[:7] == [*(f"h 1 {line}" for line in range(1, 7)), "h 2 1"]
    assert len(figures(screen)) == FRETS * LINES


@pytest.mark.parametrize("lines", [3, 4, 5, 6])
def test_three_to_six_lines_can_be_read(phone: Client, lines: int) -> None:
    assert len(figures(page(phone, f"heights/?lines={lines}"))) == FRETS * lines


def test_after_crowning_flats_and_rocker_are_asked_too(phone: Client) -> None:
    screen = page(phone, "heights/?stage=after")
    assert screen.heading == "F20 Fret heights after crowning"
    assert {"flat 1", "rocker 20"} <= set(figures(screen))


def test_heights_that_are_recorded_lead_to_the_plan(phone: Client) -> None:
    """One fret of 1.16 among 1.10: 0.06 comes off it, nothing elsewhere, 1.10 is left."""
    answer = send(phone, level(f9="1.16"))
    assert answer.status_code == 302
    assert answer["Location"] == f"/{tag(SERIAL)}/set-up/frets/"
    screen = page(phone)
    assert "Take 0.06 mm off fret 9." in screen.words
    assert "Leave frets 1–8 and 10–20 as they are." in screen.words
    assert "Within the limits." in screen.words
    rows = table(screen)
    assert rows[9] == ["9", "0.06 mm", "1", "1.10 mm"]
    assert rows[8] == ["8", "0.00 mm", "–", "1.10 mm"]
    assert "eye protection" in screen.words


def test_what_cannot_be_taken_is_named_at_its_place_and_everything_typed_is_still_there(
    phone: Client,
) -> None:
    typed = level() | {"h 9 3": "high", "h 12 1": ""}
    screen = seen(send(phone, typed, datum="straight"))
    assert screen.of_class("problem")[0].startswith("Stop high is no number.")
    assert figures(screen) == typed
    checked = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert checked == ["straight"]
    assert FretHeights.objects.count() == 0


def test_a_doubtful_height_is_taken_once_it_was_ticked(phone: Client) -> None:
    typed = level() | {"h 9 3": "1.61"}
    screen = seen(send(phone, typed))
    assert "I measured again: it is so" in screen.of_class("problem")[0]
    assert send(phone, typed, sure="h 9 3").status_code == 302


def test_what_was_not_read_is_told_by_fret_and_line(phone: Client) -> None:
    send(phone, level() | {"h 9 3": "", "h 20 6": ""})
    screen = page(phone)
    assert "2 heights are missing" in screen.words
    assert "fret 9 on line 3" in screen.words
    assert "fret 20 on line 6" in screen.words


def test_a_fret_that_was_seated_is_read_alone_and_the_others_are_shown_as_they_are(
    phone: Client,
) -> None:
    send(phone, level(f12="0.98"))
    screen = page(phone, "heights/")
    assert screen.of_class("earlier")[0] == "now 1.10 mm"
    assert send(phone, {f"h 12 {line}": "1.10" for line in range(1, 7)}).status_code == 302
    assert "Nothing comes off" in page(phone).words


def test_read_from_another_datum_none_of_the_heights_that_stand_are_shown_and_it_is_refused(
    phone: Client,
) -> None:
    send(phone, level())
    screen = seen(send(phone, {"h 1 1": "0.02"}, datum="straight"))
    assert screen.of_class("earlier") == []
    (told,) = screen.of_class("finding-stop")
    assert "these from a straight reference." in told
    assert "tick a new reading of all" in told
    assert send(phone, {"h 1 1": "0.02"}, datum="straight", anew="on").status_code == 302


def test_the_same_act_sent_twice_is_done_once(phone: Client) -> None:
    once = key()
    assert send(phone, level(), key=once).status_code == 302
    assert send(phone, level(), key=once).status_code == 302
    assert FretHeights.objects.count() == 1


def test_at_another_station_nothing_can_be_entered(today: Clock) -> None:
    screen = page(signed_in("P-11"), "heights/")
    assert figures(screen) == {}


def test_a_phone_that_has_inches_types_them_and_reads_them(phone: Client) -> None:
    Badge.objects.filter(code="P-12").update(units="inch")
    assert "Fret 1, in" in page(phone, "heights/").words
    send(phone, level("0.0433", f9="0.0457"), unit="in")
    assert "Take 0.0024 in off fret 9." in page(phone).words


# --- a file ---


HEAD = "heelcap fret heights;1\nunit;mm\nfrets;20\nlines;3\nfret;line;height\n"


def test_a_file_fills_the_form_and_records_nothing(phone: Client) -> None:
    screen = seen(upload(phone, f"{HEAD}1;1;1,10\n2;3;1,12\n"))
    typed = figures(screen)
    assert (typed["h 1 1"], typed["h 2 3"], typed["h 1 2"]) == ("1.10", "1.12", "")
    assert len(typed) == FRETS * 3
    assert FretHeights.objects.count() == 0


@pytest.mark.parametrize("datum", ["board", "straight"])
def test_a_file_is_of_the_datum_that_was_read_from_last(phone: Client, datum: str) -> None:
    send(phone, level("0.85"), datum=datum)
    screen = seen(upload(phone, f"{HEAD}1;1;1,10\n"))
    checked = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert datum in checked


def test_a_file_with_faults_is_told_line_by_line(phone: Client) -> None:
    answer = upload(phone, f"{HEAD}1;1;1,1x\n31;1;1,10\n")
    assert answer.status_code == 422
    words = seen(answer).words
    assert "Line 6: 1,1x is no height. Write it as 1.10 or 1,10." in words
    assert "Line 7: 31 is no fret. Write a number from 1 to 30." in words


def test_a_file_of_a_longer_board_is_refused(phone: Client) -> None:
    answer = upload(phone, f"{HEAD.replace('20', '22')}22;1;1,10\n")
    assert f"This file has 22 frets, the board of {SERIAL} 20." in seen(answer).words


@pytest.mark.parametrize("stage", ["before", "after"])
def test_a_file_that_is_no_text_is_refused(phone: Client, stage: str) -> None:
    sent = {"heights": SimpleUploadedFile("frets.csv", bytes(range(256))), "stage": stage}
    answer = phone.post(f"/{tag(SERIAL)}/set-up/frets/file/", sent)
    assert answer.status_code == 422


def test_the_heights_go_out_in_the_form_that_comes_in(phone: Client) -> None:
    send(phone, level(f9="1.16"))
    answer = phone.get(f"/{tag(SERIAL)}/set-up/frets/heights.csv")
    assert answer["Content-Type"].startswith("text/csv")
    typed = figures(seen(upload(phone, answer.content.decode())))
    assert typed == level(f9="1.16")


# --- the plan ---


def test_a_low_fret_is_to_be_reseated_before_anything_is_filed(phone: Client) -> None:
    send(phone, level(f5="1.14", f12="0.98"))
    screen = page(phone)
    wanted = "Reseat fret 12, do not level: without it 0.04 mm comes off at most, with it 0.17 mm."
    assert wanted in screen.words
    assert "What would come off if you filed now" in screen.words


def test_fall_off_that_is_still_to_be_filed_can_be_tried(phone: Client) -> None:
    send(phone, level())
    assert table(page(phone))[20][1] == "0.00 mm"
    assert table(page(phone, "?fall=0.12"))[20][1] == "0.12 mm"


def test_heights_from_a_straight_reference_have_the_specs_fall_off(phone: Client) -> None:
    send(phone, level(), datum="straight")
    assert table(page(phone))[20][1] == "0.15 mm"


def test_from_a_straight_reference_a_fret_comes_to_its_wire_less_what_comes_off(
    phone: Client,
) -> None:
    """New wire is 1.10 by the spec; 0.06 comes off the fret that stands so high."""
    assert send(phone, level("-0.02", f9="0.04"), datum="straight").status_code == 302
    rows = table(page(phone, "?fall=0"))
    assert rows[9] == ["9", "0.06 mm", "1", "1.04 mm"]
    assert rows[8] == ["8", "0.00 mm", "–", "1.10 mm"]


def test_a_minus_can_be_tapped_and_a_file_with_one_is_of_a_straight_reference(
    phone: Client,
) -> None:
    keys = [one.get("data-key") for one in page(phone, "heights/").root.iter("button")]
    assert keys.count("-") == 1
    screen = seen(upload(phone, f"{HEAD}1;1;-0,02\n2;3;0,02\n"))
    assert figures(screen)["h 1 1"] == "-0.02"
    checked = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert "straight" in checked


def test_repair_lets_less_of_a_fret_stay(phone: Client) -> None:
    send(phone, level("0.85"))
    assert "at least 0.9 mm has to stay" in page(phone).words
    assert "has to stay" not in page(phone, "?work=repair").words.replace("Has to stay of", "")


@pytest.mark.parametrize("fall", ["wide", "3", "-1"])
def test_a_fall_off_that_cannot_be_is_told_and_stays_typed(phone: Client, fall: str) -> None:
    send(phone, level())
    screen = page(phone, f"?fall={fall}")
    assert figures(screen)["fall"] == fall
    assert screen.of_class("problem")
    assert screen.root.findall(".//table") == []


def test_the_drawing_has_words_for_who_does_not_see_it(phone: Client) -> None:
    send(phone, level(f9="1.16"))
    (drawing,) = [one for one in page(phone).root.iter("svg") if one.get("role") == "img"]
    assert drawing.findtext("title", "").startswith("The frets along the board")
    assert drawing.findtext("desc", "")
    assert len(list(drawing.iter("circle"))) == FRETS * LINES


def test_after_crowning_the_second_reading_is_judged(phone: Client) -> None:
    send(phone, level(f9="1.16"))
    crowned = level("1.00", f9="1.03")
    send(phone, crowned | {"flat 7": "0.6", "rocker 9": "0.02"}, stage="after")
    screen = page(phone)
    assert "Fret 9 stands 0.03 mm over its neighbours on line 1." in screen.words
    assert "The flat on fret 7 is 0.6 mm wide, at most 0.4 mm may be." in screen.words
    assert "after 1.03 mm" in screen.words


@pytest.mark.parametrize(
    ("first", "then", "told"),
    [
        ("board", "straight", "Read from a straight reference, and before levelling from the"),
        ("straight", "board", "Read from the board, and before levelling from a straight"),
    ],
)
def test_heights_after_crowning_from_another_datum_are_judged_by_themselves(
    phone: Client, first: str, then: str, told: str
) -> None:
    """A board that falls away by the spec's 0.30 from fret 14 on, 84.15 before the last, is level
    read from a straight reference once that is given back; by itself fret 14 would stand 0.03
    over its neighbours."""
    SpecRevision.objects.filter(spec__key="SKERRY").update(fall_off_mm="0.30")
    book.sheet.cache_clear()
    beyond = {15: 16.12, 16: 31.34, 17: 45.70, 18: 59.26, 19: 72.06, 20: 84.15}
    falls = {f"f{fret}": f"{0.02 - 0.30 * by / 84.15:.2f}" for fret, by in beyond.items()}
    boards = {"board": level("1.00"), "straight": level("0.02", **falls)}
    assert send(phone, boards[first], datum=first).status_code == 302
    assert send(phone, boards[then], stage="after", datum=then).status_code == 302
    screen = page(phone)
    assert told in screen.words
    assert "Every fret that was read is within the limits." in screen.words
    assert "after 0.02 mm" not in screen.words
    assert "after 1.00 mm" not in screen.words
    assert "■ after" not in screen.words


def test_frets_that_came_out_well_are_said_to_be(phone: Client) -> None:
    send(phone, level(f9="1.16"))
    send(phone, level("1.00"), stage="after")
    assert "Every fret that was read is within the limits." in page(phone).words


def test_one_height_alone_is_too_few_and_the_page_says_so(phone: Client) -> None:
    send(phone, {"h 1 1": "1.10"})
    assert "1 height is read: too few for a plan." in page(phone).words


def test_spanish_is_not_needed_for_a_figure(phone: Client) -> None:
    """Whatever language the words are in, figures keep their point."""
    Badge.objects.filter(code="P-12").update(language="es")
    send(phone, level(f9="1.16"))
    assert "0.06 mm" in page(phone).words


def test_the_page_asks_for_no_more_than_its_statements(phone: Client) -> None:
    send(phone, level(f9="1.16"))
    send(phone, level("1.00"), stage="after")
    page(phone)
    with CaptureQueriesContext(connection) as asked:
        page(phone)
    assert len(asked) <= MOST, [one["sql"] for one in asked]


def test_what_was_refused_stands_in_the_journal_too(phone: Client) -> None:
    send(phone, {"h 1 1": "high"})
    row = Entry.objects.filter(instrument_id=now(SERIAL).id, kind="frets").get()
    assert row.outcome == "refused"
