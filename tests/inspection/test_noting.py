"""A defect noted by taps on the phone, and the list of what an instrument has. Instruments are
invented; which words are usual where is common practice, no source."""

from __future__ import annotations

import io
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import translation
from PIL import Image

from shop.craft.inspecting import body_map
from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.defects import MEANINGS
from shop.craft.inspecting.usual import usual
from shop.craft.rework import WORDS
from shop.craft.words import THIN
from shop.floor import board, door, photos
from shop.floor.models import Defect
from shop.inspection import noting
from tests.bench.screens import Screen, key, said, seen, signed_in, tag
from tests.floor.casing import CASED, MINUTE, SERIAL, cased, done, moment, number
from tests.floor.morning import NOW, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

LEFT = "Q-1055"  # left-handed
SCRATCH = "family=finish&word=scratch"


@pytest.fixture(autouse=True)
def _pictures(settings: Any, tmp_path: Path) -> None:
    """Pictures go to a folder of the test."""
    settings.DATA_DIR = tmp_path


def way(more: str = "", serial: str = SERIAL) -> str:
    return f"/{tag(serial)}/defects/{more}"


def page(query: str = "", badge: str = "P-31", station: str = "I", serial: str = SERIAL) -> Screen:
    return seen(signed_in(badge, station).get(way(f"new/{query}", serial)))


def listed(badge: str = "P-31", station: str = "I", query: str = "") -> Screen:
    return seen(signed_in(badge, station).get(way(query)))


def link(screen: Screen, begins: str) -> str:
    """The address behind the first link whose words begin so."""
    return next(to for words, to in screen.links.items() if words.startswith(begins))


def words_offered(screen: Screen) -> list[str]:
    """The words to choose from, in the order of the page."""
    items = screen.root.iterfind(".//ul[@class='answers answers-wide note-word']/li/a/b")
    return [said(one).lower() for one in items]


def hidden(screen: Screen, action: str) -> dict[str, str]:
    return screen.form(action)


def checked(screen: Screen, name: str) -> str:
    inputs = screen.root.iterfind(f".//input[@name='{name}']")
    return next((one.get("value", "") for one in inputs if "checked" in one.attrib), "")


def told(**fields: Any) -> Any:
    """The last page sent from the phone of the first inspector."""
    usual = {"family": "finish", "word": "scratch", "zone": "6", "view": "front", "class": "3"}
    return signed_in("P-31", "I").post(way("new/"), usual | {"key": key()} | fields)


def note_it(**differs: Any) -> int:
    said: dict[str, Any] = {
        "family": "finish",
        "word": "scratch",
        "grade": 3,
        "zone": 6,
        "view": "front",
    }
    outcome = done(door.DefectNoted(number(), **(said | differs)), NOW, "P-31", "I")
    assert outcome.seq is not None
    return outcome.seq


def photo() -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "sienna").save(out, "JPEG")
    return SimpleUploadedFile("scratch.jpg", out.getvalue(), "image/jpeg")


def tapped(view: body_map.View, fx: float, fy: float, wide: int = 358) -> str:
    """What a browser adds to the address for a tap on the picture of a form's button: whole
    pixels from its upper left corner (WHATWG HTML, 4.10.5.1.20, from memory)."""
    x = round(fx * wide)
    y = round(fy * wide * view.size_mm[1] / view.size_mm[0])
    return f"t{wide}.x={x}&t{wide}.y={y}"


# --- in four taps ---


def test_a_defect_is_noted_in_four_taps_and_a_photo() -> None:
    phone, taps = signed_in("P-31", "I"), 0
    instrument = seen(phone.get(f"/{tag(SERIAL)}"))
    asked = seen(phone.get(link(instrument, "Note a defect")))
    taps += 1
    where = link(asked, "Scratch")
    asked = seen(phone.get(where))
    taps += 1
    view = body_map.draw(now(SERIAL).sheet.spec, "front")
    carried = {one.get("name"): one.get("value") for one in _of_the_drawing(asked)}
    way_on = "&".join(f"{name}={value}" for name, value in carried.items())
    answer: Any = phone.get(f"{way('new/')}?{way_on}&{tapped(view, 0.5, 0.8)}")
    taps += 1
    last = seen(phone.get(answer.url))
    fields = hidden(last, way("new/"))
    fields["class"] = checked(last, "class")
    sent: Any = phone.post(way("new/"), fields | {"photo": photo()})
    taps += 1
    assert sent.status_code == 302
    assert taps == 4
    one = Defect.objects.get()
    assert (one.family, one.word, one.grade, one.view) == ("finish", "scratch", 3, "front")
    assert one.x_mm is not None
    assert board.defects_of(number())[0].photo


def _of_the_drawing(screen: Screen) -> list[Any]:
    form = screen.one(".//form[@class='tap-on']")
    return [one for one in form.iter("input") if one.get("type") == "hidden"]


def test_from_the_list_of_its_defects_it_is_four_taps_as_well() -> None:
    screen = listed()
    assert screen.links["Note a defect"] == way("new/")


# --- which word ---


@pytest.mark.parametrize("area", range(17))
def test_the_six_usual_words_of_an_area_come_first(area: int) -> None:
    screen = page(f"?area={area}")
    six = [one.word for one in usual(area, "I")]
    assert words_offered(screen) == six
    assert len(six) == 6


def test_at_the_second_look_come_first_what_the_days_in_the_case_bring_about() -> None:
    assert words_offered(page(badge="P-32", station="R"))[0] == "lift"


def test_each_word_stands_with_the_line_that_explains_it() -> None:
    screen = page()
    for one in usual(0, "I"):
        assert one.line in screen.words


@pytest.mark.parametrize("family", WORDS)
def test_a_family_opens_all_its_words_in_their_order(family: str) -> None:
    screen = page(f"?family={family}")
    assert words_offered(screen) == list(WORDS[family])


def test_a_word_is_searched_by_its_beginning() -> None:
    screen = page("?q=craz&area=7")
    assert words_offered(screen) == ["crazing", "craze at bushing"]
    assert "area=7" in link(screen, "Crazing")


def test_a_word_is_found_in_spanish_by_whoever_reads_spanish_and_in_english_too() -> None:
    with translation.override("es"):
        spanish = noting.texts("es")["finish", "scratch"][0]
        assert spanish != "scratch", "the phrase book has the word"
        for sought in (spanish, spanish.upper(), "scratch"):
            assert noting.searched(sought)[0].key == ("finish", "scratch"), sought


def test_what_no_word_is_found_by_is_said_and_the_families_are_there() -> None:
    screen = page("?q=banjo")
    assert "No word is found by “banjo”" in screen.words
    assert words_offered(screen) == []
    assert link(screen, "Finish").endswith("?family=finish")


@pytest.mark.parametrize(
    "query", ["?family=glue", "?word=lift", "?family=fret&word=lift", "?zone=5"]
)
def test_what_an_address_cannot_mean_is_asked_again(query: str) -> None:
    assert page(query).heading in {"What is wrong with it?", "Fret"}


@pytest.mark.parametrize(
    ("query", "back"),
    [
        ("?family=finish", "new/"),
        (f"?{SCRATCH}", "new/?family=finish"),
        (f"?{SCRATCH}&view=front&zone=6&x=3&y=4", f"new/?{SCRATCH}&view=front"),
        ("?area=7&family=paper&word=missing&zone=16", "new/?area=7&family=paper"),
    ],
)
def test_one_step_back_takes_the_last_answer_back(query: str, back: str) -> None:
    assert page(query).links["One step back"] == way(back)


# --- where ---


@pytest.mark.parametrize("wide", noting.DRAWN_PX)
@pytest.mark.parametrize("serial", [SERIAL, LEFT])
def test_a_tap_on_the_drawing_is_a_place_in_millimetres(serial: str, wide: int) -> None:
    """On any of the widths the drawing has, as the drawing itself says, left-handed too."""
    view = body_map.draw(now(serial).sheet.spec, "front")
    place = body_map.from_fraction(view, 0.62, 0.82)
    assert place is not None
    query = f"new/?{SCRATCH}&view=front&{tapped(view, 0.62, 0.82, wide)}"
    answer: Any = signed_in("P-31", "I").get(way(query, serial))
    found = dict(re.findall(r"(\w+)=([\w-]+)", answer.url))
    assert (found["view"], found["zone"]) == ("front", str(place.zone))
    assert place.x_mm is not None
    assert place.y_mm is not None
    pixel_mm = view.size_mm[0] / wide
    assert abs(int(found["x"]) - float(place.x_mm)) <= pixel_mm + 1
    assert abs(int(found["y"]) - float(place.y_mm)) <= pixel_mm + 1
    if serial == LEFT:
        assert int(found["x"]) < 0, "the right half of a left-handed front is the bass side"


def test_a_tap_beside_the_instrument_is_said_and_asked_again() -> None:
    screen = page(f"?{SCRATCH}&t358.x=1&t358.y=1")
    assert screen.heading == "Scratch: where?"
    assert "That tap fell beside the instrument." in screen.words


def test_the_drawing_is_a_button_of_a_form_so_that_it_needs_no_script() -> None:
    screen = page(f"?{SCRATCH}")
    form = screen.one(".//form[@class='tap-on']")
    pictures = [one for one in form.iter("input") if one.get("type") == "image"]
    assert [one.get("name") for one in pictures] == [f"t{wide}" for wide in noting.DRAWN_PX]
    assert all(one.get("alt") for one in pictures)
    assert form.get("method") == "get"


def test_every_zone_is_a_link_of_its_own_for_a_keyboard() -> None:
    links = page(f"?{SCRATCH}&view=back").links
    for zone in body_map.SHOWN["back"]:
        assert any(f"view=back&zone={zone}" in to for to in links.values())
    assert link(page(f"?{SCRATCH}"), "At no one place").endswith("&zone=0")


def test_every_side_of_the_instrument_can_be_turned_up() -> None:
    links = page(f"?{SCRATCH}").links
    for view in body_map.VIEWS:
        assert any(to.endswith(f"view={view.replace(' ', '+')}") for to in links.values()), view


def test_the_area_one_looks_at_turns_the_instrument() -> None:
    screen = page(f"?area=10&{SCRATCH}")
    assert "Back" in screen.root.find(".//nav[@class='line-up three']/a[@aria-current]").text  # type: ignore[operator,union-attr]


def test_a_paper_is_at_no_place_but_its_own() -> None:
    screen = page("?family=paper")
    assert "zone=16" in link(screen, "Wrong label")
    assert page("?family=paper&word=wrong+label&zone=16").heading == "Wrong label"


# --- how bad, and the one button ---


@pytest.mark.parametrize(("word", "grade"), [("scratch", "3"), ("chip", "2")])
def test_the_usual_class_is_tapped_already_and_each_says_what_it_means(
    word: str, grade: str
) -> None:
    screen = page(f"?family=finish&word={word}&zone=0")
    assert checked(screen, "class") == grade
    assert MEANINGS["finish", word].usual_class == int(grade)
    for one in DefectClass:
        assert one.meaning.replace(THIN, " ") in screen.words.replace(THIN, " ")


def test_all_that_was_told_is_recorded() -> None:
    answer = told(
        x="12", y="-30", words="By pin 6", found_at="I10", photo=photo(), **{"class": "2"}
    )
    assert answer.status_code == 302
    one = Defect.objects.get()
    assert (one.family, one.word, one.grade, one.zone, one.view) == (
        "finish", "scratch", 2, 6, "front",
    )  # fmt: skip
    assert (one.x_mm, one.y_mm) == (Decimal(12), Decimal(-30))
    assert (one.words, one.found_at, one.found_by.code) == ("By pin 6", "I10", "P-31")


def test_the_form_says_in_the_course_of_which_look_it_was_found() -> None:
    screen = page(f"?{SCRATCH}&zone=0")
    assert hidden(screen, way("new/"))["found_at"] == "I10"
    elsewhere = page(f"?{SCRATCH}&zone=0", badge="P-01", station="Z")
    assert hidden(elsewhere, way("new/"))["found_at"] == ""


def test_the_answer_is_the_list_with_what_was_noted() -> None:
    phone = signed_in("P-31", "I")
    fields = {"family": "finish", "word": "scratch", "zone": "0", "class": "3", "key": key()}
    answer: Any = phone.post(way("new/"), fields | {"area": "7"})
    screen = seen(phone.get(answer.url))
    assert "Noted: scratch." in screen.words
    assert screen.links["Go on with area 7"] == f"/{tag(SERIAL)}/look/7/"


def test_the_same_note_sent_twice_is_one() -> None:
    by = key()
    first, again = told(key=by), told(key=by)
    assert first.url == again.url
    assert Defect.objects.count() == 1


def test_a_photo_that_cannot_be_read_loses_nothing() -> None:
    broken = SimpleUploadedFile("scratch.jpg", b"no photo", "image/jpeg")
    answer = told(words="By pin 6", photo=broken, **{"class": "2"})
    assert answer.status_code == 422
    screen = seen(answer)
    assert "This is no photo. Take one with the camera." in screen.words
    assert checked(screen, "class") == "2"
    assert screen.one(".//input[@name='words']").get("value") == "By pin 6"
    assert Defect.objects.count() == 0


def test_a_class_that_is_none_is_refused_in_words() -> None:
    answer = told(**{"class": "7"})
    assert answer.status_code == 422
    assert "Class 7 is none" in seen(answer).words


def test_a_refusal_says_that_the_photo_has_to_be_taken_again() -> None:
    """A browser never fills a file in again."""
    screen = seen(told(photo=photo(), **{"class": "7"}))
    assert "The photo that came with it is not kept. Take it again." in screen.words
    assert "is not kept" not in seen(told(**{"class": "7"})).words


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"word": ""}, "What is wrong with it, is not told yet."),
        ({"zone": "", "view": ""}, "Where it is, is not told yet."),
    ],
)
def test_a_form_without_a_word_or_a_place_says_so_and_asks(
    fields: dict[str, str], words: str
) -> None:
    answer = told(**fields)
    assert answer.status_code == 422
    assert words in seen(answer).words
    assert Defect.objects.count() == 0


@pytest.mark.parametrize("badge", ["P-11", "P-41", "P-25", "P-61"])
def test_who_may_not_note_one_is_told_so(badge: str) -> None:
    assert signed_in(badge, "N").get(way("new/")).status_code == 403


# --- is it this one? ---


def test_one_that_is_open_and_alike_is_offered_and_never_forced() -> None:
    row = note_it(x_mm=Decimal(10), y_mm=Decimal(20))
    query = f"?{SCRATCH}&view=front&zone=6&x=12&y=20"
    screen = page(query)
    assert "Is it this one?" in screen.words
    assert "scratch, zone 6, 2 mm from this one" in screen.words
    assert link(screen, "Yes, it is noted already") == f"{way()}#d{row}"
    assert told(x="12", y="20").status_code == 302
    assert Defect.objects.count() == 2


def test_one_far_away_is_not_offered() -> None:
    note_it(x_mm=Decimal(10), y_mm=Decimal(20))
    assert "Is it this one?" not in page(f"?{SCRATCH}&view=front&zone=6&x=90&y=20").words


def test_one_that_was_withdrawn_is_not_offered() -> None:
    row = note_it(x_mm=Decimal(10), y_mm=Decimal(20))
    done(door.DefectWithdrawn(number(), row), NOW + MINUTE, "P-31", "I", reason="Dust")
    assert "Is it this one?" not in page(f"?{SCRATCH}&view=front&zone=6&x=12&y=20").words


def test_the_second_inspector_is_offered_none_of_the_first_looks(today: Clock) -> None:
    cased()
    done(
        door.DefectNoted(number(), "finish", "scratch", 4, 6, "front", found_at="I10"),
        CASED + MINUTE, "P-31", "I",
    )  # fmt: skip
    today.now = moment(8, 9)
    query = f"?{SCRATCH}&view=front&zone=6"
    assert "Is it this one?" not in page(query, "P-32", "R").words
    assert "Is it this one?" in page(query, "P-31", "I").words


# --- the list ---


def test_a_list_without_defects_says_what_would_be_there() -> None:
    assert "No defect stands here." in listed().words


def test_the_list_says_what_it_is_how_bad_where_by_whom_and_that_nobody_decided() -> None:
    note_it(x_mm=Decimal(10), y_mm=Decimal(20), words="As long as a nail", found_at="I10")
    said_there = listed().words.replace(THIN, " ")
    for words in (
        "Open: 1", "Scratch", "Class 3, Minor", MEANINGS["finish", "scratch"].line,
        "zone 6 lower bout, 10 mm to the treble side", "As long as a nail",
        "Found by P-31 at I10, Mon 09:30.", "Nobody has decided yet what becomes of it",
    ):  # fmt: skip
        assert words in said_there, words


def test_its_place_is_marked_on_a_small_drawing_and_its_photo_stands_beside() -> None:
    told(x="12", y="-30", photo=photo())
    screen = listed()
    drawing = screen.one(".//svg[@class='place-map']")
    assert drawing.get("aria-label") == "Front, the place is marked"
    sha = board.defects_of(number())[0].photo
    assert screen.one(".//a[@class='defect-photo']").get("href") == f"/photo/{sha}/"
    assert screen.one(".//a[@class='defect-photo']/img").get("src") == f"/photo/{sha}/small/"


def test_a_list_loads_small_pictures_and_a_tap_the_whole_one() -> None:
    out = io.BytesIO()
    Image.effect_noise((1200, 900), 60).save(out, "JPEG")
    told(photo=SimpleUploadedFile("scratch.jpg", out.getvalue(), "image/jpeg"))
    sha = board.defects_of(number())[0].photo
    phone = signed_in("P-31", "I")
    whole: Any = phone.get(f"/photo/{sha}/")
    for _again in range(2):  # made, then read
        small: Any = phone.get(f"/photo/{sha}/small/")
        assert Image.open(io.BytesIO(small.content)).size == (320, 240)
        assert len(small.content) * 4 < len(whole.content)
    assert small["ETag"] != whole["ETag"]
    asked: Any = phone.get(f"/photo/{sha}/small/", headers={"If-None-Match": small["ETag"]})
    assert asked.status_code == 304
    assert phone.get(f"/photo/{'ab' * 32}/small/").status_code == 404


def test_a_picture_whose_file_is_gone_is_said_to_be() -> None:
    told(photo=photo())
    photos.where(board.defects_of(number())[0].photo).unlink()
    gone = "The file of this picture is gone from this machine."
    assert gone in listed().words
    assert gone in seen(signed_in("P-31", "I").get(f"/{tag(SERIAL)}/route/")).words


def test_nothing_of_what_the_first_look_found_shows_on_the_guitars_own_pages(
    today: Clock,
) -> None:
    """Two looks are worth more than one where neither knows what the other found."""
    told(photo=photo(), found_at="I10")
    row = board.defects_of(number())[0].number
    decide = door.DefectDecided(number(), row, "touch-up", "cosmetic")
    done(decide, NOW + MINUTE, "P-31", "I", reason="It polishes out")
    for badge, station, shown in (("P-31", "I", True), ("P-61", "X", True), ("P-32", "R", False)):
        phone = signed_in(badge, station)
        page_of = seen(phone.get(f"/{tag(SERIAL)}"))
        assert ("scratch" in page_of.words) is shown, badge
        assert ("cosmetic" in page_of.words.lower()) is shown, badge
        assert ("a defect close up" in str(phone.get(f"/{tag(SERIAL)}/route/").content)) is shown


def test_what_is_open_comes_before_what_is_closed() -> None:
    closed = note_it(word="dust nib", grade=4)
    done(
        door.DefectDecided(number(), closed, "accept as is"), NOW + MINUTE, "P-31", "I",
        reason="Below the limit",
    )  # fmt: skip
    note_it()
    words = listed().words
    assert words.index("Open: 1") < words.index("Closed: 1")
    for one in ("Accept as is", "Decided by P-31, Mon 09:31.", "Why: Below the limit"):
        assert one in words


def test_the_second_inspector_reads_that_it_opens_after_their_own(today: Clock) -> None:
    cased()
    done(
        door.DefectNoted(number(), "finish", "scratch", 4, 6, "front", found_at="I10"),
        CASED + MINUTE, "P-31", "I",
    )  # fmt: skip
    today.now = moment(8, 9)
    screen = listed("P-32", "R")
    assert "What the first look found opens once you have entered" in screen.words
    assert "Scratch" not in screen.words
    assert "Scratch" in listed("P-31", "I").words


def test_an_operator_reads_the_list_and_is_offered_no_act() -> None:
    row = note_it()
    screen = listed("P-11", "N")
    assert "Scratch" in screen.words
    assert "Note a defect" not in screen.links
    assert not any(f"/defects/{row}/" in to for to in screen.links.values())


def test_the_instruments_page_leads_there_where_it_is_inspected_and_repaired() -> None:
    at_i = seen(signed_in("P-31", "I").get(f"/{tag(SERIAL)}")).links
    assert at_i["Note a defect"] == way("new/")
    assert at_i["All defects of it"] == way()
    at_x = seen(signed_in("P-61", "X").get(f"/{tag(SERIAL)}")).links
    assert "Note a defect" not in at_x
    assert at_x["All defects of it"] == way()
    assert at_x["All repairs"] == "/repairs/"
    assert "All defects of it" not in seen(signed_in("P-11", "N").get(f"/{tag(SERIAL)}")).links


def test_it_is_read_in_as_many_statements_whether_it_has_one_or_many() -> None:
    phone = signed_in("P-31", "I")
    note_it()
    phone.get(way())  # the sheet is remembered
    few = statements(phone)
    for minute in range(1, 6):
        deed = door.DefectNoted(number(), "finish", "pit", 4, 6)
        done(deed, NOW + minute * MINUTE, "P-31", "I")
    assert statements(phone) == few


def statements(phone: Client) -> int:
    with CaptureQueriesContext(connection) as caught:
        phone.get(way())
    return len(caught)
