"""A page laid out once and stamped is the page that would have been laid out by itself."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any
from unittest import mock

import pypdf
import pytest
from django.template import loader
from pikepdf import Pdf
from PIL import Image, ImageChops

from shop.floor import board
from shop.paper import press, typesetting
from shop.paper.laid_out import LaidOut
from shop.paper.plates import Plate, Unplaced
from shop.paper.scan import Scan
from shop.paper.stamps import STAND_IN, Stamp, Stamps
from shop.paper.symbol import symbol
from shop.paper.typesetting import lay_out
from tests.floor.morning import NOW
from tests.paper.printing import CUSTOM, FORMS, NASTY, ONE_OF_EACH, drawn, release_more, release_new
from tests.paper.reading import pages, pictures, squares, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("more")]

every_form = pytest.mark.parametrize("form", FORMS)
# Three of one spec that nothing is done on, nor anything put into their trays.
ALIKE = ["Q-1081", "Q-1082", "Q-1083"]


@pytest.fixture(scope="module")
def more(morning: None, django_db_blocker: Any) -> None:
    """An instrument of each of the eight specs, one of nasty words, and three alike."""
    with django_db_blocker.unblock():
        release_more()
        for serial in ALIKE:
            release_new(serial, f"K-{serial[2:]}", "TARN")


@pytest.fixture(autouse=True)
def codes(monkeypatch: pytest.MonkeyPatch) -> None:
    """A traveller's code is new each time it is drawn; here it follows from the serial."""
    real = press._scan

    def scan(form: Any, one: board.State, coming: Any) -> Any:
        if form.carries == "own":
            return Scan.of(f"PQ{one.last_four}X")
        return real(form, one, coming)

    monkeypatch.setattr(press, "_scan", scan)


@pytest.fixture
def laid() -> Iterator[list[str]]:
    """The pages that were laid out, as they went to the typesetter."""
    seen: list[str] = []

    def seeing(page: str, styles: tuple[str, ...]) -> LaidOut:
        seen.append(page)
        return lay_out(page, styles)

    with mock.patch.object(typesetting, "lay_out", seeing):
        yield seen


def same(one: Image.Image, two: Image.Image) -> bool:
    return one.size == two.size and ImageChops.difference(one, two).getbbox() is None


@every_form
def test_stamped_and_laid_out_by_itself_are_one_picture(form: str) -> None:
    """Of each of the eight specs, and of a custom order."""
    serials = [*ONE_OF_EACH.values(), CUSTOM]
    stamped = pictures(press.proof(form, serials, NOW), 144)
    plain = pictures(press.proof(form, serials, NOW, plain=True), 144)
    assert len(stamped) == len(plain) >= len(serials)
    assert [same(one, two) for one, two in zip(stamped, plain, strict=True)] == [True] * len(plain)


def test_pictures_that_differ_are_told_apart() -> None:
    """Holds the measure of the test before to one figure in a date."""
    (one,) = pictures(press.proof("tray_label", [ALIKE[0]], NOW), 144)
    (two,) = pictures(press.proof("tray_label", [ALIKE[0]], NOW.replace(minute=31)), 144)
    assert same(one, one)
    assert not same(one, two)


@every_form
def test_instruments_that_differ_in_figures_alone_share_one_layout(
    form: str, laid: list[str]
) -> None:
    sheaf = drawn(form, ALIKE)
    assert len(sheaf.drawn) == 3
    assert len(laid) == 1
    codes = [squares(side)[0].text for side in pictures(press.bound(sheaf.pdf, ""), 150)]
    assert len(set(codes)) == 3


@every_form
def test_what_is_stamped_can_be_marked_and_copied_as_text(form: str, laid: list[str]) -> None:
    sheaf = drawn(form, ALIKE)
    found = pages(press.bound(sheaf.pdf, ""))
    assert len(laid) == 1
    for it in sheaf.drawn:
        one: board.State = it.page.thing
        four = (one.neck or "")[-4:] if form == "neck_tag" else one.last_four
        code = press._scan(sheaf.form, one, it.page.next)
        assert code is not None
        for page in found[it.first : it.first + it.count]:
            assert four in page.text
            assert code.printed in page.text
            assert "printed2031-03-0309:30" in page.text


def test_deviations_of_its_own_take_a_layout_of_their_own(laid: list[str]) -> None:
    sheaf = drawn("traveller", [ALIKE[0], NASTY, CUSTOM, ALIKE[1]])
    assert len(laid) == 3
    text = words(press.bound(sheaf.pdf, ""))
    assert text.count("Goldtuningmachines") == 1


def test_a_page_is_laid_out_whole_where_its_type_lacks_a_letter(
    laid: list[str], caplog: pytest.LogCaptureFixture
) -> None:
    """A font that was cut down to fewer letters than a stamp may bring."""
    few = typesetting.ALPHABET.replace("0123456789", "0")
    with mock.patch.object(typesetting, "ALPHABET", few):
        pdf = press.proof("tray_label", ALIKE[:2], NOW)
    assert len(laid) == 1 + 2
    assert f"Tray label of {ALIKE[0]} is laid out by itself." in caplog.text
    whole = press.proof("tray_label", ALIKE[:2], NOW, plain=True)
    for one, two in zip(pictures(pdf, 144), pictures(whole, 144), strict=True):
        assert same(one, two)


def test_one_that_cannot_be_laid_out_whole_either_is_told_and_the_rest_is_drawn() -> None:
    """Its own layout fails, as where the disk of the machine is full at that moment."""
    real = Plate.pull

    def lacking(plate: Plate, stamps: Any) -> int:
        if any(one.words == ALIKE[1] for one in stamps):
            raise Unplaced("The type has no '1'.")
        return real(plate, stamps)

    def failing(page: str, styles: tuple[str, ...]) -> LaidOut:
        if ALIKE[1] in page:
            raise OSError("no space left")
        return lay_out(page, styles)

    with (
        mock.patch.object(Plate, "pull", lacking),
        mock.patch.object(typesetting, "lay_out", failing),
    ):
        sheaf = press.draw("tray_label", ALIKE, NOW)
    assert [one.page.name for one in sheaf.drawn] == [ALIKE[0], ALIKE[2]]
    ((name, why),) = sheaf.refused
    assert (name, "no space left" in str(why)) == (ALIKE[1], True)


def test_a_page_is_laid_out_whole_where_a_stamp_is_not_found(laid: list[str]) -> None:
    """A stamp on a page that is never shown, as in a drawing's summary."""
    real = loader.render_to_string

    def hiding(template: str, said: dict[str, Any]) -> str:
        html = real(template, said)
        return html + str(said["stamps"].text("7")).replace("<span", "<span hidden")

    with mock.patch.object(press, "render_to_string", hiding):
        pdf = press.proof("body_tag", [ALIKE[0]], NOW)
    assert len(laid) == 2
    assert len(pages(pdf)) == 2


def test_a_stamp_without_figures_is_laid_out_as_words() -> None:
    stamps = Stamps()
    assert (str(stamps.text("none")), stamps.text("")) == ("none", "")
    assert stamps.them == []


def test_a_stamp_is_taken_as_text_whatever_it_holds() -> None:
    for plain in (False, True):
        assert "&lt;b&gt;" in Stamps(plain).text("<b>7")


def test_every_stamp_has_a_colour_of_its_own() -> None:
    stamps = Stamps()
    said = [str(stamps.text(number)) for number in range(300)]
    colours = {found[0] for one in said if (found := re.search(r"#00[0-9a-f]{4}", one))}
    assert len(colours) == 300
    assert "#000000" not in colours
    assert STAND_IN * 3 in said[-1]


def laid_out(html: str) -> LaidOut:
    return lay_out(f"<html lang=en><body>{html}</body></html>", ("plain",))


def test_a_plate_says_which_stamps_it_found() -> None:
    stamps = Stamps()
    page = laid_out(f"<p>Due {stamps.text('2031-03-14')}</p>")
    Plate(Pdf.new(), page, stamps.them)
    with pytest.raises(Unplaced, match=r"Of 2 stamps 1 were found"):
        Plate(Pdf.new(), page, [*stamps.them, Stamp(words="7")])
    with pytest.raises(Unplaced, match=r"There is no stamp 0"):
        Plate(Pdf.new(), page, [])


@pytest.mark.parametrize("order", ["א12ב34", "א12א34א", "ب 12", "٣ 12"])
def test_words_that_run_to_the_left_are_laid_out_as_they_are(order: str) -> None:
    """Their figures lie in another order on the page (UAX #9), also where it looks the same."""
    stamps = Stamps()
    assert (str(stamps.text(order)), stamps.them) == (order, [])


def test_figures_that_stand_in_another_order_are_not_stamped() -> None:
    """As many letters as the stamp has, the time before the day."""
    stamp = Stamp(words="2031-03-03 07:12")
    turned = "00:00 0000-00-00"
    for stand_in in (stamp.stand_in, turned):
        page = laid_out(f'<p>Due <span class="s" style="color:#000001">{stand_in}</span></p>')
        if stand_in == turned:
            with pytest.raises(Unplaced, match="is not in its place"):
                Plate(Pdf.new(), page, [stamp])
        else:
            assert Plate(Pdf.new(), page, [stamp]).pull([stamp]) == 1


def test_a_letter_the_type_lacks_adds_nothing_to_the_document() -> None:
    stamps, into = Stamps(), Pdf.new()
    page = laid_out(f"<p>Due {stamps.text('14')}</p>")
    plate = Plate(into, page, stamps.them)
    with pytest.raises(Unplaced, match=r"no '¾'"):
        plate.pull([Stamp(words="1¾")])
    assert len(into.pages) == 0
    assert plate.pull([Stamp(words="15")]) == 1


def test_a_stamp_may_stand_more_than_once() -> None:
    stamps, into = Stamps(), Pdf.new()
    four = stamps.text("1043")
    page = laid_out(f"<p>{four}</p><p style='break-before: page'>{four} again</p>")
    Plate(into, page, stamps.them).pull([Stamp(words="2055")])
    assert words(press.bound(into, "")) == "20552055again"


def test_a_square_is_stamped_where_it_was_laid_out() -> None:
    stamps, into = Stamps(), Pdf.new()
    html = stamps.square(symbol("HTTP://A/B7M49Q2"), "B7M4-9Q2")
    page = laid_out(f"<div style='width: 40mm'>{html}</div>")
    Plate(into, page, stamps.them).pull([Stamp(square=symbol("HTTP://A/B00000X"))])
    (square,) = squares(pictures(press.bound(into, ""), 150)[0])
    assert square.text == "HTTP://A/B00000X"


@every_form
def test_the_fonts_go_with_the_print_cut_down_to_what_it_uses(form: str) -> None:
    """ISO 32000-1, 9.6.4: the name of a font subset begins with six capitals and a plus."""
    pdf = press.proof(form, [*ALIKE, CUSTOM], NOW)
    read = pypdf.PdfReader(io.BytesIO(pdf))
    fonts = {
        name: font.get_object()
        for page in read.pages
        for name, font in page["/Resources"]["/Font"].items()  # type: ignore[index]
    }
    assert fonts
    for font in fonts.values():
        assert re.fullmatch(r"/[A-Z]{6}\+DejaVu.*", font["/BaseFont"])
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        about = inner["/FontDescriptor"].get_object()
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(about)
    assert len(pdf) < 400_000, "whole fonts would be larger"


def test_the_same_pages_come_from_several_processors_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(typesetting, "processors", lambda: 2)
    monkeypatch.setattr(press, "FEW", 0)
    serials = [*ONE_OF_EACH.values(), CUSTOM]
    alone, together = (
        drawn("neck_tag", serials, many=False),
        drawn("neck_tag", serials, many=True),
    )
    assert [it.page.name for it in together.drawn] == serials
    assert [(it.first, it.count) for it in together.drawn] == [
        (it.first, it.count) for it in alone.drawn
    ]
    told = zip(
        pictures(press.bound(together.pdf, ""), 144),
        pictures(press.bound(alone.pdf, ""), 144),
        strict=True,
    )
    assert all(same(one, two) for one, two in told)


def test_it_is_told_how_far_the_press_is_and_may_stop_it() -> None:
    told: list[int] = []
    drawn("neck_tag", ALIKE, told=told.append)
    assert told == [0, 0, 0, 1, 2, 3]

    class Stop(Exception):
        pass

    def stop(done: int) -> None:
        if done == 1:
            raise Stop

    with pytest.raises(Stop):
        press.draw("neck_tag", ALIKE, NOW, told=stop)
