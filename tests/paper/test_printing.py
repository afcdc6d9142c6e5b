"""A last look and the print itself, as a browser asks for them."""

from __future__ import annotations

import io
import re
import sys
import uuid
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from PIL import Image

from shop.floor import board, door
from shop.floor.models import Entry, Print, Tag
from shop.paper import jobs, picture
from shop.paper.models import Job, Printer
from tests.floor.morning import act, now
from tests.paper.phones import print_now, signed_in
from tests.paper.reading import pictures, sizes_mm, squares

pytestmark = pytest.mark.usefixtures("morning", "db", "folder")


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


def page_of(answer: Any) -> str:
    """The page without the breaks between its words."""
    return " ".join(answer.content.decode().split())


def chosen(page: str, name: str) -> str:
    """Which of some keys to tap is tapped."""
    (value,) = re.findall(rf'name="{name}" value="([^"]*)" checked', page)
    return str(value)


def test_a_last_look_shows_a_picture_and_how_much_paper_it_takes(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/look/?form=traveller&serial=Q-1043&serial=Q-1055"))
    assert 'src="/paper/preview/?form=traveller&amp;name=Q-1043"' in page
    assert "<b>2 sheets</b>, both sides" in page
    assert "polypropylene pocket" in page
    assert chosen(page, "sheet") == "single"
    assert 'name="place"' not in page  # one to a page has no places


def test_a_last_look_at_a_tag_says_what_it_is_printed_on_and_hangs_by(clerk: Client) -> None:
    """Common practice, no source."""
    page = page_of(clerk.get("/paper/look/?form=body_tag&serial=Q-1043"))
    for told in ("resin ribbon", "3 mm or more", "No metal eyelet", "cord, 200 mm or longer"):
        assert told in page


def test_the_picture_is_the_front_of_the_print_and_records_nothing(clerk: Client) -> None:
    before = Entry.objects.count()
    answer = clerk.get("/paper/preview/?form=body_tag&name=Q-1043")
    assert answer["Content-Type"] == "image/png"
    assert "no-store" in answer["Cache-Control"]
    drawn = Image.open(io.BytesIO(answer.content))
    # 74 × 105 mm, ISO 216:2007, at 150 dots an inch.
    assert abs(drawn.width - 74 / 25.4 * 150) < 2
    assert abs(drawn.height - 105 / 25.4 * 150) < 2
    (square,) = squares(drawn)
    assert square.text.endswith(f"/{board.tags_of(['Q-1043'])['Q-1043']['body']}")
    assert (Entry.objects.count(), Print.objects.count(), Job.objects.count()) == (before, 0, 0)


def test_the_picture_of_a_large_form_is_no_wider_than_a_phone_can_show(clerk: Client) -> None:
    answer = clerk.get("/paper/preview/?form=packing&name=Q-1043")
    assert Image.open(io.BytesIO(answer.content)).width == picture.WIDEST_PX


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("form=traveller&name=Q-9999", "There is no instrument Q-9999 here."),
        ("form=as_built&name=Q-1043", "Q-1043 is not released yet"),
        ("form=menu&name=Q-1043", "There is no form “menu”."),
        ("form=traveller", "Nothing was chosen."),
    ],
)
def test_what_has_no_picture_says_why(clerk: Client, asked: str, told: str) -> None:
    answer = clerk.get(f"/paper/preview/?{asked}")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert told in answer.content.decode()


def test_many_to_a_sheet_ask_where_to_start_and_say_how_many_sheets(clerk: Client) -> None:
    asked = {"form": "body_tag", "names": "Q-1043\nQ-1055\nQ-1058", "sheet": "a4", "place": "7"}
    page = page_of(clerk.post("/paper/look/", asked))
    assert re.findall(r'name="place" value="(\d)"', page) == list("12345678")
    assert chosen(page, "place") == "7"
    assert "<b>2 sheets of A4</b>, both sides" in page  # places 7 and 8, and one more
    assert "8 on a sheet of A4, from place 7" in page


def test_a_tap_changes_only_the_part_about_the_paper(clerk: Client) -> None:
    asked = {"form": "body_tag", "names": "Q-1043", "sheet": "a4"}
    part = page_of(clerk.post("/paper/look/", asked, headers={"HX-Request": "true"}))
    assert part.startswith('<div id="laying"')
    assert "<details open>" in part
    assert "<h1>" not in part


@pytest.mark.parametrize("place", ["9", "0", "-1", "two"])
def test_a_place_that_no_sheet_has_is_taken_for_the_first(clerk: Client, place: str) -> None:
    asked = {"form": "body_tag", "names": "Q-1043", "sheet": "a4", "place": place}
    assert chosen(page_of(clerk.post("/paper/look/", asked)), "place") == "1"


def test_a_form_as_large_as_the_sheet_is_offered_one_to_a_page_alone(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/look/?form=packing&serial=Q-1043"))
    assert re.findall(r'name="sheet" value="(\w+)"', page) == ["single"]


def test_papers_of_several_pages_say_how_many_they_take_at_least(clerk: Client) -> None:
    one = page_of(clerk.get("/paper/look/?form=packing&serial=Q-1043"))
    assert "<b>5 sheets or more</b>" in one
    many = {"form": "packing", "names": "Q-1043\nQ-1055"}
    assert "<b>10 sheets or more</b>" in page_of(clerk.post("/paper/look/", many))


def test_another_printer_brings_its_own_paper_along(clerk: Client) -> None:
    printer = Printer.objects.create(name="By the door", sheet="a4", edge="short")
    asked = {"form": "body_tag", "names": "Q-1043", "sheet": "single", "edge": "long"}
    page = page_of(clerk.post("/paper/look/", {**asked, "printer": printer.pk}))
    assert (chosen(page, "sheet"), chosen(page, "edge")) == ("a4", "short")
    # What is tapped from then on stays as tapped.
    kept = {**asked, "printer": printer.pk, "laid_for": printer.pk}
    page = page_of(clerk.post("/paper/look/", kept))
    assert (chosen(page, "sheet"), chosen(page, "edge")) == ("single", "long")


def test_the_printer_of_the_last_print_is_chosen_the_next_time(clerk: Client) -> None:
    printer = Printer.objects.create(name="By the door", sheet="a4", edge="short")
    print_now(clerk, "tray_label", "Q-1043", printer=printer.pk)
    page = page_of(clerk.get("/paper/look/?form=body_tag&serial=Q-1043"))
    assert chosen(page, "printer") == str(printer.pk)
    assert chosen(page, "sheet") == "a4"


def test_a_printer_that_is_gone_is_chosen_no_more(clerk: Client) -> None:
    printer = Printer.objects.create(name="By the door")
    print_now(clerk, "tray_label", "Q-1043", printer=printer.pk)
    printer.delete()
    page = page_of(clerk.get("/paper/look/?form=body_tag&serial=Q-1043"))
    assert chosen(page, "printer") == ""


def test_a_few_are_printed_at_once_and_their_pdf_opens(clerk: Client) -> None:
    answer = print_now(clerk, "body_tag", "Q-1043", "Q-1055")
    job = Job.objects.get()
    assert answer["Location"] == f"/paper/jobs/{job.pk}/print.pdf"
    pdf = clerk.get(answer["Location"])
    assert pdf["Content-Type"] == "application/pdf"
    assert pdf["Content-Disposition"] == 'inline; filename="body-tag-Q-1043-and-1-more.pdf"'
    assert "no-store" in pdf["Cache-Control"]
    assert len(sizes_mm(pdf.content)) == 4  # two tags, both sides
    (square,) = squares(pictures(pdf.content, 150)[0])
    assert square.text.endswith(f"/{board.tags_of(['Q-1043'])['Q-1043']['body']}")


def test_a_print_says_who_asked_where_and_on_what(clerk: Client) -> None:
    printer = Printer.objects.create(name="By the door", sheet="a4")
    laid = {"printer": printer.pk, "laid_for": printer.pk, "sheet": "a4", "edge": "short"}
    clock = "2031-03-03T09:31:00Z"
    print_now(clerk, "body_tag", "Q-1043", place="3", clock=clock, **laid)
    job = Job.objects.get()
    assert (job.badge, job.printer, job.sheet, job.first, job.edge) == (
        "P-41", printer, "a4", 2, "short",
    )  # fmt: skip
    assert job.claimed_at is not None
    assert job.claimed_at.isoformat() == "2031-03-03T09:31:00+00:00"
    row = Entry.objects.get(kind="print")
    assert (row.subject, row.by.code, row.data["form"]) == ("Q-1043", "P-41", "body_tag")


def test_a_print_tapped_twice_is_printed_once(clerk: Client) -> None:
    key = str(uuid.uuid4())
    answers = [print_now(clerk, "traveller", "Q-1043", key=key) for _ in range(2)]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert Print.objects.get().copy == 1


def test_a_key_of_another_print_is_told_with_what_was_chosen(clerk: Client) -> None:
    key = str(uuid.uuid4())
    print_now(clerk, "traveller", "Q-1043", key=key)
    answer = print_now(clerk, "traveller", "Q-1055", key=key)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    page = page_of(answer)
    assert "carries the key of another" in page
    assert 'name="names" value="Q-1055"' in page
    assert key not in page  # the page that says so has a key of its own


def test_what_cannot_be_printed_is_named_on_the_page_of_the_print(clerk: Client) -> None:
    answer = print_now(clerk, "neck_tag", "Q-1058", "Q-1050")
    job = Job.objects.get()
    assert answer["Location"] == f"/paper/jobs/{job.pk}/"
    page = page_of(clerk.get(answer["Location"]))
    assert "1 not printed" in page
    assert "is one pair with Q-1050 and its tag has retired" in page
    assert f'href="/paper/jobs/{job.pk}/print.pdf"' in page


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("form=traveller&serial=Q-9999", "There is no instrument Q-9999 here."),
        ("form=as_built&serial=Q-1043", "Q-1043 is not released yet"),
        ("form=neck_tag&serial=Q-1050", "is one pair with Q-1050"),
        ("form=traveller", "Nothing was chosen."),
        ("serial=Q-1043", "No form was chosen."),
        ("form=%3Cb%3E&serial=Q-1043", "There is no form “&lt;b&gt;” here."),
    ],
)
def test_what_cannot_be_printed_is_said_before_anything_is(
    clerk: Client, asked: str, told: str
) -> None:
    answer = clerk.get(f"/paper/look/?{asked}")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    page = page_of(answer)
    assert told in page
    assert ">Print</button>" not in page


def test_one_of_several_that_cannot_be_printed_does_not_stop_the_others(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/look/?form=traveller&serial=Q-1043&serial=Q-9999"))
    assert "There is no instrument Q-9999 here." in page
    assert "<b>1 sheet</b>" in page
    assert ">Print</button>" in page


def test_nothing_chosen_keeps_the_form(clerk: Client) -> None:
    answer = print_now(clerk, "neck_tag")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    page = page_of(answer)
    assert "Nothing was chosen." in page
    assert "Neck tag: of which instruments?" in page
    assert not Job.objects.exists()


def test_too_many_are_told_with_all_of_them_kept(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "MOST", 1)
    answer = print_now(clerk, "traveller", "Q-1043", "Q-1055")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert "2 were chosen, and one print takes 1." in page_of(answer)
    assert 'value="Q-1043\nQ-1055"' in answer.content.decode()


def test_too_many_are_told_at_the_last_look_and_not_all_asked_for(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A statement takes 65,535 values on PostgreSQL, and 250,000 on SQLite."""
    monkeypatch.setattr(jobs, "MOST", 1)
    answer = clerk.post("/paper/look/", {"form": "traveller", "names": "Q-1043\nX-1\nX-2"})
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    page = page_of(answer)
    assert "3 were chosen, and one print takes 1." in page
    assert "There is no instrument" not in page


@pytest.mark.parametrize("form", ["body_tag", "bin_label", "badge_card", "station_card"])
def test_a_zero_character_in_a_name_is_passed_over(clerk: Client, form: str) -> None:
    """PostgreSQL takes none, not even in a question."""
    for page in ("?serial=", "look/?serial=", "preview/?name="):
        answer = clerk.get(f"/paper/{page}Q-99%0099&form={form}")
        assert answer.status_code in {HTTPStatus.OK, HTTPStatus.UNPROCESSABLE_ENTITY}
        assert "Q-9999 here" in page_of(answer)


def body_code(serial: str) -> str:
    return board.tags_of([serial])[serial]["body"]


def test_a_tag_printed_before_asks_why_and_says_that_the_old_one_is_void(clerk: Client) -> None:
    print_now(clerk, "body_tag", "Q-1043")
    code = body_code("Q-1043")
    page = page_of(clerk.get("/paper/look/?form=body_tag&serial=Q-1043&serial=Q-1055"))
    assert "1 tag hangs already. A new one makes the old one void" in page
    assert "<b>Q-1043</b> printed" in page
    assert "<b>Q-1055</b> printed" not in page
    unsaid = print_now(clerk, "body_tag", "Q-1043", sheet="a4", place="4")
    assert unsaid.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert "Say why it is printed again." in page_of(unsaid)
    assert chosen(page_of(unsaid), "place") == "4"
    assert body_code("Q-1043") == code
    said = print_now(clerk, "body_tag", "Q-1043", reason="The old one is lost")
    assert said["Location"].endswith("/print.pdf")
    assert Tag.objects.get(code=code).void_at is not None
    assert body_code("Q-1043") != code


def test_words_of_ones_own_go_before_the_reason_that_was_tapped(clerk: Client) -> None:
    print_now(clerk, "body_tag", "Q-1043")
    print_now(clerk, "body_tag", "Q-1043", reason="The old one is lost", words="Buffed off")
    assert Job.objects.latest("id").reason == "Buffed off"


def test_a_tag_that_was_replaced_is_printed_without_asking_why(clerk: Client) -> None:
    replaced = door.TagReplaced(body_code("Q-1055"), "lost", "Q-1055")
    assert door.record(act("P-01", "", reason="lost"), replaced).done
    page = page_of(clerk.get("/paper/look/?form=body_tag&serial=Q-1055"))
    assert "Why again?" not in page
    assert print_now(clerk, "body_tag", "Q-1055")["Location"].endswith("/print.pdf")


def test_a_paper_that_is_no_tag_is_printed_again_without_asking_why(clerk: Client) -> None:
    for _ in range(2):
        assert print_now(clerk, "traveller", "Q-1043")["Location"].endswith("/print.pdf")
    assert list(Print.objects.values_list("copy", flat=True)) == [1, 2]


@pytest.mark.parametrize(
    ("form", "name"),
    [("badge_card", "P-11"), ("bin_label", "A-03"), ("lot_label", "1"), ("station_card", "J")],
)
def test_what_is_of_no_instrument_is_printed_and_stands_in_no_journal(
    clerk: Client, form: str, name: str
) -> None:
    before = Entry.objects.count()
    assert name in page_of(clerk.get(f"/paper/look/?form={form}&serial={name}"))
    assert print_now(clerk, form, name)["Location"].endswith("/print.pdf")
    assert Entry.objects.count() == before


def test_many_are_put_off_and_their_page_says_so(clerk: Client) -> None:
    names = [one.serial for one in board.all_open()][: jobs.SMALL + 1]
    answer = print_now(clerk, "traveller", *names)
    job = Job.objects.get()
    assert answer["Location"] == f"/paper/jobs/{job.pk}/"
    assert "13 wait for the press." in page_of(clerk.get(answer["Location"]))


def test_a_shop_that_cannot_print_says_so_and_what_to_install(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    asked = "form=traveller&serial=Q-1043"
    for answer in (
        clerk.get(f"/paper/look/?{asked}"),
        clerk.get("/paper/preview/?form=traveller&name=Q-1043"),
        print_now(clerk, "traveller", "Q-1043"),
    ):
        assert answer.status_code == HTTPStatus.SERVICE_UNAVAILABLE
        assert "Printing is off" in answer.content.decode()
    assert 'value="Q-1043" checked' in page_of(clerk.get(f"/paper/look/?{asked}"))
    assert not Job.objects.exists()


def test_a_print_without_a_key_is_refused(clerk: Client) -> None:
    answer = print_now(clerk, "traveller", "Q-1043", key="")
    assert answer.status_code == HTTPStatus.BAD_REQUEST
    assert not Job.objects.exists()


def test_an_address_alone_prints_nothing(clerk: Client) -> None:
    answer = clerk.get("/paper/print/?form=traveller&serial=Q-1043")
    assert answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED
    assert not Job.objects.exists()


@pytest.mark.parametrize(
    "address",
    [
        "/paper/look/?form=traveller&serial=Q-1043",
        "/paper/preview/?form=traveller&name=Q-1043",
    ],
)
def test_an_operator_may_not_print_and_nobody_is_asked_for_a_badge(address: str) -> None:
    assert signed_in("P-11").get(address).status_code == HTTPStatus.FORBIDDEN
    assert print_now(signed_in("P-11"), "traveller", "Q-1043").status_code == HTTPStatus.FORBIDDEN
    assert Client().get(address).status_code == HTTPStatus.UNAUTHORIZED


@pytest.mark.parametrize(
    ("badge", "page", "form"),
    [
        ("P-01", "/release/Q-1043/", "traveller"),
        ("P-01", "/release/Q-1043/", "body_tag"),
        ("P-01", "/release/Q-1043/", "neck_tag"),
        ("P-01", "/release/Q-1043/", "tray_label"),
        ("P-41", "/trays/{tray}/", "tray_label"),
    ],
)
def test_the_pages_that_offer_a_print_lead_to_its_last_look(
    badge: str, page: str, form: str
) -> None:
    client = signed_in(badge)
    shown = client.get(page.format(tray=now("Q-1043").tray_code)).content.decode()
    way = f"/paper/look/?form={form}&amp;serial=Q-1043"
    assert f'href="{way}"' in shown
    assert client.get(way.replace("&amp;", "&")).status_code == HTTPStatus.OK
