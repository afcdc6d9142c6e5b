"""The label in the slot of a kit tray."""

from __future__ import annotations

import pytest

from tests.paper.printing import ASKED, CUSTOM, ONE_OF_EACH, SERIALS, Printed
from tests.paper.reading import squeezed, words

pytestmark = pytest.mark.django_db


def label(printed: Printed, serial: str) -> str:
    return words(printed.pdfs["tray_label", serial])


def test_a_tray_short_of_a_set_says_partial_and_names_it(printed: Printed) -> None:
    text = label(printed, CUSTOM)
    assert "PARTIAL·missingT02" in text
    assert "T02tuningmachinesshort" in text


def test_the_label_of_a_custom_order_names_the_gold_set(printed: Printed) -> None:
    assert squeezed("T02 open-gear individual set, gold") in label(printed, CUSTOM)


def test_a_tray_nobody_has_picked_says_so(printed: Printed) -> None:
    text = label(printed, ASKED)
    assert "PARTIAL·nothingpickedyet" in text
    assert text.count("topick") == len(printed.trays[ASKED]["lines"])


def test_a_closed_tray_says_who_picked_it_and_is_not_partial(printed: Printed) -> None:
    text = label(printed, "Q-1043")
    assert "PickedbyP-41" in text
    assert "PARTIAL" not in text


@pytest.mark.parametrize("serial", SERIALS)
def test_each_line_shows_its_item_and_the_lot_that_was_put_in(
    printed: Printed, serial: str
) -> None:
    text = label(printed, serial)
    lines = printed.trays[serial]["lines"]
    assert lines
    for line in lines:
        lot = line["lot_code"] if line["put_in"] else ""
        assert squeezed(f"{line['article'].key}{line['article'].family.words}{lot}") in text


@pytest.mark.parametrize("serial", SERIALS)
def test_what_lies_in_the_tray_is_ticked_and_nothing_else(printed: Printed, serial: str) -> None:
    lines = printed.trays[serial]["lines"]
    assert label(printed, serial).count("✓") == sum(1 for line in lines if line["put_in"])


@pytest.mark.parametrize(
    ("spec", "split"),
    [("TARN", "3L+3R"), ("FIRTH", "6L+6R"), ("SKERRY", "6L"), ("VOE", "3L+3R")],
)
def test_left_and_right_are_told_as_seen_from_the_front(
    printed: Printed, spec: str, split: str
) -> None:
    """Which machine is a left one is counted facing the strings; common practice, no source."""
    assert f"{split}asseenfromthefront" in label(printed, ONE_OF_EACH[spec])


def test_wells_counted_wrong_are_told_beside_what_the_set_should_hold(printed: Printed) -> None:
    assert "6L+6Rasseenfromthefront(counted7L+5R)" in label(printed, "Q-1058")


def test_a_label_tells_first_whose_it_is_then_the_machines_then_every_line(
    printed: Printed,
) -> None:
    """Common practice, no source."""
    text = label(printed, CUSTOM)
    wanted = ("1044", "Q-1044", "TARN", "asseenfromthefront", "T02open-gear", "PARTIAL", "short",
              "N01nut", "Pickedby", "Checkedby")  # fmt: skip
    places = [text.find(one, text.index("1044Q-1044")) for one in wanted]
    assert -1 not in places
    assert places == sorted(places)
