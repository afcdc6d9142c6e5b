"""The printers of the shop, and the page that shows by how much one prints beside its mark.

Names and figures of printers are invented.
"""

from __future__ import annotations

import doctest
import io
from collections.abc import Callable
from decimal import Decimal
from http import HTTPStatus
from typing import Any
from unittest import mock

import pypdf
import pytest
from django.test import Client
from PIL import Image

from shop.paper import calibrating, press, printers
from shop.paper.facts import calibration
from shop.paper.models import Job, Printer
from shop.paper.refusing import PressMissing
from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW
from tests.paper.reading import INK, pages, pictures, sizes_mm

pytestmark = pytest.mark.usefixtures("morning", "db")

LIST = "/paper/printers/"
DPI = 600  # a line of 0.25 mm is 6 pixels wide
PX = DPI / 25.4
SHOWN_MM = 0.1  # what a page may be out by before a steel rule tells
GATE = 2  # statements: whose badge it is, and its rights
Statements = Callable[[int], Any]


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


@pytest.fixture
def office() -> Printer:
    return Printer.objects.create(name="Office")


def address(printer: Printer) -> str:
    return f"{LIST}{printer.pk}/"


def measured(**differs: str) -> dict[str, str]:
    """What is sent when all four distances are as they should be, on a page not moved."""
    sent = {"sheet": "single", "edge": "long", "moved": "0.0 0.0 0.0 0.0"}
    return sent | dict.fromkeys(calibrating.OFFSETS, "20.0") | differs


def offsets(printer: Printer) -> tuple[str, ...]:
    printer.refresh_from_db()
    return tuple(f"{getattr(printer, name)}" for name in calibrating.OFFSETS)


def values(screen: Screen) -> dict[str, str]:
    """What stands in each field that is written in, by its name."""
    return {
        one.get("name", ""): one.get("value", "")
        for one in screen.root.iter("input")
        if one.get("type") == "text"
    }


def test_the_examples_hold() -> None:
    for module in (printers, calibration):
        result = doctest.testmod(module)
        assert result.attempted > 0
        assert result.failed == 0


def test_before_there_is_a_printer_the_page_says_how_one_comes_here(clerk: Client) -> None:
    screen = seen(clerk.get(LIST))
    assert "No printer yet. Add one by the name that stands on it" in screen.words
    assert "Add it" in screen.buttons


def test_a_printer_is_added_by_its_name_and_its_page_opens(clerk: Client) -> None:
    screen = seen(clerk.post(LIST, {"name": "  Office   laser "}, follow=True))
    assert screen.heading == "Office laser"
    assert "Office laser is added. Print its calibration page next." in screen.words
    made = Printer.objects.get()
    assert (made.name, made.sheet, made.edge) == ("Office laser", "single", "long")
    assert "Office laser" in seen(clerk.get(LIST)).buttons


@pytest.mark.parametrize("again", ["Office", "office", " OFFICE "])
def test_a_name_that_is_known_leads_to_its_printer(
    clerk: Client, office: Printer, again: str
) -> None:
    answer = clerk.post(LIST, {"name": again})
    assert answer["Location"] == address(office)
    assert Printer.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("", "Give the printer a name."),
        ("   ", "Give the printer a name."),
        ("n" * 41, "41 characters. Give it a name of 40 at most."),
    ],
)
def test_a_name_that_is_none_is_answered_with_a_sentence_and_kept(
    clerk: Client, name: str, told: str
) -> None:
    answer = clerk.post(LIST, {"name": name})
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    screen = seen(answer)
    assert told in screen.words
    assert values(screen)["name"] == name
    assert not Printer.objects.exists()


def test_what_is_in_a_printer_and_its_edge_are_kept(clerk: Client, office: Printer) -> None:
    sent = {"sheet": "a4", "edge": "short"} | dict.fromkeys(calibrating.OFFSETS, "")
    screen = seen(clerk.post(address(office), sent, follow=True))
    assert "Kept for Office: front not moved, back not moved." in screen.words
    office.refresh_from_db()
    assert (office.sheet, office.edge) == ("a4", "short")
    chosen = {one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib}
    assert chosen == {"a4", "short"}


def test_offsets_are_twenty_less_what_was_measured_with_a_comma_or_a_point(
    clerk: Client, office: Printer
) -> None:
    sent = measured(right_mm="20,4", down_mm="19.5", back_right_mm=" 21 ", back_down_mm="18,75 mm")
    screen = seen(clerk.post(address(office), sent, follow=True))
    assert offsets(office) == ("-0.4", "0.5", "-1.0", "1.3")
    assert (
        "Kept for Office: front moved 0.4 mm to the left, 0.5 mm down, "
        "back moved 1.0 mm to the left, 1.3 mm down." in screen.words
    )


def test_a_distance_left_empty_leaves_what_is_kept_for_it(clerk: Client, office: Printer) -> None:
    clerk.post(address(office), measured(right_mm="20.4", back_down_mm="19.0"))
    clerk.post(address(office), measured(right_mm="", down_mm="20.2", back_down_mm=""))
    assert offsets(office) == ("-0.4", "-0.2", "0.0", "1.0")


def test_what_is_measured_on_a_page_that_was_moved_is_added_to_its_move(
    clerk: Client, office: Printer
) -> None:
    clerk.post(address(office), measured(right_mm="20.4"))
    screen = seen(clerk.get(address(office)))
    kept = "-0.4 0.0 0.0 0.0"
    assert screen.one(f".//input[@name='moved'][@value='{kept}']").get("checked") is not None
    clerk.post(address(office), measured(right_mm="20.1", moved=kept))
    assert offsets(office) == ("-0.5", "0.0", "0.0", "0.0")


def test_the_second_page_proves_the_first_and_changes_nothing(
    clerk: Client, office: Printer
) -> None:
    clerk.post(address(office), measured(right_mm="20.4", back_down_mm="19.2"))
    clerk.post(address(office), measured(moved="-0.4 0.0 0.0 0.8"))
    assert offsets(office) == ("-0.4", "0.0", "0.0", "0.8")


def test_a_second_tap_means_the_same_as_the_first(clerk: Client, office: Printer) -> None:
    clerk.post(address(office), measured(right_mm="20.4"))
    again = measured(right_mm="20.1", moved="-0.4 0.0 0.0 0.0")
    for _ in range(2):
        assert clerk.post(address(office), again).status_code == HTTPStatus.FOUND
    assert offsets(office) == ("-0.5", "0.0", "0.0", "0.0")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("twenty", "twenty is no number. Write it as 8.73 or 8,73."),
        ("20,4,1", "20,4,1 is no number."),
        ("31", "31 is too far from 20.0: more than 10 mm is not put right here."),
        ("-20", "-20 is too far from 20.0"),
        ("0", "0 is too far from 20.0"),
        ("1e3", "1e3 is no number."),
    ],
)
def test_a_figure_that_cannot_be_is_answered_with_a_sentence_and_all_is_kept_as_typed(
    clerk: Client, office: Printer, typed: str, told: str
) -> None:
    sent = measured(right_mm="20,3", down_mm=typed, sheet="letter")
    answer = clerk.post(address(office), sent)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    screen = seen(answer)
    assert told in screen.words
    assert values(screen) == {name: sent[name] for name in calibrating.OFFSETS}
    field = screen.one(".//input[@name='down_mm']")
    assert field.get("aria-invalid") == "true"
    office.refresh_from_db()
    assert office.sheet == "single"
    assert offsets(office) == ("0.0", "0.0", "0.0", "0.0")


def test_an_offset_that_grows_too_far_is_refused(clerk: Client, office: Printer) -> None:
    clerk.post(address(office), measured(right_mm="11"))
    answer = clerk.post(address(office), measured(right_mm="18", moved="9.0 0.0 0.0 0.0"))
    assert "18 is too far from 20.0" in seen(answer).words
    assert offsets(office)[0] == "9.0"


@pytest.mark.parametrize(
    ("differs", "told"),
    [
        ({"sheet": "a3"}, "a3 is none of these. Choose one."),
        ({"edge": ""}, "Choose one of these."),
        ({"moved": "0.0 x"}, "Choose what stands on the page you measured."),
        ({"moved": "1.0"}, "Choose what stands on the page you measured."),
    ],
)
def test_a_choice_there_is_not_is_answered_with_a_sentence(
    clerk: Client, office: Printer, differs: dict[str, str], told: str
) -> None:
    clerk.post(address(office), measured(right_mm="20.4"))
    answer = clerk.post(address(office), measured(right_mm="20.1") | differs)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert told in seen(answer).words
    assert offsets(office)[0] == "-0.4"


def test_a_printer_is_removed_and_what_was_printed_on_it_stays(
    clerk: Client, office: Printer
) -> None:
    job = Job.objects.create(
        key="00000000-0000-4000-8000-000000000001", form="body_tag", names=["Q-1043"],
        sheet="single", edge="long", printer=office, badge="P-41", asked_at=NOW,
        asked_by=Badge.objects.get(code="P-41"),
    )  # fmt: skip
    screen = seen(clerk.post(f"{address(office)}remove/", follow=True))
    assert "Office is removed." in screen.words
    assert not Printer.objects.exists()
    job.refresh_from_db()
    assert job.printer is None


def test_a_printer_removed_by_a_second_tap_leads_to_the_list(
    clerk: Client, office: Printer
) -> None:
    for _ in range(2):
        assert clerk.post(f"{address(office)}remove/")["Location"] == LIST


@pytest.mark.parametrize("ending", ["", "page/"])
@pytest.mark.parametrize("number", [0, 999_999, 10**30])
def test_a_printer_that_is_not_there_is_not_found(clerk: Client, ending: str, number: int) -> None:
    assert clerk.get(f"{LIST}{number}/{ending}").status_code == HTTPStatus.NOT_FOUND


def test_who_may_not_print_sees_no_printer(office: Printer) -> None:
    operator = signed_in("P-11")
    for path in (LIST, address(office), f"{address(office)}page/"):
        assert operator.get(path).status_code == HTTPStatus.FORBIDDEN
    assert operator.post(f"{address(office)}remove/").status_code == HTTPStatus.FORBIDDEN
    assert Printer.objects.exists()


def test_a_name_is_text_and_nothing_else(clerk: Client) -> None:
    name = '<img src="file:///x"> {% now %}'
    screen = seen(clerk.post(LIST, {"name": name}, follow=True))
    assert screen.heading == name
    (front, _back) = pages(clerk.get(f"{LIST}{Printer.objects.get().pk}/page/").content)
    assert "".join(name.split()) in front.text


def test_the_pages_take_the_same_statements_for_any_number_of_printers(
    clerk: Client, office: Printer, django_assert_num_queries: Statements
) -> None:
    clerk.get(LIST)  # the words of the stations are kept from here on
    for more in (0, 5):
        Printer.objects.bulk_create(Printer(name=f"Bench {number}") for number in range(more))
        with django_assert_num_queries(GATE + 1):
            clerk.get(LIST)
        with django_assert_num_queries(GATE + 1):
            clerk.get(address(office))
        with django_assert_num_queries(GATE + 1):
            clerk.get(f"{address(office)}page/")
    with django_assert_num_queries(GATE + 2):
        clerk.post(address(office), measured())


def page_of(clerk: Client, printer: Printer, asked: str = "") -> bytes:
    answer = clerk.get(f"{address(printer)}page/{asked}")
    assert answer.status_code == HTTPStatus.OK
    assert answer["Content-Type"] == "application/pdf"
    content: bytes = answer.content
    return content


@pytest.mark.parametrize(
    ("kept", "asked", "size"),
    [
        ("single", "", (210, 297)),
        ("a4", "", (210, 297)),
        ("letter", "", (215.9, 279.4)),
        ("letter", "?paper=a4", (210, 297)),
        ("a4", "?paper=letter", (215.9, 279.4)),
        ("a4", "?paper=../x", (210, 297)),
    ],
)
def test_the_calibration_page_is_one_sheet_of_the_paper_in_the_printer(
    clerk: Client, kept: str, asked: str, size: tuple[float, float]
) -> None:
    """ISO 216:2007; Letter is 8.5 × 11 inches, ANSI/ASME Y14.1."""
    printer = Printer.objects.create(name="Office", sheet=kept)
    pdf = page_of(clerk, printer, asked)
    assert len(sizes_mm(pdf)) == 2
    for width, height in sizes_mm(pdf):
        assert (width, height) == pytest.approx(size, abs=0.1)


def upright_lines(side: Image.Image) -> list[float]:
    """The middle of every line that runs down most of a side, in mm from the left edge."""
    return lines(side.transpose(Image.Transpose.TRANSPOSE))


def lines(side: Image.Image) -> list[float]:
    """The middle of every line that runs across most of a side, in mm from the upper edge."""
    dark = side.point(lambda grey: 255 * (grey < INK))
    rows = dark.resize((1, dark.height), Image.Resampling.BOX).tobytes()
    found, start = [], None
    for y, share in enumerate([*rows, 0]):
        if share > 0.8 * 255 and start is None:
            start = y
        elif share <= 0.8 * 255 and start is not None:
            found.append((start + y) / 2 / PX)
            start = None
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_both_lines_lie_twenty_from_the_edges_on_both_sides(
    clerk: Client, office: Printer, paper: str
) -> None:
    for side in pictures(page_of(clerk, office, f"?paper={paper}"), DPI):
        assert upright_lines(side)[0] == pytest.approx(20.0, abs=SHOWN_MM)
        assert lines(side)[0] == pytest.approx(20.0, abs=SHOWN_MM)


def test_a_second_page_is_drawn_with_what_is_kept_and_says_so(clerk: Client) -> None:
    kept: dict[str, Any] = dict(
        zip(calibrating.OFFSETS, ("0.4", "-0.5", "-1.2", "0.3"), strict=True)
    )
    pdf = page_of(clerk, Printer.objects.create(name="Office", **kept))
    front, back = pictures(pdf, DPI)
    assert upright_lines(front)[0] == pytest.approx(20.4, abs=SHOWN_MM)
    assert lines(front)[0] == pytest.approx(19.5, abs=SHOWN_MM)
    assert upright_lines(back)[0] == pytest.approx(18.8, abs=SHOWN_MM)
    assert lines(back)[0] == pytest.approx(20.3, abs=SHOWN_MM)
    said = [page.text for page in pages(pdf)]
    assert "Thisfrontismoved0.4mmtotheright,0.5mmup" in said[0]
    assert "Thisbackismoved1.2mmtotheleft,0.3mmdown" in said[1]


@pytest.mark.parametrize("out", [(0.6, -0.9, -1.1, 0.2), (-3.0, 2.5, 0.0, 4.4)])
def test_a_printer_that_prints_beside_its_mark_is_put_right_by_one_page(
    clerk: Client, office: Printer, out: tuple[float, ...]
) -> None:
    """The printer is played: what it prints lies so far to the right and down."""
    by_name = dict(zip(calibrating.OFFSETS, out, strict=True))
    clerk.post(
        address(office), measured(**{name: f"{20 + by:.1f}" for name, by in by_name.items()})
    )
    front, back = pictures(page_of(clerk, office), DPI)
    shown = [upright_lines(front)[0], lines(front)[0], upright_lines(back)[0], lines(back)[0]]
    on_paper = [at + by for at, by in zip(shown, out, strict=True)]
    assert on_paper == pytest.approx([20.0] * 4, abs=SHOWN_MM)


def test_the_page_says_in_plain_words_what_to_measure(clerk: Client, office: Printer) -> None:
    front, back = pages(page_of(clerk, office))
    for side in (front, back):
        assert "Measurefromtheleftedgeofthepapertotheuprightline:itshouldbe20.0mm." in side.text
        assert "Measurefromtheupperedgeofthepapertothelevelline:itshouldbe20.0mm." in side.text
        assert "Office" in side.text
    assert "Printat100%" in front.text
    assert "itflipsontheshortedge" in back.text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_letter_of_the_page_is_smaller_than_paper_is_read(
    clerk: Client, office: Printer, paper: str
) -> None:
    """Capitals and figures of 2.5 mm at least: common practice, no source."""
    for side in pages(page_of(clerk, office, f"?paper={paper}")):
        tall = [one.height for one in side.glyphs if one.char in "ABDEFHKLMNPRTXYZ0123456789"]
        assert min(tall) > 2.45


def test_the_rules_count_from_the_edges_of_the_paper(clerk: Client, office: Printer) -> None:
    """Each figure stands over the mark of its tens, measured from the edge."""
    (front, _) = pages(page_of(clerk, office))
    foot = [one for one in front.glyphs if one.bottom < 18 and one.left < 190]
    text = "".join(one.char for one in foot)
    assert text == "406080100120140160180"
    for at, two in ((40, foot[0:2]), (60, foot[2:4]), (80, foot[4:6])):
        assert (two[0].left + two[1].right) / 2 == pytest.approx(at, abs=0.3)


def test_a_press_that_is_missing_is_told_on_the_printers_page(
    clerk: Client, office: Printer
) -> None:
    missing = mock.patch.object(press, "typesetter", side_effect=PressMissing("no Pango"))
    with missing:
        answer = clerk.get(f"{address(office)}page/")
    assert answer.status_code == HTTPStatus.SERVICE_UNAVAILABLE
    assert "Printing is off: no Pango." in seen(answer).words


def test_the_file_has_a_title_and_a_name(clerk: Client, office: Printer) -> None:
    answer = clerk.get(f"{address(office)}page/")
    assert answer["Content-Disposition"] == 'inline; filename="calibration-a4.pdf"'
    told = pypdf.PdfReader(io.BytesIO(answer.content)).metadata
    assert told is not None
    assert told.title == "Calibration page Office"


def test_offsets_are_kept_to_a_tenth() -> None:
    assert printers._offset("20.34", Decimal(0)) == Decimal("-0.3")
    assert printers._offset("0.8 in", Decimal(0)) == Decimal("-0.3")
