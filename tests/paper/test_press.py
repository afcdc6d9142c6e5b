"""One print for one instrument or many, all or nothing."""

from __future__ import annotations

import importlib
import sys
from datetime import timedelta
from typing import Any

import pytest

from shop.floor import board, door
from shop.paper import press
from shop.paper.refusing import (
    AddressTooLong,
    NeckIsPaired,
    NoLiveTag,
    NoneChosen,
    NoNeck,
    NotPrinted,
    PressMissing,
    TooMany,
    UnknownForm,
    UnknownInstruments,
)
from tests.floor.morning import NOW, act, now
from tests.paper.printing import FORMS
from tests.paper.reading import pages, pictures, side_px, sizes_mm, squares

pytestmark = pytest.mark.usefixtures("morning", "db")


def test_one_call_prints_many_instruments_in_the_order_asked(settings: Any) -> None:
    serials = ["Q-1058", "Q-1043", "Q-1049"]
    pdf = press.print_forms("body_tag", serials, NOW)
    tags = board.tags_of(serials)
    read = [squares(side)[0].text for side in pictures(pdf, 150)]
    expected = [f"{settings.ADDRESS}/{tags[one]['body']}".upper() for one in serials]
    assert read == [address for one in expected for address in (one, one)]


def test_each_traveller_of_many_counts_its_own_sides() -> None:
    found = pages(press.print_forms("traveller", ["Q-1043", "Q-1044"], NOW))
    assert [page.text[page.text.index("side") :][:8] for page in found] == [
        "side1of2",
        "side2of2",
        "side1of2",
        "side2of2",
    ]


def test_a_serial_asked_twice_or_in_small_letters_is_printed_once() -> None:
    pdf = press.print_forms("tray_label", ["Q-1043", " q-1043 "], NOW)
    assert len(pages(pdf)) == 1


def test_serials_nobody_knows_are_named_and_nothing_is_printed() -> None:
    with pytest.raises(UnknownInstruments, match=r"Q-9998 and Q-9999.*Nothing was printed"):
        press.print_forms("traveller", ["Q-1043", "Q-9998", "Q-9999"], NOW)


def test_a_body_that_waits_in_store_is_no_instrument_yet() -> None:
    with pytest.raises(UnknownInstruments, match=r"Q-1060"):
        press.print_forms("traveller", ["Q-1060"], NOW)


def test_a_form_that_does_not_exist_is_answered_with_those_that_do() -> None:
    with pytest.raises(UnknownForm, match=r"“poster”.*traveller, .* tray_label or as_built"):
        press.print_forms("poster", ["Q-1043"], NOW)


@pytest.mark.parametrize("serials", [[], ["", "  "]])
def test_nothing_chosen_asks_for_one(serials: list[str]) -> None:
    with pytest.raises(NoneChosen, match=r"at least one"):
        press.print_forms("traveller", serials, NOW)


def test_more_than_one_print_holds_is_answered_with_how_many_goes() -> None:
    with pytest.raises(TooMany, match=r"120 instruments.*30 fit.*4 goes"):
        press.print_forms("traveller", [f"Q-{number}" for number in range(2000, 2120)], NOW)


def test_an_address_too_long_for_a_tag_prints_nothing(settings: Any) -> None:
    settings.ADDRESS = "http://a-long-name.of.this.machine:8000"
    with pytest.raises(AddressTooLong, match=r"47 characters"):
        press.print_forms("body_tag", ["Q-1043"], NOW)


def test_a_part_without_a_tag_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(board, "tags_of", lambda serials: {one: {} for one in serials})
    with pytest.raises(NoLiveTag, match=r"neck of Q-1043 has no tag in use"):
        press.print_forms("neck_tag", ["Q-1043"], NOW)


def test_a_neck_that_is_paired_has_no_tag_to_print() -> None:
    with pytest.raises(NeckIsPaired, match=r"K-2088 is one pair with Q-1050.*Print the body tag"):
        press.print_forms("neck_tag", ["Q-1043", "Q-1050"], NOW)


def test_a_body_without_a_neck_has_no_neck_tag_to_print() -> None:
    broken = door.PairBroken(now("Q-1050").id, "scrap")
    assert door.record(act("P-01", "", reason="Heel split"), broken).done
    with pytest.raises(NoNeck, match=r"Q-1050 has no neck.*The lead names the neck"):
        press.print_forms("neck_tag", ["Q-1050"], NOW)
    assert pages(press.print_forms("body_tag", ["Q-1050"], NOW))


def test_without_the_layout_libraries_a_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(PressMissing, match=r"Printing is off.*apt-get install libpango"):
        press.print_forms("traveller", ["Q-1043"], NOW)


def test_a_library_that_cannot_be_opened_is_told_in_one_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(name: str) -> None:
        raise OSError("cannot load library 'libpango-1.0-0': no such file.\n\nAdditionally, ...")

    monkeypatch.setattr(importlib, "import_module", fail)
    with pytest.raises(PressMissing) as refused:
        press.typesetter()
    assert str(refused.value).startswith(
        "Printing is off: cannot load library 'libpango-1.0-0': no such file. On the machine"
    )


@pytest.mark.parametrize("form", FORMS)
def test_the_widest_code_stays_clear_of_the_square_and_on_the_paper(
    form: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which symbols a code has is chance; W is the widest letter."""
    monkeypatch.setattr(press, "_codes", lambda form, states: {"Q-1049": "WWWWWWW"})
    pdf = press.print_forms(form, ["Q-1049"], NOW)
    for page, picture, (width, _) in zip(
        pages(pdf), pictures(pdf, 300), sizes_mm(pdf), strict=True
    ):
        (square,) = squares(picture)
        quiet_mm = (square.position.top_right.x + side_px(square) * 4 / 29) / 300 * 25.4
        at = page.text.index("WWWW-WWW")
        code = page.glyphs[at : at + 8]
        assert min(one.left for one in code) > quiet_mm
        assert max(one.right for one in code) < width - 1


@pytest.mark.parametrize("form", FORMS)
def test_a_form_tells_the_same_an_hour_later_but_for_its_moment(form: str) -> None:
    first = pages(press.print_forms(form, ["Q-1043"], NOW))
    later = pages(press.print_forms(form, ["Q-1043"], NOW + timedelta(hours=1)))
    assert [page.text.replace("09:30", "10:30") for page in first] == [one.text for one in later]


def test_every_refusal_is_a_sentence_with_a_next_step() -> None:
    refused = [
        AddressTooLong("HTTP://X", 35),
        NeckIsPaired("Q-1050", "K-2088"),
        NoLiveTag("Q-1043", "neck"),
        NoNeck("Q-1050"),
        NoneChosen(),
        PressMissing("no Pango"),
        TooMany(60, 50),
        UnknownForm("", ["traveller", "body_tag"]),
        UnknownInstruments(["Q-1"]),
    ]
    for one in refused:
        assert isinstance(one, NotPrinted)
        assert str(one).endswith(".")
        assert str(one).count(". ") >= 1, "what is so, then what to do"


@pytest.mark.parametrize("form", FORMS)
def test_each_further_instrument_takes_the_same_few_statements(
    form: str, django_assert_max_num_queries: Any
) -> None:
    press.print_forms(form, ["Q-1055", "Q-1058", "Q-1043"], NOW)  # sheets are kept from now on
    with django_assert_max_num_queries(2 + 5 * 1):
        press.print_forms(form, ["Q-1043"], NOW)
    with django_assert_max_num_queries(2 + 5 * 3):
        press.print_forms(form, ["Q-1055", "Q-1058", "Q-1043"], NOW)
