"""The label of a slot of the hold rack. The slots are those of the demo workshop."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.floor import board, door
from shop.paper.forms import CHOICES, form_of
from shop.paper.placing import per_sheet
from tests.bench.screens import seen, signed_in
from tests.floor.morning import act
from tests.paper.measured import (
    SHORT,
    drawn,
    height,
    keeps_its_border,
    looks_the_same_stamped,
    modules_mm,
    refused,
    scanned,
    too_low,
)
from tests.paper.reading import pages, sizes_mm, squeezed, words

pytestmark = pytest.mark.usefixtures("morning", "db")

SLOT, WITH_CASE = "H-001", "H-014"


@pytest.fixture(autouse=True)
def _address(settings: Any) -> None:
    settings.ADDRESS = SHORT


def tag_of(code: str) -> str:
    return board.slots_by_code([code])[code].tag


def test_a_slots_label_is_an_a8_lying() -> None:
    """ISO 216:2007: A8 is 52 x 74 mm."""
    [size] = sizes_mm(drawn("slot_label", SLOT))
    assert size == pytest.approx((74, 52), abs=0.1)
    assert per_sheet(form_of("slot_label"), "a4") == 16


def test_it_says_what_the_slot_is_called_and_its_code_for_typing() -> None:
    text, tag = words(drawn("slot_label", SLOT)), tag_of(SLOT)
    for said in (SLOT, f"{tag[:4]}-{tag[4:]}", "Hold rack", "2031-03-03"):
        assert squeezed(said) in text


def test_what_lies_in_it_is_not_on_paper() -> None:
    assert "Q-1038" not in words(drawn("slot_label", WITH_CASE))


def test_its_name_stands_fourteen_millimetres_high() -> None:
    """Read from the aisle with a case in both hands; common practice, no source."""
    [page] = pages(drawn("slot_label", SLOT))
    assert height(page, SLOT) >= 14


def test_its_square_leads_to_what_the_slot_is() -> None:
    [address] = scanned(drawn("slot_label", WITH_CASE))
    assert address == f"{SHORT}/{tag_of(WITH_CASE)}".upper()
    phone: Client = signed_in("P-31")
    page = seen(phone.post("/scan/", {"code": address}, follow=True)).words
    assert "The case of Q-1038 lies here" in page


def test_the_squares_module_is_three_quarters_of_a_millimetre() -> None:
    assert modules_mm(drawn("slot_label", SLOT)) == pytest.approx([0.75], abs=0.01)


def test_the_border_is_white_and_no_letter_is_too_low() -> None:
    pdf = drawn("slot_label", SLOT)
    assert keeps_its_border("slot_label", pdf)
    assert too_low(pdf) == []


def test_a_stamped_label_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("slot_label", "H-001", WITH_CASE, "H-110")


def test_slots_in_use_are_there_to_choose_with_what_lies_in_them() -> None:
    door.record(act("P-01", ""), door.SlotsKept(retire=("H-110",)))
    choices = dict(CHOICES["slot"]())
    assert len(choices) == 109
    assert (choices[SLOT], choices[WITH_CASE]) == ("", "Q-1038")


def test_a_retired_slot_gets_no_label() -> None:
    door.record(act("P-01", ""), door.SlotsKept(retire=("H-110",)))
    assert refused("slot_label", "H-110").startswith("Slot H-110 is retired")


def test_a_slot_that_is_not_here_is_named() -> None:
    assert refused("slot_label", "H-999").startswith("There is no slot H-999 here.")
