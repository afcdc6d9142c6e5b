"""The card on the handle of a case: until when the guitar in it is held.

The instruments and their days are invented; how long they are and what moves them, and the
heights of letters, are common practice, no source.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Spec
from shop.floor import board, door
from shop.floor.models import Instrument
from shop.paper import press
from shop.paper.facts import case_cards
from shop.paper.facts.case_cards import (
    NoDays,
    NotCased,
    NoTime,
    ReleasedAlready,
    Scrapped,
)
from shop.paper.forms import form_of
from tests.floor.casing import HOUR, MINUTE, SERIAL, cased, done, moment, number
from tests.floor.gauged import gauge
from tests.floor.morning import NOW, now
from tests.floor.released import go_on
from tests.paper.cards import (
    A6_MM,
    box,
    coloured,
    in_order,
    off_the_paper,
    same_codes,
    square_of,
    stamped_as_laid_out,
    text_of,
    too_low,
    top_down,
)
from tests.paper.reading import INK, darkest, pages, pictures, sizes_mm

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

FORM = "hold_card"
PALE, WHITE = (0xFF, 0xE6, 0x80), (0xFF, 0xFF, 0xFF)
TUE = moment(4, 9)
IN_CASES = ("Q-1038", "Q-1040")  # of the demo: FELL, whose days are over, and NESS


@pytest.fixture
def in_its_case(morning: None, db: None) -> None:
    cased()


def card(at: datetime = TUE, serial: str = SERIAL) -> bytes:
    return press.proof(FORM, [serial], at)


def named(key: str) -> None:
    Spec.objects.filter(key="TARN").update(key=key)
    book.sheet.cache_clear()


# --- what stands on it ---


@pytest.mark.usefixtures("in_its_case")
def test_the_card_tells_from_top_to_bottom_what_who_takes_it_from_the_rack_needs() -> None:
    wanted = (
        "RELEASE NOT BEFORE", "Friday", "2031-03-07", "14:10", "1037", "Rack slot",
        "Cased by P-31 since 2031-03-03 14:10",
        "First values", "relief 0.20 mm", "action bass, fret 12 2.40 mm",
        "action treble, fret 12 1.60 mm", "Saddle above the bridge 3.2 mm", "RESET not before",
        "badge", "why",
    )  # fmt: skip
    (page,) = pages(card())
    assert top_down(page, wanted) == []
    beside = ("14:10", "TARN", "Q-1037 · RH · 6 strings", "Rack slot")
    assert top_down(page, beside) == [], "beside the figure"


@pytest.mark.usefixtures("in_its_case")
def test_first_values_stay_those_of_the_first_look_once_the_second_has_measured() -> None:
    values = {"relief 7": "0.24", "action bass": "2.44", "action treble": "1.66"}
    later = moment(7, 15)
    assert gauge(SERIAL, values, "I30", "P-32", "R", later).done
    text = text_of(FORM, SERIAL, later)
    assert in_order(text, ["relief 0.20 mm", "fret 12 2.40 mm", "fret 12 1.60 mm"]) == []
    assert not any(value in text for value in ("0.24", "2.44", "1.66"))


@pytest.mark.usefixtures("in_its_case")
def test_the_slot_stands_on_it_where_its_case_lies_in_one_and_else_a_pen_has_room() -> None:
    assert "RackslotCasedby" in text_of(FORM, SERIAL, TUE)
    assert "RackslotH-027Casedby" in text_of(FORM, "Q-1040", NOW)


@pytest.mark.usefixtures("in_its_case")
def test_the_foot_says_from_what_it_was_drawn() -> None:
    text = text_of(FORM, SERIAL, TUE)
    entry = now(SERIAL).seq
    assert f"rev.1·entry{entry}·copy1,printed2031-03-0409:00" in text


@pytest.mark.usefixtures("in_its_case")
def test_the_moment_is_rounded_up_to_the_minute_as_screens_tell_it() -> None:
    done(door.CaseOpened(number()), TUE)
    done(door.CaseShut(number()), TUE + 30 * MINUTE + MINUTE / 4, reason="Looked at the bridge")
    held = board.hold(now(SERIAL), TUE + HOUR)
    assert held is not None
    assert held.words == "Ready Fri 14:41"
    assert in_order(text_of(FORM, SERIAL, TUE + HOUR), ["Friday", "2031-03-07", "14:41"]) == []


@pytest.mark.usefixtures("in_its_case")
def test_days_that_began_again_are_told_with_since_when_they_count() -> None:
    assert "anewfrom" not in text_of(FORM, SERIAL, TUE)
    done(door.Happened(number(), "restrung"), TUE + HOUR, reason="One was dead")
    text = text_of(FORM, SERIAL, TUE + 2 * HOUR)
    wanted = (
        "Saturday",
        "2031-03-08",
        "since 2031-03-03 14:10",
        "Counted anew from 2031-03-04 10:00",
    )
    assert in_order(text, wanted) == []


@pytest.mark.usefixtures("in_its_case")
def test_the_day_is_the_one_of_the_shop_and_not_of_greenwich(settings: Any) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"  # 13 hours ahead in March
    wanted = ("Saturday", "2031-03-08", "03:10", "since 2031-03-04 03:10")
    assert in_order(text_of(FORM, SERIAL, TUE), wanted) == []


def test_who_trained_beside_at_the_casing_stands_beside_the_badge() -> None:
    cased()
    from_row = Instrument.objects.get(body__serial=SERIAL)
    from_row.steps.filter(operation__code="I20").update(others=["P-32"])
    assert "CasedbyP-31,P-32since" in text_of(FORM, SERIAL, TUE)


def test_values_that_differ_are_told_with_their_places() -> None:
    said = [("bass side", "3.2 mm"), ("treble side", "2.9 mm")]
    assert case_cards._values(said) == "bass side 3.2 mm, treble side 2.9 mm"
    assert case_cards._values([("bass side", "3.2 mm"), ("treble side", "3.2 mm")]) == "3.2 mm"


# --- how it looks ---


@pytest.mark.parametrize("serial", [SERIAL, *IN_CASES])
def test_a_card_is_one_side_of_a6_with_letters_that_can_be_read(serial: str) -> None:
    cased()
    pdf = card(TUE, serial)
    (size,) = sizes_mm(pdf)
    assert size == pytest.approx(A6_MM, abs=0.1)
    (page,) = pages(pdf)
    assert too_low(page) == []
    assert off_the_paper(page, 5) == [], "inside the frame"
    assert max(min(heights) for heights in page.heights_of(serial[-4:])) >= 12
    model = now(serial).sheet.spec.key
    assert max(min(heights) for heights in page.heights_of(model)) >= 6


@pytest.mark.usefixtures("in_its_case")
def test_day_date_and_hour_fill_a_pale_band_thirty_millimetres_high() -> None:
    pdf = card()
    (page,), (picture,) = pages(pdf), coloured(pdf, 600)
    px = 600 / 25.4
    column = picture.crop((int(7.7 * px), 0, int(7.7 * px) + 1, picture.height))
    tones = [column.getpixel((0, y)) for y in range(column.height)]
    pale = [y for y, tone in enumerate(tones) if tone == PALE]
    assert pale == list(range(pale[0], pale[-1] + 1)), "in one piece"
    top, low = pale[0], pale[-1]
    while tones[top - 1] != WHITE:
        top -= 1
    while tones[low + 1] != WHITE:
        low += 1
    assert (low + 1 - top) / px == pytest.approx(30, abs=0.1)
    for words, least_mm in (("RELEASENOTBEFORE", 4.7), ("2031-03-07", 6), ("14:10", 6)):
        at = page.text.index(words)
        told = page.glyphs[at : at + len(words)]
        assert min(one.height for one in told if one.char.isalnum()) >= least_mm
        assert all(top / px < 148 - one.top and 148 - one.bottom < low / px for one in told)
    friday = page.glyphs[page.text.index("Friday")]
    assert friday.height >= 8


@pytest.mark.parametrize("days", range(7))
def test_the_longest_name_of_a_day_stays_in_the_band(days: int) -> None:
    cased()
    if days:
        done(door.WaitLengthened(number(), "hold", 24 * days), TUE, "P-01", "", "Damp week")
    (page,) = pages(card())
    assert max(one.right for one in page.glyphs) < 98


@pytest.mark.usefixtures("in_its_case")
def test_a_black_frame_runs_round_the_card_four_millimetres_from_its_edges() -> None:
    (picture,) = coloured(card(), 300)
    px = 300 / 25.4
    for x, y in ((4.5, 74), (100.5, 74), (52, 4.5), (52, 143.5)):
        assert picture.getpixel((int(x * px), int(y * px))) == (0, 0, 0)
    outside = picture.convert("L")
    outside.paste(255, box(3.9 * px, 3.9 * px, 101.2 * px, 144.2 * px))
    assert darkest(outside) == 255


@pytest.mark.usefixtures("in_its_case")
def test_the_cord_goes_through_the_top_and_the_square_hangs_at_the_other_end() -> None:
    """The cord runs to the top; common practice, no source."""
    pdf = card()
    (picture,) = pictures(pdf, 150)
    hole = picture.crop((picture.width * 2 // 5, 40, picture.width * 3 // 5, 72))
    assert darkest(hole) < INK
    (page,) = pages(pdf)
    assert "cottoncord,casehandle" in page.text
    code = page.text.index("RESET")
    assert page.glyphs[code].bottom > 33


@pytest.mark.usefixtures("in_its_case")
def test_the_square_holds_the_code_of_this_very_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    same_codes(monkeypatch)
    (one,) = board.next_prints([now(SERIAL)], FORM, True).values()
    assert one.code[0] == "P"
    assert square_of(card()) == f"{settings.ADDRESS}/{one.code}".upper()
    assert f"{one.code[:4]}-{one.code[4:]}" in text_of(FORM, SERIAL, TUE)


def test_cards_of_one_model_are_stamped_and_look_as_if_laid_out_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    last = go_on("Q-1041", until="I20")
    cased(last + HOUR)
    same_codes(monkeypatch)
    stamped_as_laid_out(FORM, ["Q-1041", SERIAL], last + 2 * HOUR)


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("key", ["STRATHMORE12", "WWWWWWWWWWWW"])
def test_a_model_of_twelve_letters_is_told_whole(key: str) -> None:
    named(key)
    done(door.Happened(number(), "restrung"), TUE, reason="One was dead")
    found = pages(card(TUE + HOUR))
    text = "".join(page.text for page in found)
    assert key in text
    for words in ("Counted", "RESET", "why"):
        assert words in text
    assert [off_the_paper(page, 5) for page in found] == [[]] * len(found)
    assert square_of(card(TUE + HOUR))


@pytest.mark.usefixtures("in_its_case")
def test_a_second_card_takes_no_more_statements_than_the_first() -> None:
    press.proof(FORM, [SERIAL, *IN_CASES], TUE)  # sheets are kept from now on
    with CaptureQueriesContext(connection) as one:
        press.proof(FORM, [SERIAL], TUE)
    with CaptureQueriesContext(connection) as three:
        press.proof(FORM, [SERIAL, *IN_CASES], TUE)
    assert len(three) == len(one)


def test_it_is_printed_on_one_side_with_four_millimetres_white() -> None:
    form = form_of(FORM)
    assert (form.two_sided, form.border_mm, form.carries) == (False, 4, "own")
    assert (form.format.width_mm, form.format.height_mm) == A6_MM


# --- when there is none ---


def test_a_guitar_that_is_not_cased_yet_has_no_card() -> None:
    with pytest.raises(NotCased, match=r"Q-1043 is not in its case yet.*cased, then print"):
        card(NOW, "Q-1043")


@pytest.mark.usefixtures("in_its_case")
def test_a_guitar_out_of_its_case_has_no_time_and_the_refusal_says_what_keeps_it() -> None:
    done(door.CaseOpened(number()), TUE)
    still = "Out of the case since Tue 09:00: the hold stands still until it is back."
    with pytest.raises(NoTime, match=rf"Q-1037 .* cannot be told now\. {still} Print its card"):
        card(TUE + HOUR)


def test_a_guitar_that_is_released_has_no_card() -> None:
    last = go_on("Q-1038")
    with pytest.raises(ReleasedAlready, match=r"Q-1038 is released already.*Take the card off"):
        card(last, "Q-1038")


def test_scrap_has_no_card() -> None:
    Instrument.objects.filter(body__serial="Q-1038").update(ended="scrapped: back crushed.")
    with pytest.raises(Scrapped, match=r"Q-1038 is scrap: scrapped: back crushed\. Take"):
        card(NOW, "Q-1038")


@pytest.mark.usefixtures("in_its_case")
def test_a_route_without_days_in_the_case_has_no_card(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case_cards, "hold_of", lambda route: None)
    with pytest.raises(NoDays, match=r"route of TARN has no days in the case"):
        card()
