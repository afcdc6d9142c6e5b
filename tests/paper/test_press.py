"""One form for one instrument or many. What cannot be drawn is named, the rest is drawn."""

from __future__ import annotations

import importlib
import io
import sys
from datetime import timedelta
from typing import Any

import pypdf
import pytest
from django.utils import translation

from shop.floor import board, door
from shop.paper import press, typesetting
from shop.paper.facts.as_built import NotReadable, NotReleased
from shop.paper.refusing import (
    AddressTooLong,
    AddressUnfit,
    NeckIsPaired,
    NoLiveTag,
    NoneChosen,
    NoNeck,
    NotDrawn,
    NotPrinted,
    PressMissing,
    Unknown,
    UnknownForm,
)
from shop.paper.scan import Scan
from tests.floor.morning import NOW, act, now
from tests.paper.printing import FORMS, drawn
from tests.paper.reading import bold, pages, pictures, side_px, sizes_mm, squares, words

pytestmark = pytest.mark.usefixtures("morning", "db")

every_form = pytest.mark.parametrize("form", FORMS)


@pytest.fixture
def one_code(monkeypatch: pytest.MonkeyPatch) -> str:
    """Every form carries this code. Which symbols one has is chance; W is the widest letter."""
    monkeypatch.setattr(press, "_scan", lambda *_: Scan.of("WWWWWWW"))
    return "WWWW-WWW"


def test_one_call_prints_many_instruments_in_the_order_asked(settings: Any) -> None:
    serials = ["Q-1058", "Q-1043", "Q-1049"]
    pdf = press.proof("body_tag", serials, NOW)
    tags = board.tags_of(serials)
    read = [squares(side)[0].text for side in pictures(pdf, 150)]
    expected = [f"{settings.ADDRESS}/{tags[one]['body']}".upper() for one in serials]
    assert read == [address for one in expected for address in (one, one)]


def test_it_is_told_where_the_pages_of_each_lie() -> None:
    sheaf = drawn("traveller", ["Q-1043", "Q-1044"])
    assert [(it.page.name, it.first, it.count) for it in sheaf.drawn] == [
        ("Q-1043", 0, 2),
        ("Q-1044", 2, 2),
    ]


def test_each_traveller_of_many_counts_its_own_sides() -> None:
    found = pages(press.proof("traveller", ["Q-1043", "Q-1044"], NOW))
    sides = [page.text[page.text.index("TravellerTARN") + 13 :][:3] for page in found]
    assert sides == ["1/2", "2/2", "1/2", "2/2"]


def test_a_serial_asked_twice_or_in_small_letters_is_printed_once() -> None:
    pdf = press.proof("tray_label", ["Q-1043", " q-1043 "], NOW)
    assert len(pages(pdf)) == 1


def test_a_serial_nobody_knows_is_named_and_the_rest_is_drawn() -> None:
    sheaf = press.draw("tray_label", ["Q-1043", "Q-9998", "Q-1044", "Q-9999"], NOW)
    assert [it.page.name for it in sheaf.drawn] == ["Q-1043", "Q-1044"]
    assert len(sheaf.pdf.pages) == 2
    assert [(name, type(why)) for name, why in sheaf.refused] == [
        ("Q-9998", Unknown),
        ("Q-9999", Unknown),
    ]
    assert str(sheaf.refused[0][1]) == (
        "There is no instrument Q-9998 here. Read the mark on the neck block, or choose from "
        "the list."
    )


def test_a_proof_is_all_or_nothing() -> None:
    with pytest.raises(Unknown, match=r"Q-9998"):
        press.proof("tray_label", ["Q-1043", "Q-9998"], NOW)


def test_a_body_that_waits_in_store_is_no_instrument_yet() -> None:
    with pytest.raises(Unknown, match=r"Q-1060"):
        press.proof("traveller", ["Q-1060"], NOW)


def test_what_was_not_foreseen_is_told_of_the_one_it_befell(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    real = board.stands_on

    def fail(form: str, one: board.State, at: Any) -> Any:
        if one.serial == "Q-1044":
            raise ValueError("a neck of wax")
        return real(form, one, at)

    monkeypatch.setattr(board, "stands_on", fail)
    sheaf = press.draw("tray_label", ["Q-1043", "Q-1044"], NOW)
    assert [it.page.name for it in sheaf.drawn] == ["Q-1043"]
    ((name, why),) = sheaf.refused
    assert name == "Q-1044"
    assert str(why).startswith("The tray label of Q-1044 could not be drawn: a neck of wax. ")
    assert "Tray label of Q-1044 was not drawn." in caplog.text


def test_a_form_that_does_not_exist_is_answered_with_those_that_do() -> None:
    with pytest.raises(UnknownForm, match=r"no form “poster”. Choose traveller, .* or "):
        press.proof("poster", ["Q-1043"], NOW)


@pytest.mark.parametrize("serials", [[], ["", "  "]])
def test_nothing_chosen_asks_for_one(serials: list[str]) -> None:
    with pytest.raises(NoneChosen, match=r"at least one"):
        press.proof("traveller", serials, NOW)


def test_an_address_too_long_for_a_tag_prints_nothing(settings: Any) -> None:
    settings.ADDRESS = "http://a-long-name.of.this.machine:8000"
    with pytest.raises(AddressTooLong, match=r"47 characters"):
        press.proof("body_tag", ["Q-1043"], NOW)


def test_a_part_without_a_tag_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(board, "next_prints", lambda them, form, own_code: {})
    with pytest.raises(NoLiveTag, match=r"neck of Q-1043 has no tag in use"):
        press.proof("neck_tag", ["Q-1043"], NOW)


def test_a_neck_that_is_paired_has_no_tag_to_print() -> None:
    sheaf = press.draw("neck_tag", ["Q-1043", "Q-1050"], NOW)
    assert [it.page.name for it in sheaf.drawn] == ["Q-1043"]
    ((name, why),) = sheaf.refused
    assert (name, type(why)) == ("Q-1050", NeckIsPaired)
    assert "K-2088 is one pair with Q-1050" in str(why)
    assert "Print the body tag" in str(why)


def test_a_body_without_a_neck_has_no_neck_tag_to_print() -> None:
    broken = door.PairBroken(now("Q-1050").id, "scrap")
    assert door.record(act("P-01", "", reason="Heel split"), broken).done
    with pytest.raises(NoNeck, match=r"Q-1050 has no neck.*The lead names the neck"):
        press.proof("neck_tag", ["Q-1050"], NOW)
    assert pages(press.proof("body_tag", ["Q-1050"], NOW))


def test_drawing_records_nothing() -> None:
    before = now("Q-1043")
    for form in FORMS:
        press.proof(form, ["Q-1043"], NOW)
    assert now("Q-1043").seq == before.seq
    assert press.draw("traveller", ["Q-1043"], NOW).drawn[0].page.next.copy == 1  # type: ignore[union-attr]


def printed(form: str, serial: str, reason: str = "") -> None:
    """Draw a form of an instrument and record that it left the printer."""
    (it,) = drawn(form, [serial]).drawn
    coming = it.page.next
    assert coming is not None
    deed = door.Printed(
        instrument_id=it.page.thing.id,
        form=form,
        words="Paper",
        of=coming.of,
        copy=coming.copy,
        code=coming.code,
        drawn_from=it.page.thing.seq,
        stands=it.page.stands,
    )
    outcome = door.record(act("P-41", "K", reason=reason), deed)
    assert outcome.done, outcome.findings


def test_a_traveller_printed_again_says_which_copy_it_is_in_bold() -> None:
    first = press.proof("traveller", ["Q-1043"], NOW)
    assert bold(first, "copy1,printed2031-03-0309:30") == [False, False]
    printed("traveller", "Q-1043")
    second = press.proof("traveller", ["Q-1043"], NOW + timedelta(hours=1))
    assert bold(second, "copy2,printed2031-03-0310:30") == [True, True]
    assert f"entry{now('Q-1043').seq}·" in words(second)


@pytest.mark.parametrize(("form", "told"), [("body_tag", "copy2,printed"), ("neck_tag", "copy2")])
def test_a_tag_printed_again_says_which_copy_it_is_in_bold(form: str, told: str) -> None:
    printed(form, "Q-1043")
    pdf = press.proof(form, ["Q-1043"], NOW)
    assert bold(pdf, told) == [True, True]


def test_without_the_layout_libraries_a_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(PressMissing, match=r"Printing is off.*apt-get install libpango"):
        press.draw("traveller", ["Q-1043"], NOW)


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


@every_form
def test_the_widest_code_stays_clear_of_the_square_and_on_the_paper(
    form: str, one_code: str
) -> None:
    pdf = press.proof(form, ["Q-1049"], NOW)
    for page, picture, (width, _) in zip(
        pages(pdf), pictures(pdf, 300), sizes_mm(pdf), strict=True
    ):
        (square,) = squares(picture)
        quiet_mm = (square.position.top_right.x + side_px(square) * 4 / 29) / 300 * 25.4
        at = page.text.index(one_code)
        code = page.glyphs[at : at + len(one_code)]
        assert min(one.left for one in code) > quiet_mm
        assert max(one.right for one in code) < width - 1


@every_form
@pytest.mark.usefixtures("one_code")
def test_a_form_tells_the_same_an_hour_later_but_for_its_moment(form: str) -> None:
    first = pages(press.proof(form, ["Q-1043"], NOW))
    later = pages(press.proof(form, ["Q-1043"], NOW + timedelta(hours=1)))
    assert [page.text.replace("09:30", "10:30") for page in first] == [one.text for one in later]


def test_every_refusal_is_a_sentence_with_a_next_step() -> None:
    refused = [
        AddressTooLong("HTTP://X", 35),
        AddressUnfit("HTTP://X_", "_"),
        NeckIsPaired("Q-1050", "K-2088"),
        NoLiveTag("Q-1043", "neck"),
        NoNeck("Q-1050"),
        NoneChosen(),
        NotDrawn("Traveller", "Q-1", "no ink."),
        NotReadable("Q-1043"),
        NotReleased("Q-1043"),
        PressMissing("no Pango"),
        Unknown("Q-1", "instrument"),
        Unknown("P-9", "badge"),
        UnknownForm("", ["traveller", "body_tag"]),
    ]
    for one in refused:
        assert isinstance(one, NotPrinted)
        assert str(one).endswith(".")
        assert str(one).count(". ") >= 1, "what is so, then what to do"
        assert ".." not in str(one)


def test_a_print_of_several_says_so_in_its_title() -> None:
    sheaf = drawn("tray_label", ["Q-1043", "Q-1044", "Q-1049"])
    read = pypdf.PdfReader(io.BytesIO(press.bound(sheaf.pdf, sheaf.title)))
    assert read.metadata is not None
    assert read.metadata.title == "Tray label Q-1043 and 2 more"


def test_a_print_is_marked_as_of_the_language_in_force(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    real = typesetting.lay_out

    def seeing(page: str, styles: tuple[str, ...]) -> Any:
        seen.append(page)
        return real(page, styles)

    monkeypatch.setattr(typesetting, "lay_out", seeing)
    with translation.override("es"):
        pdf = press.proof("tray_label", ["Q-1043"], NOW)
    assert str(pypdf.PdfReader(io.BytesIO(pdf)).root_object["/Lang"]) == "es"
    assert ['<html lang="es">' in page for page in seen] == [True]


@pytest.mark.parametrize("form", ["traveller", "body_tag", "neck_tag"])
def test_further_instruments_take_no_further_statements(
    form: str, django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    serials = ["Q-1055", "Q-1043", "Q-1058", "Q-1044"]
    press.draw(form, serials, NOW)  # sheets are kept from now on
    with django_assert_max_num_queries(9) as few:
        press.draw(form, serials[:2], NOW)
    with django_assert_num_queries(len(few)):
        press.draw(form, serials, NOW)
