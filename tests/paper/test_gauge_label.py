"""The label of a gauge. Gauges are those of the demo workshop."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shop.floor import board, door
from shop.floor.demo import gauges as demo
from shop.paper.forms import CHOICES, form_of
from shop.paper.placing import per_sheet
from tests.bench.screens import seen, signed_in
from tests.floor.morning import NOW, act
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

GAUGE = "G-03"
WIDEST = "G-888"


@pytest.fixture(autouse=True)
def _address(settings: Any) -> None:
    settings.ADDRESS = SHORT


def code_of(name: str) -> str:
    tool = board.tool(name)
    assert tool is not None
    return tool.code


def keep(name: str, what: str, *, retired: bool = False) -> None:
    deed = door.GaugeKept(name, what, Decimal("0.0001"), 3650, retired)
    assert door.record(act("P-01", ""), deed).done


def test_a_gauges_label_is_an_a8_lying() -> None:
    """ISO 216:2007: A8 is 52 x 74 mm."""
    [size] = sizes_mm(drawn("gauge_label", GAUGE))
    assert size == pytest.approx((74, 52), abs=0.1)
    assert per_sheet(form_of("gauge_label"), "a4") == 16


def test_it_says_what_it_is_and_how_often_it_is_checked() -> None:
    text = words(drawn("gauge_label", GAUGE))
    for said in ("G-03", "action ruler", "One step 0.05 mm", "Check every 180 days", "2031-03-03"):
        assert squeezed(said) in text


def test_how_its_check_stands_is_not_on_paper() -> None:
    for name in (GAUGE, "G-06"):
        text = words(drawn("gauge_label", name))
        assert "until" not in text
        assert "overdue" not in text


def test_a_gauge_that_reads_no_length_has_no_step() -> None:
    assert "Onestep" not in words(drawn("gauge_label", "G-06"))


def test_its_name_stands_eight_millimetres_high() -> None:
    """Read at arm's length with the tool in the other hand; common practice, no source."""
    [page] = pages(drawn("gauge_label", GAUGE))
    assert height(page, GAUGE) >= 8


def test_its_square_leads_to_taking_it_in_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    [address] = scanned(drawn("gauge_label", GAUGE))
    assert address == f"{SHORT}/{code_of(GAUGE)}".upper()
    phone: Client = signed_in("P-11")
    assert phone.post("/scan/", {"code": address})["Location"] == f"/{code_of(GAUGE)}/in-hand/"


def test_the_squares_module_is_three_quarters_of_a_millimetre() -> None:
    assert modules_mm(drawn("gauge_label", GAUGE)) == pytest.approx([0.75], abs=0.01)


@pytest.mark.parametrize("full", [False, True])
def test_the_border_is_white_and_no_letter_is_too_low(full: bool) -> None:
    if full:
        keep(WIDEST, "W" * 40)
    pdf = drawn("gauge_label", WIDEST if full else GAUGE)
    assert keeps_its_border("gauge_label", pdf)
    assert too_low(pdf) == []
    assert ("W" * 40 in words(pdf)) == full


def test_a_stamped_label_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("gauge_label", *(one[0] for one in demo.GAUGES))


def test_gauges_in_use_are_there_to_choose() -> None:
    keep("G-09", "old rule", retired=True)
    assert CHOICES["gauge"]() == [(one[0], one[1]) for one in demo.GAUGES]


def test_a_gauge_that_is_put_away_gets_no_label() -> None:
    keep("G-09", "old rule", retired=True)
    assert refused("gauge_label", "G-09").startswith("Gauge G-09 is put away")


def test_a_gauge_that_is_not_here_is_named() -> None:
    assert refused("gauge_label", "G-99").startswith("There is no gauge G-99 here.")


def test_the_way_to_its_label_is_on_its_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    links = seen(signed_in("P-01").get(f"/gauges/{GAUGE}/")).links
    assert links["Print its label"] == f"/paper/look/?form=gauge_label&serial={GAUGE}"
