"""The card of what is repaired: the defect, where it is, what happens now.

The instruments, defects and times are invented; where a defect leads, what is done again, how
long it dries, and the heights of letters are common practice, no source.
"""

from __future__ import annotations

from datetime import datetime

import pytest
from django.conf import settings

from shop.catalogue import book
from shop.catalogue.models import Loop, Spec
from shop.craft import zones
from shop.floor import board, door
from shop.floor.models import Instrument
from shop.paper import press
from shop.paper.facts.case_cards import NothingToRepair, RepairedAlready, Scrapped
from shop.paper.forms import form_of
from tests.floor.casing import CASED, HOUR, SERIAL, cased, did, done
from tests.floor.morning import NOW, now
from tests.paper.cards import (
    A6_MM,
    box,
    coloured,
    grey,
    in_order,
    off_the_paper,
    same_codes,
    square_of,
    stamped_as_laid_out,
    text_of,
    too_low,
    top_down,
)
from tests.paper.reading import Glyph, Page, pages, pictures, sizes_mm

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

FORM = "rework_card"
MON = CASED - 4 * HOUR  # Monday 10:10
LATER = MON + 3 * HOUR
RED = (0xD4, 0, 0)
# The figures of the drawing in the order that the reader of letters meets them.
FIGURES = ("1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "front", "back", "13", "11bass",
           "13", "12treble", "14", "15", "16")  # fmt: skip


def found(
    word: str = "chip",
    loop: str = "finish chip",
    words: str = "finish, zone 6 lower bout",
    at: datetime = MON,
    by: str = "P-22",
    serial: str = SERIAL,
) -> None:
    done(door.DefectFound(now(serial).id, word, loop, "", words), at, by, "I")


def repaired(at: datetime) -> None:
    done(door.RepairDone(now(SERIAL).id), at, "P-61", "X")


def card(at: datetime = LATER) -> bytes:
    return press.proof(FORM, [SERIAL], at)


def text(at: datetime = LATER) -> str:
    return text_of(FORM, SERIAL, at)


def figures(page: Page) -> list[tuple[str, list[Glyph]]]:
    """The figures of the drawing, each with its letters."""
    at = page.text.index("".join(FIGURES))
    told = []
    for figure in FIGURES:
        told.append((figure, list(page.glyphs[at : at + len(figure)])))
        at += len(figure)
    return told


# --- what stands on it ---


def test_the_card_tells_what_is_wrong_where_and_what_happens_in_this_order() -> None:
    found()
    wanted = (
        "1037", "Q-1037 · RH · 6 strings", "chip", "finish, zone 6 lower bout",
        "12345678910", "1311bass1312treble141516", "Finish chip.",
        "Fill in 3 to 6 passes, let it harden, level it.",
        "Repair.", "Done again", "Badge", "Time", "Q10 Polish and clean",
        "Found by P-22 2031-03-03 10:10, Inspection", "Dries until", "24 h after repair",
        "Repaired by",
    )  # fmt: skip
    (page,) = pages(card())
    assert top_down(page, wanted) == []
    assert top_down(page, ["REWORK", "TARN", "Q-1037", "chip"]) == [], "beside the figure"


def test_the_foot_says_of_which_guitar_and_from_what_it_was_drawn() -> None:
    found()
    entry = now(SERIAL).seq
    said = text()
    assert "Reworkcard·Q-1037rev." in said
    assert f"rev.1·entry{entry}·copy1,printed2031-03-0313:10" in said


def test_the_zones_told_are_black_with_a_white_number_and_no_other_is() -> None:
    marked = {2, 4, 5, 7, 10, 11, 13, 16}
    words = ", ".join(f"zone {one}" for one in sorted(marked))
    found(words=words)
    pdf = card()
    page, picture = pages(pdf)[0], pictures(pdf, 600)[0]
    px, seen = 600 / 25.4, set()
    for figure, glyphs in figures(page):
        if not figure[0].isdigit():
            continue
        zone = int("".join(one for one in figure if one.isdigit()))
        left, right = min(one.left for one in glyphs), max(one.right for one in glyphs)
        top, low = max(one.top for one in glyphs), min(one.bottom for one in glyphs)
        edges = box(left * px, (148 - top) * px, right * px, (148 - low) * px)
        shades = picture.crop(edges).histogram()
        ground = grey(picture, (left - 0.25) * px, (148 - (top + low) / 2) * px)
        assert (ground < 50) == (zone in marked), zone
        assert sum(shades[:50]) > 100, zone
        assert sum(shades[200:]) > 100, zone
        seen.add(zone)
    assert seen == set(zones.PLACES)


def test_where_no_zone_was_told_the_card_asks_to_mark_it() -> None:
    found(words="Treble bushing")
    assert "Nozonewastold:markithere." in text()
    found("loose", "small hardware", "hardware, zone 13 heel", MON + HOUR)
    first, second = pages(card())
    assert "Nozonewastold" in first.text
    assert "Nozonewastold" not in second.text


def test_two_loops_have_a_page_each_with_who_found_them() -> None:
    found()
    found("loose", "small hardware", "hardware, zone 13 heel", MON + HOUR, by="P-23")
    first, second = pages(card())
    route = "Q10 Polish and clean", "A20 Fit end pin or jack and strap button"
    one = ("1 of 2", "chip", "Finish chip.", *route, "P-22 2031-03-03 10:10", "24 h after")
    two = ("2 of 2", "loose", "Take it out, plug a stripped hole.", *route,
           "P-23 2031-03-03 11:10", "no time to dry")  # fmt: skip
    assert top_down(first, one) == []
    assert top_down(second, two) == []


def test_a_fall_has_its_card_too() -> None:
    done(door.Dropped(now(SERIAL).id, "Off the rack, zone 12 treble side"), MON, "P-25", "N")
    wanted = (
        "dropped",
        "zone 12 treble side",
        "Look through the soundhole",
        "J40",
        "Found by P-25",
    )
    assert in_order(text(), wanted) == []


def test_the_days_in_the_case_are_on_the_route_of_a_guitar_that_was_cased() -> None:
    cased()
    found("buzz", "set-up", "setup", CASED + HOUR)
    wanted = ("U30", "A30", "I10 Inspect", "I20 Put it in its case", "Found by")
    assert in_order(text(CASED + 2 * HOUR), wanted) == []


def test_what_still_dries_of_an_earlier_repair_is_told_by_its_moment() -> None:
    found()
    repaired(MON + HOUR)
    found("loose", "small hardware", "hardware", MON + 2 * HOUR)
    (page,) = pages(card())
    assert in_order(page.text, ["loose", "Dries until 2031-03-04 11:10", "Repaired by"]) == []


def test_what_was_done_again_already_is_filled_in() -> None:
    found("loose", "small hardware", "hardware")
    found("buzz", "set-up", "setup", MON)
    repaired(MON + HOUR)
    did(SERIAL, "U30", "P-20", "U", MON + 2 * HOUR)
    found("chip", "finish chip", "finish", MON + 2.5 * HOUR)
    said = text()
    assert in_order(said, ["U30 Shape and set the saddle P-20 2031-03-03 12:10", "A20"]) == []
    assert said.count("P-20") == 1


def test_a_loop_that_undoes_nothing_says_that_it_goes_on() -> None:
    Loop.objects.filter(key="finish chip").update(redo="I30")
    found()
    assert "Nothing:itgoesonwhereitwas." in text()


# --- how it looks ---


def test_a_card_is_one_side_of_a6_with_letters_that_can_be_read() -> None:
    found()
    (size,) = sizes_mm(card())
    assert size == pytest.approx(A6_MM, abs=0.1)
    (page,) = pages(card())
    assert too_low(page) == []
    assert off_the_paper(page) == []
    assert max(min(heights) for heights in page.heights_of("1037")) >= 12
    assert max(min(heights) for heights in page.heights_of("TARN")) >= 6
    form = form_of(FORM)
    assert (form.two_sided, form.border_mm, form.carries) == (False, 4, "own")


def test_a_red_bar_runs_down_one_side_of_every_page() -> None:
    found("lift", "glued neck reset", "joint, zone 13 heel")
    found()
    drawn = coloured(card(), 150)
    assert len(drawn) > 2
    px = 150 / 25.4
    for picture in drawn:
        tones = {picture.getpixel((int(6.5 * px), int(y * px))) for y in range(5, 144)}
        assert tones == {RED}
        assert picture.getpixel((int(3 * px), int(74 * px))) == (255, 255, 255)


def test_printed_in_black_alone_the_word_rework_still_stands_white_in_a_black_box() -> None:
    found()
    pdf = card()
    page, picture = pages(pdf)[0], pictures(pdf, 300)[0]
    at = page.text.index("REWORK")
    letters = page.glyphs[at : at + 6]
    left, top, right, low = (
        letters[0].left - 1, letters[0].top + 0.3, letters[-1].right + 1, letters[0].bottom - 0.3
    )  # fmt: skip
    px = 300 / 25.4
    part = picture.crop(box(left * px, (148 - top) * px, right * px, (148 - low) * px))
    shades, size = part.histogram(), part.width * part.height
    assert sum(shades[:50]) > 0.4 * size
    assert sum(shades[200:]) > 0.2 * size
    rim = [grey(part, x, y) for x in range(part.width) for y in (0, part.height - 1)]
    assert max(rim) < 50
    assert min(one.height for one in letters) >= 4


def test_the_square_of_every_page_holds_the_code_of_this_copy(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found()
    found("loose", "small hardware", "hardware, zone 13 heel", MON + HOUR)
    same_codes(monkeypatch)
    (one,) = board.next_prints([now(SERIAL)], FORM, True).values()
    assert one.code[0] == "P"
    assert square_of(card()) == f"{settings.ADDRESS}/{one.code}".upper()
    assert all(f"{one.code[:4]}-{one.code[4:]}" in page.text for page in pages(card()))


def test_cards_of_one_defect_are_stamped_and_look_as_if_laid_out_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found()
    found(at=MON + 2 * HOUR, by="P-23", serial="Q-1041")
    same_codes(monkeypatch)
    stamped_as_laid_out(FORM, [SERIAL, "Q-1041"], LATER)


@pytest.mark.parametrize("remark", ["W" * 200, "zone 3 " + "Wide crack beside the bridge. " * 6])
def test_a_long_remark_loses_nothing(remark: str) -> None:
    found(words=remark)
    told = pages(card())
    said = "".join(page.text for page in told)
    assert in_order(said, [remark, "Finish chip.", "Q10", "Found by", "Repaired by"]) == []
    assert [off_the_paper(page) for page in told] == [[]] * len(told)
    assert square_of(card())


def test_a_long_route_goes_on_over_the_page_with_its_heading() -> None:
    cased()
    found("lift", "glued neck reset", "joint, zone 13 heel", CASED)
    told = pages(card(CASED + HOUR))
    loop = now(SERIAL).rework
    assert loop is not None
    assert len(told) == 2
    assert all("DoneagainBadgeTime" in page.text for page in told)
    said = "".join(page.text for page in told)
    names = {stop.code: stop.facts.name for stop in now(SERIAL).sheet.stops}
    assert in_order(said, [f"{code} {names[code]}"[:9] for code in loop.redo]) == []
    assert [off_the_paper(page) for page in told] == [[]] * 2


def test_a_model_of_twelve_letters_is_told_whole() -> None:
    Spec.objects.filter(key="TARN").update(key="WWWWWWWWWWWW")
    book.sheet.cache_clear()
    found()
    told = pages(card())
    assert "W" * 12 in "".join(page.text for page in told)
    assert [off_the_paper(page) for page in told] == [[]] * len(told)


# --- when there is none ---


def test_a_guitar_with_nothing_to_repair_has_no_card() -> None:
    with pytest.raises(NothingToRepair, match=r"Nothing is to be repaired on Q-1037\. Report"):
        card(NOW)


def test_a_guitar_that_is_repaired_has_no_card_and_the_refusal_says_what_is_done_again() -> None:
    found()
    repaired(MON + HOUR)
    with pytest.raises(RepairedAlready, match=r"is repaired already\. Done again after it: Q10\."):
        card()


def test_scrap_has_no_card() -> None:
    found()
    Instrument.objects.filter(body__serial=SERIAL).update(ended="scrapped: back crushed")
    with pytest.raises(Scrapped, match=r"Q-1037 is scrap: scrapped: back crushed\. Take its cards"):
        card()
