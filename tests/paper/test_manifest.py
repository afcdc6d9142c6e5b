"""The list by which a carrier takes cartons. Serials, badges and the carrier are invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest

from shop.floor import board
from shop.paper.forms import CHOICES, form_of
from tests.floor.shipping import CARRIER, MINUTE, boxed, hand_over, released
from tests.paper.measured import drawn, keeps_its_border, refused, too_low
from tests.paper.reading import pages, sizes_mm, squeezed, words

SERIAL = "Q-1038"


@pytest.fixture(scope="module")
def sent(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """One that was handed to a carrier."""
    with django_db_blocker.unblock():
        at = released(SERIAL)
        boxed(SERIAL, at)
        assert hand_over(SERIAL, at=at + MINUTE).done
        yield at


pytestmark = pytest.mark.usefixtures("sent", "db")


def test_a_list_is_an_a4() -> None:
    """ISO 216:2007: A4 is 210 x 297 mm."""
    [size] = sizes_mm(drawn("manifest", "M-0001"))
    assert size == pytest.approx((210, 297), abs=0.1)


def test_it_tells_carrier_count_and_each_carton() -> None:
    text = words(drawn("manifest", "M-0001"))
    carton = board.manifests_by_number(["M-0001"])["M-0001"].cartons[0]
    code = f"{carton.label[:4]}-{carton.label[4:]}"
    for said in ("M-0001", CARRIER, "1 carton, 1 counted by hand", SERIAL, carton.spec, code):
        assert squeezed(said) in text


def test_both_sign_it() -> None:
    text = words(drawn("manifest", "M-0001"))
    for said in ("Handed over by", "Taken by the carrier", "Loaded"):
        assert squeezed(said) in text


def test_it_has_its_caution_for_the_dock() -> None:
    assert squeezed("Not below 5 °C or above 40 °C on the dock.") in words(
        drawn("manifest", "M-0001")
    )


def test_the_border_is_white_and_no_letter_is_too_low() -> None:
    pdf = drawn("manifest", "M-0001")
    assert keeps_its_border("manifest", pdf)
    assert too_low(pdf) == []
    assert len(pages(pdf)) == 1


def test_lists_are_there_to_choose_with_who_took_them() -> None:
    assert CHOICES["manifest"]() == [("M-0001", CARRIER)]
    assert form_of("manifest").subject == "manifest"


def test_a_list_that_is_not_here_is_named() -> None:
    assert refused("manifest", "M-0009").startswith("There is no manifest M-0009 here.")
