"""The traveller: nothing is lost between the instrument and its sheet."""

from __future__ import annotations

import re

import pytest

from tests.paper.printing import (
    CUSTOM,
    NASTY,
    NASTY_APPROVED,
    NASTY_ORDER,
    NASTY_WORDS,
    ONE_OF_EACH,
    SERIALS,
    Printed,
)
from tests.paper.reading import bands_mm, pages, pictures, squeezed, words

pytestmark = pytest.mark.django_db

BOX_MM = 1.0


@pytest.mark.parametrize("serial", SERIALS)
def test_every_operation_of_the_route_has_its_line(printed: Printed, serial: str) -> None:
    text = words(printed.pdfs["traveller", serial])
    for stop in printed.states[serial].sheet.stops:
        assert squeezed(f"{stop.code}{stop.facts.name}") in text


@pytest.mark.parametrize("serial", SERIALS)
def test_a_done_operation_shows_who_did_it_and_when(printed: Printed, serial: str) -> None:
    text = words(printed.pdfs["traveller", serial])
    one = printed.states[serial]
    names = {stop.code: stop.facts.name for stop in one.sheet.stops}
    for step in one.done:
        line = f"{step.operation}{names[step.operation]}{step.by}{step.at:%Y-%m-%d%H:%M}"
        assert squeezed(line) in text


def test_an_operation_not_done_leaves_its_line_open(printed: Printed) -> None:
    text = words(printed.pdfs["traveller", "Q-1043"])
    assert "N40Gaugethepostholesandclearthelacquer" + "N50" in text


@pytest.mark.parametrize("serial", SERIALS)
def test_every_line_of_hardware_is_there_in_the_order_it_is_fitted(
    printed: Printed, serial: str
) -> None:
    text = words(printed.pdfs["traveller", serial])
    one = printed.states[serial]
    found = {it: text.find(squeezed(f"{it.article.key}{it.article.name}")) for it in one.kit}
    assert -1 not in found.values()
    route = [stop.code for stop in one.sheet.stops]
    fitted = [route.index(it.used_at) for it in sorted(found, key=found.__getitem__)]
    assert fitted == sorted(fitted)
    assert max(found.values()) < text.index("OpWork"), "hardware stands before the operations"


def test_the_custom_order_has_its_two_deviations_in_the_box(printed: Printed) -> None:
    """A box of 1 mm, first after the head of the sheet; common practice, no source."""
    pdf = printed.pdfs["traveller", CUSTOM]
    top, low = (at for at, thick in bands_mm(pictures(pdf, 300)[0], 300) if thick > 0.9)
    page = pages(pdf)[0]
    boxed = "".join(one.char for one in page.glyphs if top < 210 - one.bottom < low)
    deviations = printed.states[CUSTOM].departures
    assert len(deviations) == 2
    for one in deviations:
        assert squeezed(f"{one.words} ({one.approved})") in boxed
    assert "T02" not in boxed


def test_the_box_is_one_millimetre_thick(printed: Printed) -> None:
    bands = bands_mm(pictures(printed.pdfs["traveller", CUSTOM], 600)[0], 600)
    assert [thick for _, thick in bands if thick > 0.7] == pytest.approx([BOX_MM] * 2, abs=0.05)


def test_the_deviations_stand_above_the_hardware(printed: Printed) -> None:
    text = words(printed.pdfs["traveller", CUSTOM])
    assert text.index("Goldtuningmachines") < text.index("T02open-gear")


def test_an_instrument_as_its_spec_has_no_box(printed: Printed) -> None:
    first = pictures(printed.pdfs["traveller", "Q-1043"], 300)[0]
    bands = bands_mm(first, 300)
    assert bands, "hairlines are seen"
    assert max(thick for _, thick in bands) < 0.7


def test_words_that_could_load_something_are_printed_as_words(printed: Printed) -> None:
    text = words(printed.pdfs["traveller", NASTY])
    assert squeezed(NASTY_WORDS) in text
    assert squeezed(NASTY_APPROVED) in text
    assert squeezed(NASTY_ORDER) in text


def test_a_twelve_string_shows_all_twelve_machines_from_both_sides(printed: Printed) -> None:
    page = pages(printed.pdfs["traveller", ONE_OF_EACH["FIRTH"]])[1].text
    drawings = page[page.index("FRONT") :]
    for label in ("6o", "5o", "4o", "3o", "1'", "2'"):
        assert drawings.count(label) == 2
    assert drawings.index("FRONT") < drawings.index("BACK")


def test_a_graduated_set_prints_its_ratios_on_the_back_alone(printed: Printed) -> None:
    page = pages(printed.pdfs["traveller", ONE_OF_EACH["WOLD"]])[1].text
    front, back = page[page.index("FRONT") :].split("BACK")
    for ratio in ("34:1", "27:1", "21:1", "16:1", "19:1", "13:1"):
        assert ratio in back
        assert ratio not in front


@pytest.mark.parametrize(
    ("spec", "expected"),
    [("TARN", "3L 3R 3R 3L"), ("FIRTH", "6L 6R 6R 6L"), ("SKERRY", "6L 6L")],
)
def test_the_machines_of_either_hand_are_counted_on_their_side_of_each_view(
    printed: Printed, spec: str, expected: str
) -> None:
    """Front then back, from left to right; a left machine is one on the left seen from the
    front. Common practice, no source.
    """
    serial = ONE_OF_EACH[spec]
    page = pages(printed.pdfs["traveller", serial])[1]
    code = printed.addresses["traveller", serial].rsplit("/", 1)[1]
    drawn = range(page.text.index("FRONT"), page.text.rindex(code[:4]))
    counts = [one for one in re.finditer(r"\d[LR]", page.text) if one.start() in drawn]
    counts.sort(key=lambda one: page.glyphs[one.start()].left)
    assert " ".join(one[0] for one in counts) == expected


@pytest.mark.parametrize("spec", ONE_OF_EACH)
def test_both_views_of_the_head_stand_after_the_limits(printed: Printed, spec: str) -> None:
    text = words(printed.pdfs["traveller", ONE_OF_EACH[spec]])
    order = [text.index(one) for one in ("Z20Hand", "Limits", "FRONT", "BACK")]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("spec", "expected"),
    [
        ("TARN", ["relief0.20mm", "fret122.40mm", "fret121.60mm", "hole,press-in8.73mm"]),
        ("FIRTH", ["relief0.25mm", "fret122.30mm", "hole,press-in8.3mm", "posthole6.4mm"]),
        ("WOLD", ["hole,threaded10mm"]),
        ("VOE", ["fret124.00mm", "fret123.00mm", "rollerhole10.4mm"]),
    ],
)
def test_the_limits_are_those_of_the_spec(printed: Printed, spec: str, expected: list[str]) -> None:
    """Invented figures of the demo workshop, written out here a second time."""
    text = words(printed.pdfs["traveller", ONE_OF_EACH[spec]])
    for one in expected:
        assert one in text


def test_a_slotted_head_shows_no_bushing_hole(printed: Printed) -> None:
    assert "hole,press" not in words(printed.pdfs["traveller", ONE_OF_EACH["NESS"]])


def test_model_and_side_stand_at_the_foot_of_each_side(printed: Printed) -> None:
    for number, page in enumerate(pages(printed.pdfs["traveller", "Q-1043"]), 1):
        assert f"TravellerTARN{number}/2" in page.text


def test_due_date_body_neck_and_order_stand_under_the_serial(printed: Printed) -> None:
    text = words(printed.pdfs["traveller", CUSTOM])
    assert "Due2031-03-13·bodyQ-1044·neckK-2082·orderC-0417" in text
