"""The papers in the case. Woods are real, the workshop and its instruments are invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import groupby
from typing import Any
from unittest import mock

import pytest
from PIL import Image

from shop.catalogue import revising
from shop.catalogue.models import Item, KitLine, Operation, SpecRevision, Wood
from shop.craft import gauging
from shop.craft.size import plain
from shop.floor import board, door
from shop.floor.models import Instrument
from shop.paper import press, typesetting
from shop.paper.facts.saying import moment, named
from tests.floor.around import NIGRA, goes_to
from tests.floor.morning import NOW, act, check_tray, forget, now
from tests.floor.released import go_on
from tests.paper.reading import INK, Page, pages, pictures, sizes_mm, squeezed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("seen")]

A4_MM = (210, 297)  # ISO 216:2007, as several public tables give it
FOLD_MM = 148.5  # half of that
# Heights of capitals and figures in mm; common practice, no source.
LAST_FOUR_MM, MODEL_MM, TEXT_MM = 12, 6, 2.5
LARGE_MM = 4  # only the heading of a page is as high, of its words

DONE = "Q-1043"  # released; no battery
FULL = "Q-1055"  # not begun; a battery, a wood without its paper, for Norway
HEADINGS = [
    "Packing list", "Woods declaration", "Set-up sheet", "Care sheet", "Battery note", "Warranty",
]  # fmt: skip
WITHOUT = [one for one in HEADINGS if one != "Battery note"]
both = pytest.mark.parametrize("serial", [DONE, FULL])


Seen = dict[str, bytes]


@pytest.fixture(scope="module")
def seen(morning: None, django_db_blocker: Any) -> Iterator[Seen]:
    """The papers of both as they stand, printed once for all who only look at them."""
    with django_db_blocker.unblock():
        go_on(DONE)
        yield {serial: printed(serial) for serial in (DONE, FULL)}


def printed(serial: str, at: datetime = NOW) -> bytes:
    return press.proof("packing", [serial], at)


def papers(pdf: bytes) -> dict[str, str]:
    """The text of each paper by its heading, without spaces."""
    found = {heading(side): side.text for side in pages(pdf)}
    assert len(found) == len(pages(pdf))
    return found


def heading(side: Page) -> str:
    """What a page is called: it stands before the model and the last four, larger than text."""
    [found] = [
        one
        for one in HEADINGS
        for heights in side.heights_of(squeezed(one))
        if max(heights) > LARGE_MM
    ]
    return found


# All of them


@pytest.mark.parametrize(("serial", "headings"), [(DONE, WITHOUT), (FULL, HEADINGS)])
def test_one_after_another_has_its_own_page_heading_and_serial(
    serial: str, headings: list[str], seen: Seen
) -> None:
    found = papers(seen[serial])
    assert list(found) == headings
    for number, text in enumerate(found.values(), 1):
        assert f"Serial{serial}" in text
        assert f"{number}/{len(headings)}" in text


@both
def test_every_page_is_a4(serial: str, seen: Seen) -> None:
    for size in sizes_mm(seen[serial]):
        assert size == pytest.approx(A4_MM, abs=0.1)


def dark_rows(strip: Image.Image) -> list[bool]:
    """Of each row of pixels, whether all of it is printed."""
    rows = (strip.crop((0, y, strip.width, y + 1)) for y in range(strip.height))
    return [not sum(row.histogram()[INK:]) for row in rows]


@both
def test_either_edge_has_a_tick_where_it_is_folded_to_a5(serial: str, seen: Seen) -> None:
    px = 300 / 25.4
    for side in pictures(seen[serial], 300):
        for left in (4.5, 201.5):
            strip = side.crop((int(left * px), 0, int((left + 4) * px), side.height))
            black = [y for y, dark in enumerate(dark_rows(strip)) if dark]
            assert black, f"no tick at {left} mm"
            middle_mm = (black[0] + black[-1] + 1) / 2 / px
            assert middle_mm == pytest.approx(FOLD_MM, abs=0.1)


@both
def test_every_page_is_read_at_a_desk_and_across_a_bench(serial: str, seen: Seen) -> None:
    for page in pages(seen[serial]):
        assert max(min(one) for one in page.heights_of(serial[-4:])) >= LAST_FOUR_MM
        assert max(min(one) for one in page.heights_of(now(serial).sheet.spec.key)) >= MODEL_MM
        told = [one for one in page.glyphs if one.char.isdigit() or one.char.isupper()]
        assert [one for one in told if one.height < TEXT_MM] == []


def on_the_page(page: Page) -> bool:
    return (
        min(min(one.left, one.bottom) for one in page.glyphs) >= 4
        and max(one.right for one in page.glyphs) <= A4_MM[0] - 4
        and max(one.top for one in page.glyphs) <= A4_MM[1] - 4
    )


@both
def test_every_letter_lies_where_an_office_printer_reaches(serial: str, seen: Seen) -> None:
    """Some 4 mm of a sheet stay white; common practice, no source."""
    assert all(on_the_page(page) for page in pages(seen[serial]))


@both
def test_every_page_tells_what_it_was_drawn_from_and_when(serial: str, seen: Seen) -> None:
    one = now(serial)
    truth = f"rev. {one.sheet.spec.revision} · entry {one.seq} · copy 1, printed {moment(NOW)}"
    assert all(squeezed(truth) in text for text in papers(seen[serial]).values())


@pytest.mark.parametrize("serial", [DONE, FULL, "Q-1044", "Q-1058", "Q-1060"])
def test_stamped_papers_are_the_same_picture_as_laid_out_by_themselves(serial: str) -> None:
    if serial == "Q-1060":
        assert door.record(act("P-01", ""), door.PartArrived("neck", "K-2110", "VOE")).done
        voe = door.Released("Q-1060", "K-2110", "VOE", due_on=NOW.date(), release_on=NOW.date())
        assert door.record(act("P-01", "", reason="invented"), voe).done
    stamped, plain = printed(serial), press.proof("packing", [serial], NOW, plain=True)
    for one, other in zip(pictures(stamped, 72), pictures(plain, 72), strict=True):
        assert one.tobytes() == other.tobytes()


def test_instruments_of_one_kind_share_one_layout() -> None:
    """Both are strung and wait in their cases; what differs is stamped."""
    other = "Q-1037"
    go_on(other)
    with mock.patch.object(typesetting, "lay_out", wraps=typesetting.lay_out) as laid_out:
        sheaf = press.draw("packing", [DONE, other], NOW)
    assert [one.page.name for one in sheaf.drawn] == [DONE, other]
    assert laid_out.call_count == 1
    first, second = (pages(press.bound(sheaf.pdf, ""))[at] for at in (0, len(WITHOUT)))
    assert (DONE in first.text, other in second.text) == (True, True)


def test_long_names_lose_nothing() -> None:
    """Each as long as its field; invented."""
    wood = "a rosewood with a name beyond all bounds"
    finish, country = "open-pored oil and wax in nine thin coa", "The Most Distant Islands of Wend"
    order, item = "C-0417/LONG/AND/LONGER/1", "a nut of bone with every slot cut and polished twice"
    SpecRevision.objects.filter(spec__key="WOLD").update(finish=finish)
    Wood.objects.filter(botanical=NIGRA).update(name=wood)
    Instrument.objects.filter(body__serial=FULL).update(order=order)
    goes_to(country, FULL)
    nut = Item.objects.get(key="N02")
    Item.objects.filter(pk=nut.pk).update(name=item)
    revising.item_changed(nut.pk)
    sides = pages(printed(FULL))
    text = "".join(page.text for page in sides)
    assert all(squeezed(told) in text for told in (wood, finish, country, order, item))
    assert all(on_the_page(page) for page in sides)


def test_a_list_that_has_no_room_goes_on_over_the_page() -> None:
    kept = board.as_built(now(DONE).id)
    assert kept is not None
    more = [kept["kit"][0] | {"key": f"T{number}"} for number in range(60, 110)]
    with mock.patch.object(board, "as_built", return_value=kept | {"kit": kept["kit"] + more}):
        sides = pages(printed(DONE))
    assert len(sides) == len(WITHOUT) + 1
    assert [heading(side) for side in sides[:3]] == ["Packing list", "Packing list", HEADINGS[1]]
    text = "".join(side.text for side in sides)
    assert all(f"T{number}{squeezed(kept['kit'][0]['name'])}" in text for number in range(60, 110))


# The packing list


def test_a_released_one_is_listed_as_it_was_frozen() -> None:
    kept = board.as_built(now(DONE).id)
    assert kept is not None
    item = Item.objects.get(key="T01")
    Item.objects.filter(pk=item.pk).update(name="a set of another name")
    revising.item_changed(item.pk)
    text = papers(printed(DONE))["Packing list"]
    for one in kept["kit"]:
        assert squeezed(f"{one['key']} {one['name']}") in text
    assert "anothername" not in text


def test_one_that_is_not_released_is_listed_as_its_tray_and_its_kit_have_it(seen: Seen) -> None:
    text = papers(seen[FULL])["Packing list"]
    for line in now(FULL).kit:
        assert squeezed(f"{line.article.key} {named(line.article, line.quantity)}") in text


def test_a_substitute_in_the_tray_is_listed_in_the_place_of_what_was_asked() -> None:
    tray = now("Q-1058").tray_id
    row: dict[str, Any] = {
        "put_in": now("Q-1055").kit[0].article, "article": now("Q-1058").kit[0].article,
        "quantity": 1, "returned": 0,
    }  # fmt: skip
    with mock.patch("shop.paper.facts.packing.shelf.tray", return_value={"lines": [row]}) as asked:
        text = papers(printed("Q-1058"))["Packing list"]
    asked.assert_called_once_with(tray)
    assert f"{row['put_in'].key}{squeezed(row['put_in'].name)}" in text
    assert squeezed(row["article"].name) not in text


def test_the_case_and_what_lies_loose_in_it_stand_under_what_is_in_the_case() -> None:
    """A strap that is asked for at boxing is not fitted to anything."""
    line = KitLine.objects.filter(kit__revision__spec__key="WOLD", item__key="E05").get()
    KitLine.objects.filter(pk=line.pk).update(
        used_at=Operation.objects.get(code="Z10"), in_tray=False
    )
    forget()
    with mock.patch("shop.paper.facts.packing.shelf.tray", return_value={"lines": []}):
        text = papers(printed(FULL))["Packing list"]
    inside, fitted = text.split("Fittedtotheinstrument")
    assert squeezed("Case C01 hard case, standard") in inside
    assert squeezed("Loose E05 heel strap button, black") in inside
    assert "C01" not in fitted
    assert "E05" not in fitted


def test_keys_tools_and_strings_that_no_kit_has_are_written_in(seen: Seen) -> None:
    text = papers(seen[DONE])["Packing list"]
    assert squeezed("Keys and tools Spare strings Also") in text
    assert squeezed("Packed by Date") in text


@pytest.mark.parametrize(("serial", "there"), [(DONE, False), (FULL, True)])
def test_every_paper_of_the_envelope_is_on_the_list(serial: str, there: bool, seen: Seen) -> None:
    inside = papers(seen[serial])["Packing list"].partition("Papersinthisenvelope")[2]
    for paper in ("Woods declaration", "Set-up sheet", "Care sheet", "Warranty", "As-built record"):
        assert squeezed(paper) in inside
    assert ("Batterynote" in inside) is there


def test_every_line_has_a_box_to_tick(seen: Seen) -> None:
    """Boxes are 4 mm high and stand along the left edge; rules are far thinner."""
    side, px = pictures(seen[DONE], 300)[0], 300 / 25.4
    edge = side.crop((int(14.1 * px), int(28 * px), int(14.4 * px), int(280 * px)))
    runs = [len(list(run)) / px for dark, run in groupby(dark_rows(edge)) if dark]
    boxes = [run for run in runs if run == pytest.approx(4, abs=0.2)]
    kept = board.as_built(now(DONE).id)
    assert kept is not None
    # The instrument and three lines to write on, three of papers, and the kit.
    assert len(boxes) == 4 + 3 + len(kept["kit"])


def test_what_was_agreed_stands_on_it(seen: Seen) -> None:
    text = papers(printed("Q-1044"))["Packing list"]
    assert squeezed("Gold tuning machines instead of nickel, one lot (buyer, order C-0417)") in text
    assert "Builtasagreed" not in papers(seen[DONE])["Packing list"]


def test_what_is_still_open_is_said(seen: Seen) -> None:
    told = "First look (I10) not done yet. Second look (I30) not done yet. Not released yet."
    text = papers(seen[FULL])["Packing list"]
    assert squeezed(told) in text
    assert squeezed("Hold the carton: paper for Brazilian rosewood is not noted.") in text


def test_one_that_is_released_has_nothing_open(seen: Seen) -> None:
    assert "Stillopen" not in papers(seen[DONE])["Packing list"]
    assert "Hold" not in papers(seen[DONE])["Packing list"]


# The woods


def test_every_wood_stands_by_both_its_names(seen: Seen) -> None:
    text = papers(seen[FULL])["Woods declaration"]
    for wood in now(FULL).sheet.spec.woods:
        assert squeezed(f"{wood.botanical} {wood.name}") in text


def test_a_wood_that_needs_none_says_so(seen: Seen) -> None:
    told = "sugar maple no no permit needed: this shop’s list asks none for it in a finished guitar"
    assert squeezed(told) in papers(seen[FULL])["Woods declaration"]


def test_a_listed_wood_without_a_number_holds_the_carton(seen: Seen) -> None:
    told = "Brazilian rosewood yes permit needed, no number noted: hold the carton"
    assert squeezed(told) in papers(seen[FULL])["Woods declaration"]


def test_a_number_that_was_noted_stands_beside_its_wood() -> None:
    noted = door.PermitNoted(now(FULL).id, NIGRA, "N-4471/31")
    assert door.record(act("P-01", ""), noted).done
    text = papers(printed(FULL))["Woods declaration"]
    assert squeezed("Brazilian rosewood yes permit N-4471/31") in text
    assert "holdthecarton" not in text


def test_a_listed_wood_of_one_that_goes_nowhere_yet_is_told_of() -> None:
    goes_to("", FULL)
    told = "Brazilian rosewood yes permit needed before it crosses a border"
    assert squeezed(told) in papers(printed(FULL))["Woods declaration"]


def test_a_declaration_sends_its_reader_to_the_law(seen: Seen) -> None:
    text = papers(seen[FULL])["Woods declaration"]
    assert "GoestoNorway" in text
    assert squeezed("check the law of the country it goes to") in text
    assert squeezed("It is no permit and takes the place of none.") in text


def test_a_spec_that_names_no_woods_has_room_to_write_them() -> None:
    SpecRevision.woods.through.objects.all().delete()
    forget()
    text = papers(printed(FULL))["Woods declaration"]
    assert squeezed("The spec names no woods: write them here") in text


# The set-up


def test_what_was_asked_stands_with_its_limits(seen: Seen) -> None:
    text = papers(seen[DONE])["Set-up sheet"]
    for what, value in now(DONE).sheet.targets:
        assert squeezed(f"{what}{value}") in text


def test_room_for_a_pen_is_left_only_where_the_looks_measured_nothing(seen: Seen) -> None:
    assert "Emptyfieldsareforapen" in papers(seen[FULL])["Set-up sheet"]
    assert "Emptyfields" not in papers(seen[DONE])["Set-up sheet"]
    (targets, _measured) = papers(seen[DONE])["Set-up sheet"].split("Measured")
    assert "Firstlook" not in targets.split("Asked", 1)[1]


def test_every_value_measured_at_nut_saddle_and_strings_stands_on_it(seen: Seen) -> None:
    one, text = now(DONE), papers(seen[DONE])["Set-up sheet"]
    told = 0
    for key in ("proud",):
        quantity = gauging.QUANTITIES[key]
        for place in quantity.places(one.sheet.spec):
            value = one.readings.at(key, place.key)
            assert value is not None
            assert squeezed(f"{quantity.words}, {place.words} {quantity.said(value)}") in text
            told += 1
    assert told == 2
    assert squeezed("By string 6 5 4 3 2 1") in text
    for key in ("nut_slot", "first_fret", "octave_off"):
        quantity = gauging.QUANTITIES[key]
        values = [one.readings.at(key, place) for place in "654321"]
        assert None not in values
        row = " ".join(plain(value) for value in values if value is not None)
        assert squeezed(f"{quantity.words}, {quantity.unit} {row}") in text
    assert "Posthole" not in text


def test_the_newest_value_of_a_spot_counts() -> None:
    last = go_on("Q-1041", until="A30")
    assert check_tray("Q-1041", "P-20", "U", at=last).done
    deed = door.Gauged(now("Q-1041").id, "U30", {("proud", "bass"): "2.75"})
    assert door.record(act("P-20", "U", last), deed).result == "recorded"
    text = papers(printed("Q-1041", last))["Set-up sheet"]
    assert squeezed("Saddle above the bridge, bass side 2.75 mm") in text


def test_strings_stand_with_their_gauges_and_what_they_are_tuned_to(seen: Seen) -> None:
    """A set of .012 to .053 inch; its gauges in mm are exact conversions."""
    text = papers(seen[DONE])["Set-up sheet"]
    assert squeezed("R01 light six, ball end") in text
    assert squeezed("1 0.305 mm (0.0120 in) 2 0.406 mm (0.0160 in) 3 0.610 mm (0.0240 in)") in text
    assert squeezed("6 1.346 mm (0.0530 in)") in text
    assert squeezed("A30 String to pitch and set up: A4 = 440 Hz within 3 cents.") in text


def test_both_looks_are_told_by_whom_and_when(seen: Seen) -> None:
    text = papers(seen[DONE])["Set-up sheet"]
    for words, code in (("First look (I10 Inspect)", "I10"), ("Second look (I30", "I30")):
        taken = next(one for one in now(DONE).done if one.operation == code)
        assert squeezed(words) in text
        assert squeezed(f"{taken.by}, {moment(taken.at)}") in text
    assert "fresheyes" not in text


def test_a_look_that_was_not_taken_says_so(seen: Seen) -> None:
    text = papers(seen[FULL])["Set-up sheet"]
    assert squeezed("Second look (I30 Inspect again): not done yet") in text
    assert "fresheyes" not in text  # nothing was found yet that could be kept back


def test_what_the_first_look_found_stands_on_it_once_the_second_is_done() -> None:
    serial, key = "Q-1037", ("proud", "bass")
    at = go_on(serial, until="I10")
    first = door.Gauged(now(serial).id, "I10", {key: "3.45"})
    assert door.record(act("P-31", "I", at), first).result == "recorded"
    before = papers(printed(serial, at))["Set-up sheet"]
    assert "3.45" not in before
    assert squeezed("it is taken with fresh eyes") in before
    at = go_on(serial, at, until="I20")
    assert "3.45" not in papers(printed(serial, at))["Set-up sheet"]
    at = go_on(serial, at, until="I30")
    second = door.Gauged(now(serial).id, "I30", {key: "3.5"})
    assert door.record(act("P-32", "R", at), second).result == "recorded"
    after = papers(printed(serial, at))["Set-up sheet"]
    assert squeezed("bass side 3.2 mm 3.45 mm 3.5 mm") in after
    assert squeezed("fresh eyes") not in after


# Care, battery, warranty


def test_the_air_it_is_kept_in_is_told(seen: Seen) -> None:
    """45 to 55 %RH and 18 to 25 °C: common practice, no source."""
    text = papers(seen[DONE])["Care sheet"]
    assert squeezed("Air of 45–55 %RH (relative humidity), 18–25 °C") in text


@pytest.mark.parametrize(
    "told",
    [
        "In its case, the lid shut",
        "Never in a hot car",
        "Loosen nothing for a journey",
        "Protect your eyes and turn your face away: a string under tension whips",
        "String ends are sharp",
        "a rag with oil can heat and burn by itself",
        "a closed metal tin with water",
        "Your local rules come first.",
    ],
)
def test_care_and_its_cautions_are_told(told: str, seen: Seen) -> None:
    """Cautions as a bench has them; common practice, no source."""
    assert squeezed(told) in papers(seen[DONE])["Care sheet"]


def test_a_battery_has_its_note_and_leaves_the_last_word_to_the_carrier(seen: Seen) -> None:
    text = papers(seen[FULL])["Battery note"]
    for told in (
        "9 V alkaline battery",
        "A dry alkaline battery, inside the instrument that it feeds.",
        "protected from short circuit",
        "nothing may switch it on by accident",
        "Contacts insulated: not noted yet.",
        "The rules that your carrier has in force on the day go before this sheet.",
    ):
        assert squeezed(told) in text


@pytest.mark.parametrize(
    ("noted", "told"),
    [
        ("1", "Contacts insulated: noted when it was boxed."),
        ("0", "Contacts not insulated: insulate them before it is boxed."),
    ],
)
def test_the_note_says_what_was_noted_of_the_contacts(noted: str, told: str) -> None:
    rows = Instrument.objects.filter(body__serial=FULL)
    rows.update(gauged=[["insulated", "battery", noted]])
    assert squeezed(told) in papers(printed(FULL))["Battery note"]


def test_the_warranty_says_what_how_long_and_how_to_ask(seen: Seen) -> None:
    text = papers(seen[DONE])["Warranty"]
    for told in (
        "2 years from the day of sale",
        "What we put right",
        "What it does not cover",
        "How to ask",
        f"Dealer Date of sale Serial {DONE}",
    ):
        assert squeezed(told) in text
