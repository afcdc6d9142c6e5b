"""The label outside the carton. The demo's woods are real, its instruments are invented."""

from __future__ import annotations

from typing import Any
from unittest import mock

import pytest
from django.test import override_settings
from django.utils.timezone import localtime

from shop.catalogue import revising
from shop.catalogue.models import Item, SpecRevision, Wood
from shop.craft.code import Kind
from shop.craft.imposing import A6
from shop.floor import board, door, tags
from shop.floor.models import Instrument, Tag
from shop.paper import press, typesetting
from shop.paper.drafts import Draft
from shop.paper.forms import FORMS
from shop.paper.scan import Scan
from tests.floor.around import NIGRA, goes_to
from tests.floor.morning import NOW, act, forget, now, person
from tests.floor.released import go_on
from tests.paper.printing import ADDRESS
from tests.paper.reading import (
    INK,
    Page,
    darkest,
    pages,
    pictures,
    side_px,
    sizes_mm,
    squares,
    squeezed,
    words,
)  # fmt: skip

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

A6_MM = (105, 148)  # ISO 216:2007, as several public tables give it
LEAST_MODULE_MM = 0.75  # a measured reader's, on synthetic pictures
# Heights of capitals and figures in mm; common practice, no source.
LAST_FOUR_MM, MODEL_MM, TEXT_MM = 12, 6, 2.5

PLAIN = "Q-1058"  # no battery, woods that need no paper, goes nowhere in particular
FULL = "Q-1055"  # battery, a wood without its paper, for Norway
HOLD = "Hold the carton: paper for Brazilian rosewood is not noted."
BATTERY = "Battery: alkaline, in the instrument, contacts insulated"
both = pytest.mark.parametrize("serial", [PLAIN, FULL])


Seen = dict[str, bytes]


@pytest.fixture(scope="module")
def seen(morning: None, django_db_blocker: Any) -> Seen:
    """The labels of both as they stand, printed once for all who only look at them."""
    with django_db_blocker.unblock(), override_settings(ADDRESS=ADDRESS):
        return {serial: printed(serial) for serial in (PLAIN, FULL)}


def printed(serial: str) -> bytes:
    return press.proof("box_label", [serial], NOW)


def insulated(said: str, serial: str = FULL) -> None:
    """What was noted of the battery's contacts: 1 for yes, 0 for no."""
    rows = Instrument.objects.filter(body__serial=serial)
    rows.update(gauged=[["insulated", "battery", said]])


def spot(page: Page, word: str) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of a word on a page, in mm from the lower left."""
    at = page.text.index(squeezed(word))
    them = page.glyphs[at : at + len(squeezed(word))]
    return (
        min(one.left for one in them), min(one.bottom for one in them),
        max(one.right for one in them), max(one.top for one in them),
    )  # fmt: skip


def ink_in(pdf: bytes, left: float, bottom: float, right: float, top: float) -> float:
    """The share of a place on the first page that is printed; mm from the lower left."""
    picture, px = pictures(pdf, 300)[0], 300 / 25.4
    high, low = picture.height - top * px, picture.height - bottom * px
    crop = picture.crop((int(left * px), int(high), int(right * px), int(low)))
    return sum(crop.histogram()[:INK]) / (crop.width * crop.height)


@both
def test_it_is_one_label_of_a6(serial: str, seen: Seen) -> None:
    [size] = sizes_mm(seen[serial])
    assert size == pytest.approx(A6_MM, abs=0.1)
    assert (FORMS["box_label"].format, FORMS["box_label"].paper[:2]) == (A6, "A6")


@both
@pytest.mark.parametrize("dpi", [150, 300])
def test_scanning_the_carton_leads_to_the_instrument(serial: str, dpi: int, seen: Seen) -> None:
    """zxing-cpp reads ISO/IEC 18004 without any code of the library that wrote the symbol."""
    [side] = pictures(seen[serial], dpi)
    [square] = squares(side)
    code = square.text.rpartition("/")[2]
    assert square.text == f"{ADDRESS}/{code}".upper()
    assert code[0] == "P", "a code of its own, so that it is never taken for the tag in the case"


def test_scanning_a_label_that_was_printed_leads_to_the_instrument() -> None:
    [drawn] = Draft.of(press.draw("box_label", [PLAIN], NOW)).rows
    assert drawn.deed is not None
    assert door.record(act("P-01", ""), drawn.deed).done
    found = tags.find(drawn.deed.code, Kind.PAPER)
    assert board.number_of(found.body_tag) == now(PLAIN).id


@both
def test_the_code_stands_under_its_square_to_be_typed(serial: str, seen: Seen) -> None:
    [side] = pictures(seen[serial], 300)
    [square] = squares(side)
    code = square.text.rpartition("/")[2]
    assert f"{code[:4]}-{code[4:]}" in words(seen[serial])


def test_a_module_is_wide_enough_for_a_phone_at_arms_length(seen: Seen) -> None:
    """29 modules a side at version 3 (ISO/IEC 18004)."""
    [side] = pictures(seen[FULL], 600)
    [square] = squares(side)
    module_mm = side_px(square) / 600 * 25.4 / 29
    assert module_mm == pytest.approx(0.875, abs=0.01)
    assert module_mm >= LEAST_MODULE_MM


@both
def test_nothing_is_printed_within_four_modules_of_the_square(serial: str, seen: Seen) -> None:
    """The quiet zone of ISO/IEC 18004, which lies wholly on the label."""
    [side] = pictures(seen[serial], 300)
    [square] = squares(side)
    at, size, quiet = square.position.top_left, side_px(square), 3.5 / 25.4 * 300
    box = [at.x - quiet + 2, at.y - quiet + 2, at.x + size + quiet - 2, at.y + size + quiet - 2]
    assert min(box) >= 0
    assert box[2] <= side.width
    ring = side.crop((int(box[0]), int(box[1]), int(box[2]), int(box[3])))
    inside = (int(quiet) - 4, int(quiet) - 4, int(quiet + size) + 2, int(quiet + size) + 2)
    ring.paste(255, inside)
    assert darkest(ring) > INK


@both
def test_it_tells_serial_model_hand_strings_and_finish(serial: str, seen: Seen) -> None:
    text, sheet = words(seen[serial]), now(serial).sheet
    assert f"Serial{serial}" in text
    assert squeezed(f"{sheet.spec.hand.words} · {sheet.spec.strings} strings") in text
    assert squeezed(sheet.finish) in text
    assert sheet.spec.key in text


def test_it_tells_from_the_serial_down_to_where_it_goes_in_this_order(seen: Seen) -> None:
    """Common practice, no source."""
    [page] = pages(seen[FULL])
    wanted = (
        "Serial",
        "WOLD",
        "left-handed",
        "gloss",
        "HOLD",
        "Battery",
        "Fragile",
        "Gross",
        "Goes",
    )
    tops = [spot(page, one)[3] for one in wanted]
    assert tops == sorted(tops, reverse=True)


@both
def test_it_tells_what_it_was_drawn_from_and_when(serial: str, seen: Seen) -> None:
    text, one = words(seen[serial]), now(serial)
    moment = f"{localtime(NOW):%Y-%m-%d %H:%M}"
    truth = f"rev. {one.sheet.spec.revision} · entry {one.seq} · copy 1, printed {moment}"
    assert squeezed(truth) in text


@both
def test_it_is_read_across_a_dock_and_at_a_desk(serial: str, seen: Seen) -> None:
    [page] = pages(seen[serial])
    assert max(min(one) for one in page.heights_of(serial[-4:])) >= LAST_FOUR_MM
    assert max(min(one) for one in page.heights_of(now(serial).sheet.spec.key)) >= MODEL_MM
    told = [one for one in page.glyphs if one.char.isdigit() or one.char.isupper()]
    assert [one for one in told if one.height < TEXT_MM] == []


def on_the_label(page: Page) -> bool:
    return (
        min(min(one.left, one.bottom) for one in page.glyphs) >= 1
        and max(one.right for one in page.glyphs) <= A6_MM[0] - 1
        and max(one.top for one in page.glyphs) <= A6_MM[1] - 1
    )


@both
def test_every_letter_lies_on_the_label(serial: str, seen: Seen) -> None:
    assert all(on_the_label(page) for page in pages(seen[serial]))


@both
def test_the_three_marks_stand_over_their_words(serial: str, seen: Seen) -> None:
    """The words are those of ISO 780:2015; the drawings are our own."""
    pdf = seen[serial]
    [page] = pages(pdf)
    for word in ("Fragile", "Keep away", "This way up"):
        left, _, right, top = spot(page, word)
        middle = (left + right) / 2
        assert 0.1 < ink_in(pdf, middle - 5, top + 1, middle + 5, top + 11) < 0.9


def test_lifting_it_has_its_caution(seen: Seen) -> None:
    told = "Two people or a trolley if it is heavy; follow your site’s lifting rules."
    assert squeezed(told) in words(seen[PLAIN])


def test_a_battery_has_its_words_and_its_mark(seen: Seen) -> None:
    pdf = seen[FULL]
    [page] = pages(pdf)
    assert squeezed(BATTERY) in page.text
    left, bottom, _, top = spot(page, "Battery: alkaline")
    assert ink_in(pdf, left - 11, bottom - 4, left - 2, top) > 0.1


def test_one_without_a_battery_says_nothing_of_any(seen: Seen) -> None:
    assert "Battery" not in words(seen[PLAIN])


def test_the_box_is_ticked_once_its_contacts_are_noted_as_insulated() -> None:
    assert "✓" not in words(printed(FULL))
    insulated("1")
    assert "insulated✓" in words(printed(FULL))


def test_a_battery_with_bare_contacts_holds_the_carton() -> None:
    insulated("0")
    text = words(printed(FULL))
    assert squeezed("Hold the carton: the battery’s contacts are not insulated.") in text
    assert "✓" not in text


def test_a_battery_of_a_kind_unknown_is_not_called_alkaline() -> None:
    """A lithium battery travels under rules of its own (UN 3481)."""
    item = Item.objects.get(key="V01")
    Item.objects.filter(pk=item.pk).update(name="9 V lithium battery")
    revising.item_changed(item.pk)
    text = words(printed(FULL))
    assert "alkaline" not in text
    assert squeezed("Battery: 9 V lithium battery, in the instrument") in text
    assert squeezed("ask the carrier before it is handed over.") in text


def test_a_wood_without_its_paper_holds_the_carton(seen: Seen) -> None:
    assert squeezed(HOLD) in words(seen[FULL])
    assert "HOLD" in words(seen[FULL])


def test_a_paper_that_is_noted_frees_the_carton() -> None:
    noted = door.PermitNoted(now(FULL).id, NIGRA, "N-4471/31")
    assert door.record(act("P-01", ""), noted).done
    assert "HOLD" not in words(printed(FULL))


def test_one_that_crosses_no_border_is_not_held() -> None:
    goes_to("", FULL)
    assert "HOLD" not in words(printed(FULL))


def test_every_wood_without_its_paper_is_named() -> None:
    wood = Wood.objects.get(botanical="Dalbergia cochinchinensis")
    for revision in SpecRevision.objects.filter(spec__key="WOLD"):
        revision.woods.add(wood)
    forget()
    text = words(printed(FULL))
    assert squeezed(HOLD) in text
    assert squeezed("Hold the carton: paper for Siamese rosewood is not noted.") in text


def test_country_and_order_are_printed_where_they_are_known_and_written_where_not() -> None:
    assert squeezed("Goes to Norway Order Name Street Town") in words(printed(FULL))
    Instrument.objects.filter(body__serial=FULL).update(order="C-0417")
    assert squeezed("Goes to Norway Order C-0417 Name") in words(printed(FULL))
    assert squeezed("Goes to Order Name Street Town") in words(printed(PLAIN))


@both
def test_what_is_not_known_has_a_line_to_be_written_on(serial: str, seen: Seen) -> None:
    pdf = seen[serial]
    [page] = pages(pdf)
    for word in ("Name", "Street", "Town", "Gross weight", "Carton"):
        _, bottom, right, _ = spot(page, word)
        assert ink_in(pdf, right + 3, bottom - 1.5, right + 16, bottom + 0.5) > 0.05


def test_what_is_still_open_is_said(seen: Seen) -> None:
    assert squeezed("When this was printed: Not released yet.") in words(seen[PLAIN])


def test_one_that_is_released_has_nothing_open() -> None:
    at = go_on("Q-1037")
    text = words(press.proof("box_label", ["Q-1037"], at))
    assert "released" not in text
    assert "Whenthiswasprinted" not in text


def test_long_names_lose_nothing() -> None:
    """Each as long as its field; invented."""
    longest = {
        "finish": "open-pored oil and wax in nine thin coats",
        "country": "The Far and Most Distant Islands of Wend",
        "order": "C-0417/LONG/AND/LONGER/1",
        "wood": "a rosewood with a name beyond all bounds",
    }
    SpecRevision.objects.filter(spec__key="WOLD").update(finish=longest["finish"][:40])
    Wood.objects.filter(botanical=NIGRA).update(name=longest["wood"])
    Instrument.objects.filter(body__serial=FULL).update(order=longest["order"])
    goes_to(longest["country"], FULL)
    sides = pages(printed(FULL))
    text = "".join(page.text for page in sides)
    told = (longest["finish"][:40], longest["country"], longest["order"], longest["wood"])
    assert all(squeezed(one) in text for one in told)
    assert squeezed("follow your site’s lifting rules.") in text
    assert all(on_the_label(page) for page in sides)


def test_what_has_no_room_goes_on_a_second_label_that_names_its_instrument() -> None:
    for number in range(4):
        wood = Wood.objects.create(name=f"wood {number}", botanical=f"Lignum {number}", permit=True)
        for revision in SpecRevision.objects.filter(spec__key="WOLD"):
            revision.woods.add(wood)
    forget()
    sides = pages(printed(FULL))
    assert len(sides) == 2
    assert all(FULL in page.text for page in sides)
    text = "".join(page.text for page in sides)
    assert all(f"paperforwood{number}isnotnoted" in text for number in range(4))
    assert squeezed("lifting rules.") in text


@both
def test_a_stamped_label_is_the_same_picture_as_one_laid_out_by_itself(serial: str) -> None:
    with mock.patch.object(press, "_scan", return_value=Scan.of("P000000")):  # else drawn by lot
        stamped, plain = printed(serial), press.proof("box_label", [serial], NOW, plain=True)
    for one, other in zip(pictures(stamped, 144), pictures(plain, 144), strict=True):
        assert one.tobytes() == other.tobytes()


def test_instruments_of_one_kind_share_one_layout() -> None:
    with mock.patch.object(typesetting, "lay_out", wraps=typesetting.lay_out) as laid_out:
        sheaf = press.draw("box_label", ["Q-1037", "Q-1041"], NOW)
    assert laid_out.call_count == 1
    assert [page.page.name for page in sheaf.drawn] == ["Q-1037", "Q-1041"]
    pdf = press.bound(sheaf.pdf, sheaf.title)
    for serial, side in zip(("Q-1037", "Q-1041"), pages(pdf), strict=True):
        assert serial in side.text


def test_a_body_without_a_tag_has_its_label_all_the_same() -> None:
    """It carries a code of its own."""
    Tag.objects.filter(body__serial=PLAIN).update(void_at=NOW)
    assert press.draw("box_label", [PLAIN], NOW).refused == []


@both
def test_one_sold_as_seconds_says_so_on_its_carton_and_in_its_packing_list(serial: str) -> None:
    """Common practice, no source: the label and the papers of seconds differ."""
    seconds = "SECONDS"
    assert seconds not in words(printed(serial))
    number = now(serial).id
    noted = door.record(
        act("P-31", "I"), door.DefectNoted(number, "finish", "chip", 2, 6, words="By the edge")
    )
    assert noted.seq is not None
    decided = door.DefectDecided(number, noted.seq, "seconds")
    lead = act("P-01", "", reason="A repair would show", beside=person("P-31"))
    assert door.record(lead, decided).done
    label = printed(serial)
    assert (len(pages(label)), seconds in words(label)) == (1, True)
    packing = words(press.proof("packing", [serial], NOW))
    assert squeezed("Seconds: sold with these defects") in packing
    assert squeezed("chip, lower bout") in packing
